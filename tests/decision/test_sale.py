"""Selling today as a plan: closed forms, a simulation of both lives, and where it tips over."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.decision.results import Sale, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.files import read_case
from riskmodel.records.quantity import Quantity, exactly
from tests.decision.exact_case import simulated_case

DATA = Path(__file__).parents[2] / "data"


def selling(
    case: Case,
    value: float | None = 9000.0,
    later: Quantity | None = None,
    without: Quantity | None = None,
    upkeep: float = 0.0,
) -> Case:
    later = exactly(6000.0) if later is None else later
    machine = replace(
        case.machine, value=value, scrap=None, value_later=later, upkeep=exactly(upkeep)
    )
    return replace(case, machine=machine, plan=replace(case.plan, do_without=without))


def sale(w: Weighing) -> Sale:
    assert w.sale is not None
    return w.sale


CASE = simulated_case("delivery_van")
"""A life exactly known, no samples: everything follows in closed form."""


def rate(case: Case, yearly: float) -> Case:
    return replace(case, cost=replace(case.cost, discount_rate=yearly))


def test_undiscounted_it_costs_the_years_without_less_the_value_lost() -> None:
    case = rate(selling(CASE, without=exactly(1500.0), upkeep=400.0), 0.0)
    years = case.keep / case.machine.usage_per_year
    plan = sale(weigh(case)).plan
    assert plan is not None
    assert plan.cost.value == pytest.approx(years * (1500 - 400) - (9000 - 6000), rel=1e-12)
    assert plan.cost.low == pytest.approx(plan.cost.value) == plan.bad_case
    assert (plan.failure.value, plan.alarm.value, plan.at) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("yearly", [0.0, 1e-9, 0.03, 0.2])
def test_discounting_against_money_paid_day_by_day(yearly: float) -> None:
    """A million small payments, each discounted on its own day, and the sale at the end."""
    case = rate(selling(CASE, without=exactly(1500.0)), yearly)
    years = case.keep / case.machine.usage_per_year
    day = (np.arange(1_000_000) + 0.5) / 1_000_000 * years
    paid = 1500 * years * np.mean((1 + yearly) ** -day)
    expected = paid - (9000 - 6000 * (1 + yearly) ** -years)
    plan = sale(weigh(case)).plan
    assert plan is not None
    assert plan.cost.value == pytest.approx(expected, rel=1e-9)


def test_against_both_lives_written_out() -> None:
    """Keeping: buy today's machine from oneself, pay the plan, sell it at the end. Selling: pay
    for the years without. The two totals differ by what the plan and the sale are told to cost."""
    case = rate(selling(CASE, without=exactly(2100.0), upkeep=300.0), 0.05)
    w = weigh(case)
    assert w.best is not None
    years = case.keep / case.machine.usage_per_year
    month = (np.arange(12_000) + 0.5) / 12_000 * years
    worth = np.mean(1.05**-month) * years
    keeps = 9000 + w.best.cost.value + 300 * worth - 6000 * 1.05**-years
    sells = 2100 * worth
    told = sale(w).plan
    assert told is not None
    assert told.cost.value - w.best.cost.value == pytest.approx(sells - keeps, rel=1e-6)


def test_at_the_break_even_both_cost_the_same() -> None:
    case = selling(CASE, without=exactly(1.0), upkeep=350.0)
    even = sale(weigh(case)).even + 350.0
    at = weigh(selling(CASE, without=exactly(even), upkeep=350.0))
    assert at.best is not None
    told = sale(at).plan
    assert told is not None
    assert told.cost.value == pytest.approx(at.best.cost.value, rel=1e-9)
    for share, sells in ((0.99, True), (1.01, False)):
        near = weigh(selling(CASE, without=exactly(share * even), upkeep=350.0))
        assert near.sells is sells
        assert near.chosen == (len(near.plans) if sells else near.recommended)


def test_it_changes_nothing_about_the_plans_that_keep_it() -> None:
    plain, sold = weigh(selling(CASE, None)), weigh(selling(CASE, without=exactly(100.0)))
    assert plain.sale is None
    assert [p.cost for p in plain.plans] == [p.cost for p in sold.plans]
    assert plain.recommended == sold.recommended
    assert len(sold.all_plans) == len(sold.plans) + 1


def test_without_a_price_for_doing_without_only_the_break_even_is_told() -> None:
    w = weigh(selling(CASE))
    assert sale(w).plan is None
    assert not w.sells
    assert w.all_plans == w.plans


def test_ranges_widen_its_interval_and_shares_add_up() -> None:
    case = read_case(DATA / "road-car")
    plain = replace(case.plan, most_risk=None)
    w = weigh(
        selling(replace(case, plan=plain), later=Quantity(4000.0, 8000.0), without=exactly(1800.0))
    )
    told = sale(w).plan
    assert told is not None
    assert told.cost.low < told.cost.value < told.cost.high
    shares = sum(plan.chance_cheapest for plan in w.all_plans)
    assert shares == pytest.approx(1.0, abs=1e-9)
    wider = weigh(
        selling(
            replace(case, plan=plain),
            later=Quantity(4000.0, 8000.0),
            without=Quantity(900.0, 3600.0),
        )
    )
    more = sale(wider).plan
    assert more is not None
    assert more.cost.high - more.cost.low > told.cost.high - told.cost.low


def test_a_quantity_varies_its_cost_by_its_own_quantiles() -> None:
    """The one range's 5th and 95th percentile are the interval's ends, in closed form."""
    case = rate(selling(CASE, without=Quantity(800.0, 2400.0)), 0.0)
    years = case.keep / case.machine.usage_per_year
    told = sale(weigh(case)).plan
    assert told is not None
    assert told.cost.low == pytest.approx(years * 800 - 3000, abs=0.003 * years * 800)
    assert told.cost.high == pytest.approx(years * 2400 - 3000, abs=0.003 * years * 2400)


def test_under_a_ceiling_that_no_other_plan_keeps_it_is_the_verdict() -> None:
    case = selling(CASE, without=exactly(100_000.0))
    asked = replace(case, plan=replace(case.plan, most_risk=1e-6))
    w = weigh(asked)
    assert all(plan.failure.value > 1e-6 for plan in w.plans)
    assert w.sells
    assert not weigh(case).sells


def test_symptoms_come_first() -> None:
    case = selling(CASE, without=exactly(0.0))
    w = weigh(replace(case, machine=replace(case.machine, symptoms=("knock",))))
    assert w.sale is None
    assert w.chosen is None
