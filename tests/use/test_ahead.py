"""Changed habits side by side."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.use.ahead import (
    AS_NOW,
    HALF_USAGE,
    NO_COMPETITION,
    WARM_UP,
    alternatives,
    compare_habits,
    half_usage,
)
from riskmodel.use.mix import UNKNOWN, Mix
from tests.risk.cases import case_with

CURVES = Curves(np.array([2.0, 3.0]), np.array([2e5, 1.6e5]), np.array([0.4, 0.6]))
KINDS = [
    {"name": "town", "population_share": 0.3},
    {"name": "track days", "population_share": 0.1, "harshness": [1.2, 3.0]},
    {"name": "load before the oil is warm", "population_share": 0.1},
]
STRETCHES = [{"until": 100_000, "shares": {"town": 0.3, "track days": 0.4}}]


def driven(**more: Any) -> Case:
    use = {"kinds": KINDS, "stretches": STRETCHES}
    sections: dict[str, Any] = {"use": use, "life": {"b50_prior": [1e5, 3e5]}, **more}
    return case_with(None, **sections)


def test_only_changes_that_change_anything_are_offered() -> None:
    found = {option.key: option for option in alternatives(driven())}
    assert list(found) == [AS_NOW, NO_COMPETITION, HALF_USAGE]  # never loaded cold, as told
    assert found[NO_COMPETITION].use.mix_ahead == Mix({"town": 0.3})
    assert found[NO_COMPETITION].case.use.ahead == {"town": 0.3}
    assert found[NO_COMPETITION].case.stated > driven().stated
    assert np.array_equal(found[NO_COMPETITION].use.age, found[AS_NOW].use.age)


def test_habits_that_nobody_told_may_have_anything_to_give_up() -> None:
    told = alternatives(driven(use={"kinds": KINDS}))
    assert [option.key for option in told] == [AS_NOW, WARM_UP, NO_COMPETITION, HALF_USAGE]
    assert told[0].use.mix_ahead == UNKNOWN
    assert told[1].use.mix_ahead == Mix({"load before the oil is warm": 0.0}, unknown=True)
    assert told[1].case == told[0].case  # a case cannot say that


def test_a_machine_kept_for_a_given_usage_is_not_offered_less_of_it() -> None:
    keys = [
        option.key for option in alternatives(driven(plan={"keep_years": 3, "keep_usage": 30_000}))
    ]
    assert HALF_USAGE in keys
    case = case_with(None, life={"b50_prior": [1e5, 3e5]})
    by_usage = replace(case, plan=replace(case.plan, keep_years=None, keep_usage=30_000.0))
    assert HALF_USAGE not in [option.key for option in alternatives(by_usage)]


def test_half_the_usage_lasts_as_many_years_and_meets_the_calendar_sooner() -> None:
    case = driven(
        plan={"keep_years": 3, "keep_usage": 30_000},
        oil={"interval": 10_000, "every_months": 12, "next_change_in": 8_000, "turnaround": 6_000},
    )
    halved = half_usage(case)
    assert halved.machine.usage_per_year == 5_000
    assert halved.keep == 15_000
    assert halved.interval == 5_000
    assert halved.next_change_in == 5_000  # a year from now
    assert halved.oil.turnaround < halved.interval
    unchanged = half_usage(driven(oil={"interval": 10_000, "next_change_in": 8_000}))
    assert unchanged.next_change_in == 8_000
    assert unchanged.oil.turnaround == driven().oil.turnaround


def test_a_change_is_worth_what_the_same_engine_gains_by_it() -> None:
    """The chance and what is gained are told node by node: where hard use is harsh, giving it up
    is worth more; the mean gain is the difference of the means."""
    case = driven()
    now, gentler, half = compare_habits(CURVES, alternatives(case), None, years=2)
    assert (now.usage, half.usage) == (20_000, 10_000)
    assert (now.less.low, now.less.value, now.less.high) == (0, 0, 0)
    for option in (gentler, half):
        assert option.less.value == pytest.approx(now.chance.value - option.chance.value)
        assert option.less.low <= option.less.value <= option.less.high
        assert option.chance.value < now.chance.value
    # so that what is gained is known better than either chance
    assert gentler.less.high - gentler.less.low < now.chance.high - now.chance.low


def test_half_the_usage_is_the_chance_within_half_the_way() -> None:
    case = driven()
    options = alternatives(case)
    half = compare_habits(CURVES, options, None, years=2, each=None)[-1]
    one_year = compare_habits(CURVES, options, None, years=1, each=None)[0]
    assert half.chance.value == pytest.approx(one_year.chance.value, rel=1e-12)
