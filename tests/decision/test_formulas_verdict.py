"""Ceilings, ties, looks, retests and flips, where they can be worked out by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from scipy import integrate, stats

from riskmodel.decision.flips import what_moves
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case, WhileOpen
from riskmodel.records.life_table import read_records
from riskmodel.records.quantity import exactly
from tests.decision.test_formulas_paid import AGE, KEEP, SCALE, SHAPE, case, plans, worth
from tests.decision.test_formulas_sampled import case as sampled


def with_ceiling(of: Case, most: float | None) -> Case:
    return replace(of, plan=replace(of.plan, most_risk=most))


def test_a_plan_exactly_at_the_ceiling_keeps_to_it() -> None:
    """The cheapest of those that keep to it; of all where none does."""
    of = case({"planned": 7000})  # leaving it in is cheapest, and fails most often
    found = weigh(of).plans
    assert found[-1].failure.value > found[0].failure.value
    for plan in found:
        for most in (plan.failure.value, plan.failure.value * (1 - 1e-9)):
            kept = [each for each in found if each.failure.value <= most] or list(found)
            best = weigh(with_ceiling(of, most)).best
            assert best is not None
            assert best.at == min(kept, key=lambda each: each.cost.value).at, most
    best = weigh(with_ceiling(of, None)).best
    assert best is not None
    assert best.at is None


def test_where_two_plans_cost_the_same_either_may_be_named_but_not_a_third() -> None:
    """At the price at which now and never cost the same."""
    now, never = plans(case({"planned": 0}))
    same = case({"planned": never.cost.value - now.cost.value})
    found = weigh(same)
    assert found.best is not None
    least = min(plan.cost.value for plan in found.plans)
    assert found.best.cost.value == pytest.approx(least, rel=1e-9)


SPREAD = math.log(2) / (2 * 1.6448536269514722)
"""Of ln visible lead, where its range is from 0.7 to 1.4 of something."""


def dies(t: float, age: float = AGE) -> float:
    """Density of failing at t from now, given survival to today."""
    lasts = math.exp((age / SCALE) ** SHAPE - ((age + t) / SCALE) ** SHAPE)
    return lasts * SHAPE / SCALE * ((age + t) / SCALE) ** (SHAPE - 1)


def by_bayes(planned: float, visible: float, sees: float) -> tuple[float, float]:
    """P(seen), and the least cost without a look less the least costs after either outcome."""

    def shows(t: float) -> float:
        """P(V > t), V lognormal about `visible`."""
        return float(stats.norm.sf(math.log(t / visible) / SPREAD)) if t > 0 else 1.0

    def integral(of: Callable[[float], float], end: float) -> float:
        return float(integrate.quad(of, 0, end, limit=200)[0])

    seen = sees * integral(lambda t: dies(t) * shows(t), 8 * visible)
    if_seen = sees * integral(lambda t: 8000 * dies(t) * shows(t), KEEP)
    never = integral(lambda t: 8000 * dies(t), KEEP)
    now = planned + integral(lambda t: 8000 * dies(t, 0.0), KEEP)
    told = min(now * seen, if_seen) + min(now * (1 - seen), never - if_seen)
    return seen, min(now, never) - told


@pytest.mark.parametrize(("visible", "sees"), [(12.0, 1.0), (12.0, 0.7), (40.0, 0.9)])
def test_what_a_look_is_worth_by_bayes(visible: float, sees: float) -> None:
    """Two plans, now and never; distress shows within the visible lead, which varies."""
    planned = 1500.0
    metal = {"symbol": "Pb", "typical": 0.5, "rise": 6.0, "from_part": True}
    middle = visible / math.sqrt(0.7 * 1.4)
    warning = {"visible_lead": [0.7 * middle, 1.4 * middle], "lead": 5}
    # samples there would be at oil changes; neither one nor a year comes before keep-until
    oil = {"element": [metal], "interval": 31}
    of = case({"planned": planned, "discount_rate": 0}, warning, oil)
    of = replace(of, machine=replace(of.machine, usage_per_year=40.0))
    looked = replace(of.inspection, cost=exactly(100.0), sees=sees, risk=0.02)
    found = weigh(replace(of, inspection=looked))
    assert found.information is not None
    look = found.information.inspection
    assert look is not None
    seen, spared = by_bayes(planned, visible, sees)
    assert look.if_seen.chance.value == pytest.approx(seen, rel=3e-3)
    now, never = (plan.cost.value for plan in found.plans)
    assert look.worth == pytest.approx(spared, rel=0.01, abs=3)
    damage = 0.02 * 8000  # the machine is given up after a failure, so nothing follows it
    spent = 0.98 * (min(now, never) - look.worth)
    assert look.cost.value == pytest.approx(spent + 100 + damage, rel=1e-6)


def test_a_retest_that_can_tell_nothing_costs_its_price() -> None:
    """All failures are silent: leaving it in stays best, after a sample that is paid for by those
    that are still in service, and a job that waits goes on waiting."""
    of = sampled(1.0, planned=90_000, sample=400)
    found = weigh(of, retest=True)
    assert found.retest is not None
    never = found.plans[-1]
    at = found.retest.at
    age, scale = 80_000.0, 100_000.0
    there = math.exp((age / scale) ** 3 - ((age + at) / scale) ** 3)
    extra = 400 * there * 1.2 ** (-at / 10_000)
    assert found.retest.cost.value - never.cost.value == pytest.approx(extra, rel=0.05)
    assert found.retest.present_failure.value == pytest.approx(
        never.present_failure.value, rel=1e-3
    )
    job = WhileOpen("a job", exactly(10.0), exactly(2_000.0), 0.8, False)
    more = weigh(replace(of, cost=replace(of.cost, while_open=(job,))), retest=True)
    assert more.retest is not None
    waits = [w.cost.value for w in (never, found.retest)]
    later = [w.cost.value for w in (more.plans[-1], more.retest)]
    assert later[1] - waits[1] == pytest.approx(later[0] - waits[0], rel=0.01)


def test_before_a_retest_is_acted_upon_wear_and_other_causes_may_strike() -> None:
    """Four failures of other causes in 20,000 km on record: 1 - S(d) exp(-d / 5,000)."""
    rows = b"age,outcome,cause\n" + b"5000,failed,other\n" * 4
    of = replace(sampled(1.0, planned=90_000), records=read_records(rows))
    found = weigh(of, retest=True).retest
    assert found is not None
    d, age, scale = found.acts_at, 80_000.0, 100_000.0
    lasts = math.exp((age / scale) ** 3 - ((age + d) / scale) ** 3 - d / 5_000)
    assert found.first.value == pytest.approx(1 - lasts, rel=1e-6)


def test_at_a_flip_both_cost_the_same() -> None:
    of = case({"planned": 3000})
    price = what_moves(of).flips.planned
    assert price is not None
    now, never = plans(case({"planned": price}))
    assert now.cost.value == pytest.approx(never.cost.value, rel=2e-3)


def test_selling_credit_is_worth_its_discounted_chance() -> None:
    """Given up after a failure: it is received where the new part lasts to keep-until."""
    plain, more = (plans(case({"sale_credit": credit})) for credit in (0, 1000))
    lasts = math.exp(-((KEEP / SCALE) ** SHAPE)) * worth(KEEP)
    assert plain[0].cost.value - more[0].cost.value == pytest.approx(1000 * lasts, rel=1e-9)
    assert more[1].cost.value == pytest.approx(plain[1].cost.value, rel=1e-12)
