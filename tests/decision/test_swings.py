"""What moves the verdict, where it tips over, and what knowing an input is worth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.stats import norm

from riskmodel.decision.flips import _zero, flips, what_moves
from riskmodel.decision.prepared import grounds
from riskmodel.decision.sampling import LeadLife, Sampling
from riskmodel.decision.swings import swings
from riskmodel.decision.weigh import weigh
from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.words.swings import ALONE, flip_sentences, swing_sentences
from tests.decision.sampled_case import SAMPLED, sampled_case
from tests.decision.test_parts_agree import drawn
from tests.simulation.sampled_case import read_sampled_case
from tests.simulation.sampled_oil import draw_alarms, watch


@pytest.fixture(scope="module")
def case() -> Case:
    return sampled_case("road_car")


def gap(case: Case) -> float:
    """Replacing now less the best later plan."""
    costs = [plan.cost.value for plan in weigh(case).plans]
    return costs[0] - min(costs[1:])


def test_each_row_is_the_case_weighed_with_that_input_known(case: Case) -> None:
    found = {each.key: each for each in swings(grounds(case))}
    planned = found["cost.planned"]
    for setting, now, later in zip(planned.at, planned.now, planned.later, strict=True):
        at = replace(case, cost=replace(case.cost, planned=exactly(setting)))
        assert now - later == pytest.approx(gap(at), rel=1e-6, abs=0.01)
    rows = [each.swing for each in swings(grounds(case))]
    assert rows == sorted(rows, reverse=True)
    assert "cost.failure" in found
    assert "warning.lead_life" in found


def test_an_input_that_is_known_has_no_row(case: Case) -> None:
    known = replace(case, cost=replace(case.cost, planned=exactly(2_600.0)))
    assert "cost.planned" not in {each.key for each in swings(grounds(known))}


def test_to_know_what_cannot_change_the_plan_is_worth_nothing(case: Case) -> None:
    """And what is worth something is worth less than all there is to know, near enough."""
    dear = replace(case, cost=replace(case.cost, failure=Quantity(90_000.0, 110_000.0)))
    assert {each.key: each.worth for each in swings(grounds(dear))}[
        "cost.failure"
    ] == pytest.approx(0)
    known = weigh(case).information
    assert known is not None
    assert all(each.worth <= known.perfect + 0.02 * 3_000 for each in swings(grounds(case)))


def test_at_a_flip_both_sides_cost_the_same(case: Case) -> None:
    found = flips(grounds(case))
    assert found.planned is not None
    there = replace(case, cost=replace(case.cost, planned=exactly(found.planned)))
    assert gap(there) == pytest.approx(0, abs=0.002 * found.planned)
    assert found.waits == (gap(case) > 0)
    if found.keep is not None:
        plan = replace(case.plan, keep_usage=found.keep, keep_years=None)
        assert gap(replace(case, plan=plan)) == pytest.approx(0, abs=30)


def for_sale(case: Case, without: float) -> Case:
    """The case with a machine that can be sold, about as dear to do without as `without`."""
    machine = replace(
        case.machine,
        value=9_000.0,
        scrap=None,
        value_later=Quantity(4_000.0, 7_000.0),
        upkeep=Quantity(300.0, 500.0),
    )
    plan = replace(case.plan, do_without=Quantity(0.6 * without, 1.7 * without))
    return replace(case, machine=machine, plan=plan)


@pytest.mark.parametrize("key", ["plan.do_without", "machine.upkeep", "machine.value_later"])
def test_what_selling_hangs_on_is_put_to_its_ends_as_well(case: Case, key: str) -> None:
    near = for_sale(case, 2_500.0)
    row = next(each for each in swings(grounds(near)) if each.key == key)
    group, _, name = key.partition(".")
    assert row.sold is not None
    for i, setting in enumerate(row.at):
        changed = replace(getattr(near, group), **{name: exactly(setting)})
        w = weigh(replace(near, **{group: changed}), retest=False)
        assert w.sale is not None
        assert w.sale.plan is not None
        assert row.sold[i] == pytest.approx(w.sale.plan.cost.value, rel=1e-9)
        assert row.sells[i] == w.sells
    assert row.flips == (len(set(row.sells)) > 1)
    assert row.swing == pytest.approx(abs(row.sold[2] - row.sold[0]))


def test_a_price_may_make_selling_the_verdict(case: Case) -> None:
    """At each end of what a failure costs the verdict is that of the case with it known."""
    near = for_sale(case, 2_900.0)
    rows = {each.key: each for each in swings(grounds(near))}
    assert any(any(each.sells) for each in rows.values())
    assert any(each.flips for each in rows.values())
    row = rows["cost.failure"]
    for i, setting in enumerate(row.at):
        dear = replace(near, cost=replace(near.cost, failure=exactly(setting)))
        assert row.sells[i] == weigh(dear, retest=False).sells
    alone = {each.key: each for each in swings(grounds(case))}
    assert all(each.sold is None and not any(each.sells) for each in alone.values())
    # to know something is worth no less where there is one more way out of it
    assert all(each.worth >= 0 for each in rows.values())


def test_a_lead_that_goes_with_life_against_draws() -> None:
    """The chance that samples see distress before a part fails at each age, the lead drawn with
    the life's own score; the alarm by the simulation's own program."""
    name, rho, lives = "road_car", 0.6, 200_000
    told, ours = read_sampled_case(SAMPLED / f"{name}.json"), sampled_case(name)
    ours = replace(ours, warning=replace(ours.warning, silent=exactly(0.0, share=True)))
    curves = Curves(np.array([told.base.shape]), np.array([told.base.scale]), np.ones(1))
    services = np.array(told.base.services())
    table = Sampling(
        ours, lead_life=LeadLife(rho, curves, np.array([told.base.age]))
    ).table_of_present_part(services)
    rng = np.random.default_rng(4)
    for left in (9_000.0, 21_000.0, 33_000.0):
        life = np.full(lives, told.base.age + left)
        score = norm.ppf(-np.expm1(-((life[0] / told.base.scale) ** told.base.shape)))
        z = rho * score + np.sqrt(1 - rho**2) * rng.standard_normal(lives)
        onset = np.maximum(life - told.lead.at(z), 0.0)
        rise, quiet, gone = rng.standard_normal(lives), np.zeros(lives, bool), np.zeros(lives, bool)
        kernel = table.kernels(np.array([left])).seen[0, 0]
        for j, service in enumerate(services[services < left]):
            part = (life, onset, rise, quiet)
            judged = watch(told, j, history=False)
            _, seen = draw_alarms(told, judged, part, told.base.age + service, rng)
            first = seen & ~gone
            gone |= seen
            error = 4 * np.sqrt(max(first.mean(), 1e-4) / lives)
            assert kernel[j] == pytest.approx(first.mean(), abs=error + 0.004)


def test_both_come_together(case: Case) -> None:
    found = what_moves(case)
    assert found.swings == swings(grounds(case))
    assert found.flips == flips(grounds(case))


def test_nothing_moves_the_verdict_where_one_plan_alone_can_be_had(case: Case) -> None:
    """The workshop is booked for longer than the machine is kept."""
    booked = replace(case, plan=replace(case.plan, booking_weeks=520.0))
    w, found = weigh(booked), what_moves(booked)
    assert list(w.open_plans) == [len(w.plans) - 1]
    assert found.swings == ()
    assert swing_sentences(w, found.swings) == [ALONE]
    assert flip_sentences(w, found.flips) == []


def test_no_keep_until_flips_the_choice_by_leaving_none() -> None:
    """A boat for which the workshop is booked for over a year: kept for less, there is one plan
    alone, and nothing to tip over."""
    boat = drawn(np.random.default_rng([99, 6]))
    assert boat.plan.booking_weeks == 60
    found = flips(grounds(boat)).keep
    if found is not None:
        kept = replace(boat, plan=replace(boat.plan, keep_usage=found, keep_years=None))
        assert len(weigh(kept).open_plans) > 1
        assert gap(kept) == pytest.approx(0, abs=30)


def test_where_it_tips_over_is_found_on_a_bend_at_a_leap_and_soon_on_a_line() -> None:
    asked: list[float] = []

    def told(gap: Callable[[float], float]) -> float:
        asked.clear()

        @cache
        def once(value: float) -> float:
            asked.append(value)
            return gap(value)

        return _zero(once, 2.0, 9.0, 0.01)

    assert told(lambda x: 3.3 - x) == pytest.approx(3.3)
    assert len(asked) == 3
    assert told(lambda x: 40 - x**2) == pytest.approx(np.sqrt(40), abs=0.01)
    assert told(lambda x: 10.0 if x < 3.3 else -0.5) == pytest.approx(3.3, abs=0.01)
    assert told(lambda x: 0.4 if x < 7.7 else -30.0) == pytest.approx(7.7, abs=0.01)
