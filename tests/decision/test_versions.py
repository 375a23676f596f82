"""Two versions of a case side by side: what differs, and what comes of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from riskmodel.decision.results import Interval
from riskmodel.decision.versions import ALIKE, Pair, compared, differing, rows_in
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.files import changed
from riskmodel.records.inputs import INPUTS
from riskmodel.records.quantity import Quantity
from tests.risk.cases import case_with


def plain(**sections: Any) -> Case:
    """A car of 100,000 km whose part's life is known but for its scale."""
    given: dict[str, Any] = {
        "machine": {"date": "2026-11-01"},
        "life": {"shape_prior": 3, "b50_prior": [150_000, 220_000]},
        "oil": {"interval": 10_000, "next_change_in": 4_000},
    }
    for section, entries in sections.items():
        given[section] = given.get(section, {}) | entries
    return case_with(None, **given)


def test_the_same_twice_differs_in_nothing() -> None:
    w = weigh(plain())
    v = compared(w, w)
    assert v.same
    assert v.same_plan
    assert v.held == 0
    assert v.cost is not None
    assert v.cost.change == 0
    assert all(each.chance.change == 0 for each in v.chances)


def test_inputs_that_differ_are_named_with_both_values() -> None:
    other = plain(cost={"failure": [20_000, 30_000]}, plan={"keep_years": 5})
    found = {each.key: each for each in differing(plain(), other)}
    assert set(found) == {"cost.failure", "plan.keep_years"}
    assert found["cost.failure"].after == Quantity(20_000, 30_000)
    assert (found["plan.keep_years"].before, found["plan.keep_years"].after) == (3, 5)


def test_a_default_stated_is_no_difference_and_neither_is_a_name() -> None:
    assert differing(plain(), plain(cost={"discount_rate": 0})) == ()
    assert differing(plain(), plain(machine={"name": "Another", "date": "2026-11-01"})) == ()


def test_tables_count_their_rows() -> None:
    few = case_with(["150000,failed", "180000,running"], oil={"interval": 10_000})
    more = case_with(["150000,failed", "180000,running", "90000,running"], oil={"interval": 10_000})
    [found] = [each for each in differing(few, more) if each.key == "life.records"]
    assert (found.before, found.after) == (2, 3)
    assert rows_in(None) == 0


def test_a_list_is_told_once_and_not_by_its_entries() -> None:
    other = plain(cost={"consequence": [{"name": "tow", "amount": 300}]})
    assert [each.key for each in differing(plain(), other)] == ["cost.consequence"]


PLAIN = [
    entry.key
    for entry in INPUTS
    if "." not in entry.section
    and entry.kind != "file"
    and entry.key not in ("machine.name", "machine.invented", "cost.currency", "machine.unit")
]


@pytest.mark.parametrize("key", PLAIN)
def test_whatever_is_stated_otherwise_is_found_under_its_own_name(key: str) -> None:
    case = plain()
    section, _, name = key.partition(".")
    held = getattr(case, section)
    other = replace(case, **{section: replace(held, **{name: "something else"})})  # type: ignore[arg-type]
    [found] = differing(case, other)
    assert (found.key, found.before, found.after) == (key, getattr(held, name), "something else")


def test_prices_all_doubled_double_every_cost_and_move_no_chance() -> None:
    """Every cost is linear in the prices, so no plan is overtaken."""
    prices = {"planned": 2_000, "failure": 9_000, "oil_change": 100}
    once, twice = (
        weigh(plain(cost={name: factor * price for name, price in prices.items()}))
        for factor in (1, 2)
    )
    v = compared(once, twice)
    assert v.same_plan
    assert v.cost is not None
    assert v.now is not None
    for pair in (v.cost, v.now):
        assert pair.after.value == pytest.approx(2 * pair.before.value, rel=1e-9)
    assert [each.chance.change for each in v.chances] == pytest.approx([0, 0, 0], abs=1e-12)


def test_held_is_the_gap_between_two_rows_of_the_second_table() -> None:
    a = weigh(plain(cost={"planned": 2_000, "failure": 3_000}))
    b = weigh(plain(cost={"planned": 2_000, "failure": 60_000}))
    v = compared(a, b)
    assert not v.same_plan
    assert a.chosen is not None
    assert b.chosen is not None
    kept = next(plan for plan in b.plans if plan.at == a.plans[a.chosen].at)
    assert v.held == pytest.approx(kept.cost.value - b.plans[b.chosen].cost.value)
    assert v.held is not None
    assert v.held > 0


def test_a_plan_beyond_a_shorter_keep_until_is_not_to_be_had() -> None:
    young, cheap = {"reading": 40_000}, {"planned": 500, "failure": 15_000}
    long, short = (
        weigh(plain(machine=young, plan={"keep_years": years}, cost=cheap)) for years in (6, 1)
    )
    assert long.best is not None
    assert long.best.at is not None
    assert long.best.at > short.keep
    assert compared(long, short).held is None
    assert compared(short, long).held is not None  # never is a plan of both


def test_a_symptom_leaves_no_figure_to_compare() -> None:
    v = compared(
        weigh(plain()), weigh(plain(machine={"date": "2026-11-01", "symptoms": ["knock"]}))
    )
    assert v.chances == ()
    assert v.cost is None
    assert not v.same_plan
    assert [each.key for each in v.inputs] == ["machine.symptoms"]


def test_walking_away_is_no_input_that_differs() -> None:
    """Where a wreck is walked away from, the price weighed is not the one entered."""
    entered = plain(cost={"failure": 50_000}, machine={"value": 9_000, "scrap": 1_000})
    weighed = weigh(entered)
    assert weighed.walks_away
    other = changed(entered, {"plan.keep_years": 4.0})
    v = compared(weighed, weigh(other), (entered, other))
    assert [each.key for each in v.inputs] == ["plan.keep_years"]


def test_units_are_never_mixed() -> None:
    hours = plain(machine={"unit": "h"})
    with pytest.raises(ValueError, match="km and h"):
        compared(weigh(plain()), weigh(hours))


def test_a_range_is_narrower_only_where_it_clearly_is() -> None:
    wide = Interval(0.05, 0.0, 0.10)
    barely = Interval(0.05, 0.0, 0.10 * (1 - ALIKE / 2))
    half = Interval(0.05, 0.02, 0.07)
    assert not Pair(wide, barely).narrower
    assert not Pair(barely, wide).wider
    assert Pair(wide, half).narrower
    assert Pair(half, wide).wider
    assert Pair(wide, half).widths == pytest.approx((0.10, 0.05))
