"""The chance ahead and its interval, in closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.life.posterior import Curves
from riskmodel.oil.history import history
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.quantity import exactly
from riskmodel.risk.distress import distress_today
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.life_curves import life_curves
from riskmodel.risk.with_oil import chance_with_oil
from tests.decision.exact_case import case_of
from tests.oil.made import case_with_oil


def belief(age: float, shape: float, b50: list[float]) -> Case:
    return case_of(
        {
            "machine": {"unit": "km", "reading": age, "usage_per_year": 10_000},
            "life": {"shape_prior": shape, "b50_prior": b50},
            "oil": {"interval": 8_000, "turnaround": 0},
            "cost": {"planned": 1_000, "failure": 9_000},
            "plan": {"keep_usage": 30_000},
        }
    )


def test_nine_in_ten_of_a_new_parts_chance_lie_between_the_ends_of_the_belief() -> None:
    """Of a new part nothing is known but the belief: 1 - 0.5^((d / B50)^shape) at its two ends."""
    shape, low, high = 2.5, 60_000.0, 240_000.0
    for told in weigh(belief(0.0, shape, [low, high])).risk:
        ends = [1 - 0.5 ** ((told.ahead / b50) ** shape) for b50 in (high, low)]
        assert [told.chance.low, told.chance.high] == pytest.approx(ends, rel=0.02)


def test_the_chance_ahead_is_given_survival_to_today() -> None:
    """1 - S(a + d) / S(a), with every curve's own age or one for all."""
    curves = Curves(np.array([2.0, 3.0]), np.array([100.0, 150.0]), np.array([0.25, 0.75]))
    ahead = np.array([5.0, 40.0])

    def chance(age: float, d: float, shape: float, scale: float) -> float:
        return 1 - math.exp((age / scale) ** shape - ((age + d) / scale) ** shape)

    for ages in (60.0, np.array([60.0, 90.0])):
        own = np.broadcast_to(ages, 2).tolist()
        expected = [
            0.25 * chance(own[0], d, 2.0, 100.0) + 0.75 * chance(own[1], d, 3.0, 150.0)
            for d in ahead.tolist()
        ]
        assert chance_ahead(curves, ages, ahead)[0] == pytest.approx(expected, rel=1e-12)


ROWS = ["60000,10000,3,5", "70000,10000,3,5", "80000,10000,4,5", "95000,10000,30,25"]


def test_the_factor_is_the_chance_with_the_samples_over_that_without() -> None:
    case = case_with_oil(ROWS)
    found = chance_with_oil(case, life_curves(case), [5_000.0])
    assert found.factor[0] == pytest.approx(found.with_oil.value[0] / found.without.value[0])
    assert found.factor[0] > 1.5  # a surge of the part's own metals


def test_what_a_look_would_show_knows_the_samples() -> None:
    """With an exact visible lead: the chance to fail within it, samples and all."""
    case = case_with_oil(ROWS)
    case = replace(case, warning=replace(case.warning, visible_lead=exactly(20_000.0)))
    curves, taken = life_curves(case), history(case)
    told = chance_with_oil(case, curves, [20_000.0], taken)
    assert distress_today(case, curves, taken) == pytest.approx(float(told.with_oil.value[0]))
    assert distress_today(case, curves, taken) > 1.2 * float(told.without.value[0])


def test_an_engine_among_the_records_counts_once() -> None:
    """Its own line of the records, or its own survival: the same curves either way."""
    others = "age,outcome,entered_at\n90000,failed,0\n120000,failed,0\n130000,running,0\n"
    text = """
format = 1
[machine]
unit = "km"
reading = 100000
usage_per_year = 10000
[part]
entered_at = 30000
in_records = {among}
[life]
records = "records.csv"
[oil]
interval = 8000
[cost]
planned = 1000
failure = 9000
[plan]
keep_years = 3
"""

    def curves(among: bool, rows: str) -> Curves:
        told = text.format(among=str(among).lower())
        return life_curves(
            case_from_files({"case.toml": told.encode(), "records.csv": rows.encode()})
        )

    apart = curves(among=False, rows=others)
    listed = curves(among=True, rows=others + "100000,running,30000\n")
    twice = curves(among=False, rows=others + "100000,running,30000\n")
    means = [float(c.mean(np.log(c.scale))) for c in (apart, listed, twice)]
    assert means[0] == pytest.approx(means[1], abs=1e-4)
    assert means[2] > means[0] + 0.01
