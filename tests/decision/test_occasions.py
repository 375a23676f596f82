"""Replacing at the times that people plan by, not at an oil change only."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.occasions import occasions
from riskmodel.decision.timing import timing_of
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.words import headline, plan_name, plan_short
from tests.decision.sampled_case import SAMPLED, sampled_case
from tests.simulation.sampled import draw_sampled_worlds, simulate_sampled_plan
from tests.simulation.sampled_case import read_sampled_case
from tests.simulation.sampled_policy import solve_sampled_policy

LIVES = 150_000


def told(case: Case) -> list[tuple[str, float]]:
    return [(each.kind, each.at) for each in occasions(case, timing_of(case))]


def test_each_kind_stands_where_the_calendar_or_the_meter_puts_it() -> None:
    case = sampled_case("road_car", booking_weeks=6)  # 124,000 km, 11,500 km a year
    found = told(case)
    assert [kind for kind, _ in found] == ["booking", "year", "reading"]
    assert [at for _, at in found] == pytest.approx([6 * 7 / 365.25 * 11_500, 11_500, 26_000])
    machine = replace(case.machine, date="2026-11-25")
    laid_up = replace(case, machine=machine, plan=replace(case.plan, lay_up="2027-02-09"))
    found = [at for kind, at in told(laid_up) if kind == "lay_up"]
    assert found == pytest.approx([days / 365.25 * 11_500 for days in (76, 441, 807)])


def test_an_occasion_at_an_oil_change_is_that_oil_change() -> None:
    case = sampled_case("road_car")  # changes at 8,000, 18,000, 28,000
    at_change = replace(case, machine=replace(case.machine, usage_per_year=8_100.0))
    assert "year" not in dict(told(at_change))


def test_now_cannot_be_had_where_the_workshop_is_booked() -> None:
    now, booked = (
        weigh(sampled_case("road_car_hint")),
        weigh(sampled_case("road_car_hint", booking_weeks=3)),
    )
    assert now.recommended == 0
    assert booked.best is not None
    assert booked.best.occasion is not None
    assert booked.best.occasion.kind == "booking"
    assert booked.plans[0].chance_cheapest == 0
    assert sum(plan.chance_cheapest for plan in booked.plans) == pytest.approx(1)
    assert "as soon as the workshop can take it" in headline(booked)
    costs = [[plan.cost.value for plan in w.plans if plan.occasion is None] for w in (booked, now)]
    assert costs[0] == pytest.approx(costs[1], rel=1e-6)  # their cells are cut elsewhere


def test_plans_stand_in_order_of_time_and_have_names_of_their_own() -> None:
    w = weigh(sampled_case("road_car", booking_weeks=6))
    at = [np.inf if plan.at is None else plan.at for plan in w.plans]
    assert at == sorted(at)
    for name in (plan_name, plan_short):
        assert len({name(w, i) for i in range(len(w.plans))}) == len(w.plans)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["road_car_hint", "delivery_van_ranges"])
def test_they_agree_with_lives_played_out(name: str) -> None:
    """Some weeks ahead falls between a sample and its result, or before the first oil change."""
    weeks = 22 if name == "road_car_hint" else 6
    weighing = weigh(sampled_case(name, booking_weeks=weeks))
    case = read_sampled_case(SAMPLED / f"{name}.json")
    worlds, policy = draw_sampled_worlds(case, LIVES, 9), solve_sampled_policy(case)
    found = [plan for plan in weighing.plans if plan.occasion is not None]
    assert len(found) > 1
    for number, plan in enumerate(found):
        theirs = simulate_sampled_plan(case, policy, worlds, "", plan.at, [9, number])
        for mine, played in (
            (plan.failure.value, theirs.failure_probability),
            (plan.present_failure.value, theirs.present_part_failure_probability),
            (plan.alarm.value, theirs.alarm_probability),
        ):
            error = max(played.error, math.sqrt(mine * (1 - mine) / LIVES), 1e-12)
            assert abs(mine - played.value) <= 3.5 * error, plan
        cost = theirs.expected_cost
        assert abs(plan.cost.value - cost.value) <= max(0.005 * cost.value, 3.5 * cost.error)
