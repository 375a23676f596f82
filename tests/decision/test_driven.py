"""How it was driven, in plans and chances: known hard use is ordinary use of a shorter life.

A part that has aged by an effective age a, and will age by r per unit of usage, is a part of plain
age a / r whose life and leads are shorter by r.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import tomli_w

from riskmodel.decision.prepared import grounds
from riskmodel.decision.results import Interval, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.records.files import case_from_files
from tests.decision.exact_case import b50, ordinary

AGO = (1_000.0, 9_000.0)
"""Usage since the samples."""


def answer(age: float, slower: float, samples: bool, use: dict[str, Any]) -> Weighing:
    """A car of plain `age` and of a life, leads and samples that are `slower` times as long."""
    oil: dict[str, Any] = {"interval": 8_000, "next_change_in": 7_000, "turnaround": 400}
    files = {}
    if samples:
        lead = {"typical": [0.15, 0.9], "scatter": 1.3, "rise": [4, 20], "from_part": True}
        oil |= {"samples": "oil.csv", "element": [{"symbol": "Pb", **lead}]}
        rows = [f"{age - ago},7000,{ppm}" for ago, ppm in zip(AGO, (9, 4), strict=True)]
        files["oil.csv"] = "\n".join(["age,oil_age,Pb", *rows[::-1], ""]).encode()
    sections = {
        "format": 1,
        "machine": {"unit": "km", "reading": age, "usage_per_year": 10_000},
        "life": {
            "shape_prior": 2.5,
            "b50_prior": [b50(2.5, 180_000) * slower * f for f in (0.8, 1.25)],
        },
        "use": use,
        "warning": {
            "lead": [5_000 * slower, 30_000 * slower],
            "visible_lead": [12_000 * slower, 60_000 * slower],
        },
        "oil": oil,
        "cost": {"planned": 2_500, "failure": [10_000, 16_000], "found_worn": 600},
        "plan": {"keep_years": 3},
    }
    return weigh(case_from_files({"case.toml": tomli_w.dumps(sections).encode(), **files}))


@pytest.mark.parametrize("samples", [False, True])
def test_known_hard_use_is_ordinary_use_of_a_shorter_life(samples: bool) -> None:
    kinds = [
        {"name": "hard", "harshness": 2.0, "population_share": 0.0},
        {"name": "harder", "harshness": 3.0, "population_share": 0.0},
    ]
    driven = {
        "kinds": kinds,
        "stretches": [
            {"until": 40_000, "shares": {"harder": 0.5}},
            {"until": 90_000, "shares": {"hard": 0.6}},
        ],
        "ahead": {"hard": 0.6},
    }
    rate = 1.6  # 1 + 0.6 (2 - 1), and 2 in the first stretch
    age = (40_000 * 2 + 50_000 * rate) / rate
    ours = answer(90_000, 1.0, samples, driven)
    other = answer(age, 1 / rate, samples, ordinary(age))
    # the one's curves know of survival to the plain age first, the other's to the effective one
    assert_alike(ours, other, 2e-3)


def assert_alike(ours: Weighing, other: Weighing, rel: float) -> None:
    def close(a: Interval | None, b: Interval | None) -> None:
        assert a is not None
        assert b is not None
        assert a.value == pytest.approx(b.value, rel=rel)
        assert (a.low, a.high) == pytest.approx((b.low, b.high), rel=20 * rel)

    for mine, theirs in zip(ours.risk, other.risk, strict=True):
        close(mine.chance, theirs.chance)
    for plan, same in zip(ours.plans, other.plans, strict=True):
        close(plan.failure, same.failure)
        close(plan.cost, same.cost)
        assert plan.alarm.value == pytest.approx(same.alarm.value, rel=rel, abs=1e-9)
    assert ours.recommended == other.recommended


def test_an_owner_who_tells_nothing_has_the_populations_chance_with_a_wider_interval() -> None:
    told = answer(90_000, 1.0, False, ordinary(90_000))
    untold = answer(90_000, 1.0, False, {})
    for known, unknown in zip(told.risk, untold.risk, strict=True):
        assert unknown.chance.value == pytest.approx(known.chance.value, rel=0.05)
        assert unknown.chance.low < known.chance.low
        assert unknown.chance.high > known.chance.high
    widths = np.array([[p.cost.high - p.cost.low for p in w.plans] for w in (told, untold)])
    assert np.all(widths[1][1:] > widths[0][1:])


def test_kinds_left_to_the_records_are_as_harsh_as_on_record() -> None:
    """Named without a harshness, and a column of the records tells them apart."""
    rng = np.random.default_rng(8)
    rows = ["age,outcome,use"]
    for use, scale in (("easy", 200_000.0), ("hard", 110_000.0)):
        rows += [f"{age:.0f},failed,{use}" for age in scale * rng.weibull(2.5, 60)]
    sections = {
        "format": 1,
        "machine": {"unit": "km", "reading": 60_000, "usage_per_year": 10_000},
        "life": {"records": "records.csv"},
        "use": {
            "kinds": [{"name": "easy"}, {"name": "hard"}],
            "stretches": [{"until": 60_000, "shares": {"hard": 1.0}}],
            "ahead": {"hard": 1.0},
        },
        "oil": {"interval": 8_000},
        "cost": {"planned": 2_000, "failure": 9_000},
        "plan": {"keep_usage": 20_000},
    }
    files = {"case.toml": tomli_w.dumps(sections).encode(), "records.csv": "\n".join(rows).encode()}
    case = case_from_files(files)
    found = grounds(case)
    by_name = {kind.name: kind.harshness for kind in found.use.kinds}
    assert by_name["hard"].median / by_name["easy"].median == pytest.approx(200 / 110, rel=0.25)
    eased = grounds(replace(case, use=replace(case.use, ahead={"easy": 1.0}))).use
    assert found.use.ahead.mean() > 1.2 * eased.ahead.mean()
