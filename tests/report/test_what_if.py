"""The verdict for other figures, against weighing the changed case as a whole."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.decision.what_if_figures import (
    FigureChange,
    what_if_figures,
    with_and_without_limit,
)
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from tests.words.weighings import plain_case, with_values

CASE = with_values(
    with_values(plain_case(), "life", shape_prior=Quantity(3, 3), b50_prior=Quantity(2e5, 2e5)),
    "plan",
    booking_weeks=3.0,
)


def changed(name: str) -> Case:
    cost, plan = CASE.cost, CASE.plan
    assert plan.keep_years is not None
    planned = Quantity(2 * cost.planned.low, 2 * cost.planned.high)
    half, double = (Quantity(k * cost.failure.low, k * cost.failure.high) for k in (0.5, 2))
    return {
        "as_it_stands": CASE,
        "job_double": replace(CASE, cost=replace(cost, planned=planned)),
        "failure_half": replace(CASE, cost=replace(cost, failure=half)),
        "failure_double": replace(CASE, cost=replace(cost, failure=double)),
        "keep_half": replace(CASE, plan=replace(plan, keep_years=plan.keep_years / 2)),
        "keep_double": replace(CASE, plan=replace(plan, keep_years=plan.keep_years * 2)),
    }[name]


@pytest.fixture(scope="module")
def found() -> dict[str, FigureChange]:
    return {each.changed: each for each in what_if_figures(CASE)}


@pytest.mark.parametrize(
    "name",
    ["as_it_stands", "job_double", "failure_half", "failure_double", "keep_half", "keep_double"],
)
def test_each_change_is_the_verdict_of_the_changed_case(
    name: str, found: dict[str, FigureChange]
) -> None:
    w, each = weigh(changed(name), retest=False), found[name]
    best = w.best
    assert best is not None
    assert each.at == (None if best.at is None else pytest.approx(best.at))
    assert (each.service, each.occasion) == (best.service, best.occasion)
    assert each.cost == pytest.approx(best.cost.value, rel=1e-6)
    today = found["as_it_stands"].at
    held = [plan.cost.value for plan in w.plans if plan.at == today]
    assert each.held == (pytest.approx(held[0], rel=1e-6) if held else None)


def test_holding_to_today_s_plan_never_costs_less_where_no_limit_binds(
    found: dict[str, FigureChange],
) -> None:
    for each in found.values():
        assert each.holds_cost is None or each.holds_cost >= -1e-6 * each.cost
    assert found["as_it_stands"].holds_cost == 0


def test_a_quote_twice_as_high_and_a_cheap_failure_speak_for_waiting(
    found: dict[str, FigureChange],
) -> None:
    def at(name: str) -> float:
        usage = found[name].at
        return float("inf") if usage is None else usage

    assert at("job_double") >= at("as_it_stands") >= at("failure_double")
    assert at("failure_half") >= at("as_it_stands")


def test_walking_away_after_a_failure_is_settled_anew_for_each_change() -> None:
    """Worth 15,000 more than its wreck: between an engine at today's price and at twice that."""
    case = with_values(CASE, "machine", value=16_000.0, scrap=1_000.0)
    double = Quantity(2 * case.cost.failure.low, 2 * case.cost.failure.high)
    other = replace(case, cost=replace(case.cost, failure=double))
    found = {each.changed: each for each in what_if_figures(case)}
    for name, weighed in (("as_it_stands", case), ("failure_double", other)):
        best = weigh(weighed, retest=False).best
        assert best is not None
        assert found[name].cost == pytest.approx(best.cost.value, rel=1e-6)
    assert found["failure_double"].cost < 1.5 * found["as_it_stands"].cost


def test_with_and_without_the_limit_is_as_each_alone() -> None:
    """A limit below what never comes to, so that it rules some plans out; its chance is that of the
    whole weighing."""
    strict = with_values(CASE, "plan", most_risk=0.1)
    kept, free = with_and_without_limit(strict)
    assert kept == what_if_figures(strict)
    assert free == what_if_figures(CASE)
    assert kept != free
    assert with_and_without_limit(CASE) == (free, ())
    best = weigh(strict, retest=False).best
    assert best is not None
    assert kept[0].failure == pytest.approx(best.failure.value, rel=1e-6)
