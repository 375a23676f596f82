"""What follows from the inputs of a case, and how fast a change is."""

from __future__ import annotations

import statistics
import time
from pathlib import Path

import pytest

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files, changed, read_case
from riskmodel.records.template import template

CASE = case_from_files(template("km"))
LEAD = {"symbol": "Pb", "typical": 1, "from_part": True}
IRON = {"symbol": "Fe", "typical": 1, "from_part": False}


def with_(**changes: object) -> Case:
    return changed(CASE, {key.replace("__", "."): value for key, value in changes.items()})


def test_age_and_keep() -> None:
    case = with_(part__fitted_at=30_000, plan__keep_years=2.5)
    assert case.age == 120_000
    assert case.keep == 30_000
    assert with_(plan__keep_years=None, plan__keep_usage=7000).keep == 7000


def test_interval_is_by_the_meter_or_the_calendar() -> None:
    assert CASE.interval == 8000  # the default
    assert with_(oil__every_months=6).interval == 6000
    assert with_(oil__every_months=12).interval == 8000
    assert with_(oil__every_months=6).next_change_in == 6000
    assert with_(oil__next_change_in=500).next_change_in == 500


def test_default_turnaround_is_shorter_than_the_interval() -> None:
    assert CASE.oil.turnaround == 500
    assert with_(oil__interval=600).oil.turnaround == 300
    assert with_(oil__every_months=0.5).oil.turnaround == 250
    assert with_(oil__interval=600, oil__turnaround=500).oil.turnaround == 500


def test_samples_are_planned_where_the_part_shows_in_the_oil() -> None:
    assert not CASE.sampled
    assert with_(oil__element=[LEAD]).sampled
    assert not with_(oil__element=[IRON]).sampled
    assert not with_(oil__element=[LEAD], plan__sample=False).sampled


def test_exact_values_and_ranges() -> None:
    case = with_(cost__planned=2000, cost__failure=[5000, 9000], warning__silent=[0.1, 0.5])
    assert case.cost.planned.exact
    assert (case.cost.failure.low, case.cost.failure.high) == (5000.0, 9000.0)
    assert case.warning.silent.share
    assert with_(cost__planned=[2000, 2000]).cost == with_(cost__planned=2000).cost


@pytest.mark.parametrize("name", ["road-car", "work-boat"])
def test_a_change_is_quick(name: str) -> None:
    """The page makes one for every move of a slider: a few milliseconds, ten on a busy machine."""
    case = read_case(Path(__file__).parents[2] / "data" / name)
    times = []
    for price in range(50):
        start = time.perf_counter()
        changed(case, {"cost.planned": [2000 + price, 3000 + price]})
        times.append(time.perf_counter() - start)
    assert statistics.median(times) < 0.010
