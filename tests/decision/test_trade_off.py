"""Waiting against replacing now: where they cross, and what moves the verdict."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.decision.weigh import weigh
from riskmodel.records.files import changed
from tests.decision.exact_case import CASES, simulated_case
from tests.decision.sampled_case import sampled_case


@pytest.mark.parametrize("name", CASES)
def test_waiting_is_the_two_ways_it_can_go(name: str) -> None:
    trade_off = weigh(simulated_case(name)).trade_off
    assert trade_off is not None
    p = trade_off.chance.value
    mixed = p * trade_off.if_fails + (1 - p) * trade_off.if_lasts
    assert mixed == pytest.approx(trade_off.wait.value, rel=1e-9)


@pytest.mark.parametrize("name", CASES)
def test_at_the_break_even_price_both_cost_the_same(name: str) -> None:
    case = simulated_case(name)
    trade_off = weigh(case).trade_off
    assert trade_off is not None
    price = trade_off.break_even_failure_price
    assert price is not None
    there = weigh(changed(case, {"cost.failure": price})).trade_off
    assert there is not None
    assert there.now.value == pytest.approx(there.wait.value, rel=1e-6)
    assert there.break_even_chance == pytest.approx(there.chance.value, rel=1e-4)


@settings(max_examples=12, deadline=None)
@given(
    shape=st.floats(1.3, 6),
    price=st.floats(4000, 60000),
    dearer=st.floats(1.05, 5),
)
def test_a_dearer_failure_never_delays_the_best_plan(
    shape: float, price: float, dearer: float
) -> None:
    case = changed(
        simulated_case("road_car"),
        # a fitting fault costs what a failure costs: with one, dearer failures make both dearer
        {"life.shape_prior": shape, "cost.failure": price, "cost.install_fault": 0},
    )
    before = weigh(case).best
    after = weigh(changed(case, {"cost.failure": price * dearer})).best
    assert before is not None
    assert after is not None
    late = float("inf")
    assert (late if after.at is None else after.at) <= (late if before.at is None else before.at)


def test_symptoms_recommend_nothing() -> None:
    case = changed(simulated_case("road_car"), {"machine.symptoms": ["knock"]})
    weighing = weigh(case)
    assert weighing.stop
    assert weighing.recommended is None
    assert weighing.best is None
    assert weighing.trade_off is None


def test_intervals_of_an_exact_life_come_from_prices_alone() -> None:
    case = simulated_case("road_car")
    sure = changed(case, {"plan.new_part_life": 1})
    for plan in weigh(sure).plans:
        assert plan.cost.low == pytest.approx(plan.cost.value)
        assert plan.cost.high == pytest.approx(plan.cost.value)
    unsure = changed(sure, {"cost.failure": [11000, 19000]})
    for plan in weigh(unsure).plans:
        assert plan.cost.low < plan.cost.value < plan.cost.high


def test_waiting_means_to_the_next_oil_change_at_least() -> None:
    """A slot in the workshop or a lay-up before it is no waiting: the part is out by then."""
    found = weigh(sampled_case("road_car", booking_weeks=6))
    assert found.trade_off is not None
    later = found.plans[found.trade_off.later]
    assert later.at is None or later.at >= found.trade_off.until
    trade, chance = found.trade_off, found.trade_off.chance.value
    assert trade.wait.value == pytest.approx(
        (1 - chance) * trade.if_lasts + chance * trade.if_fails
    )


def test_the_chance_of_waiting_keeps_to_the_interval_told_of_it() -> None:
    """With samples and no other causes the two are one chance, told by other nodes."""
    found = weigh(sampled_case("road_car_hint"))
    assert found.trade_off is not None
    told, waits = found.risk[0].chance, found.trade_off.chance
    assert waits.value == pytest.approx(told.value, rel=0.01)
    assert waits.low - told.low == pytest.approx(waits.value - told.value)
    assert waits.high - told.high == pytest.approx(waits.value - told.value)


def test_kept_for_less_than_an_oil_change_the_chance_is_that_until_the_end() -> None:
    """Closed form, of a life known exactly; the workshop's first slot lies between."""
    case = changed(simulated_case("road_car"), {"machine.usage_per_year": 10_000})
    keep = 0.8 * case.next_change_in
    short = {"plan.keep_usage": keep, "plan.keep_years": None, "plan.booking_weeks": 4}
    told = weigh(changed(case, short))
    assert told.trade_off is not None
    assert 0 < 10_000 * 4 * 7 / 365.25 < keep
    shape, scale = case.life.shape_prior, case.life.b50_prior
    assert shape is not None
    assert scale is not None
    scale_of = scale.median / math.log(2) ** (1 / shape.median)
    lived = (case.age / scale_of) ** shape.median
    fails = -math.expm1(lived - ((case.age + keep) / scale_of) ** shape.median)
    assert told.trade_off.chance.value == pytest.approx(fails, rel=1e-3)
    assert told.risk[0].chance.value == pytest.approx(fails, rel=1e-3)


def test_a_part_replaced_on_the_spot_for_its_sample_has_not_failed() -> None:
    """A laboratory in the next room: what the sample at the next oil change shows is known there,
    and the chance of failing before it is as it was."""
    case = sampled_case("road_car_hint")
    there = replace(case, oil=replace(case.oil, turnaround=0.0))
    chances = []
    for each in (case, there):
        told = weigh(each).trade_off
        assert told is not None
        chances.append(told.chance.value)
    assert chances[0] == pytest.approx(chances[1], rel=1e-5)
