"""Plans with samples, one life curve and one lead exactly known: integrated over the failure age.

Every part is followed by hand: it fails at age + t, its distress begins a lead before, each sample
alarms with the chance of the analyst's score, an alarm in distress is seen with a chance, and the
part is replaced a turnaround later. What a price adds to a plan's cost is how often it is paid.
The package works out twelve failure ages in an interval and takes straight lines between: an exact
lead leaps between two of them, which moves a count by up to one per cent.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from riskmodel.decision.weigh import weigh
from riskmodel.oil.alarm import alarms, shed
from riskmodel.oil.rise import log_fill_mean
from riskmodel.records.case import Case, WhileOpen
from riskmodel.records.quantity import exactly
from tests.decision.exact_case import b50, case_of

Floats = NDArray[np.float64]

SHAPE, SCALE, AGE, KEEP, EVERY, FIRST = 3.0, 100_000.0, 80_000.0, 38_000.0, 10_000.0, 6_000.0
LEAD, TURN, SEES, RATE, PER_YEAR, VISIBLE = 9_000.0, 1_500.0, 0.7, 0.2, 10_000.0, 5_000.0


def case(silent: float = 0.0, factor: float = 1.0, **cost: float) -> Case:
    """New parts last a thousand times as long, so that nothing follows a replacement."""
    lead = {"symbol": "Pb", "typical": 0.5, "scatter": 1.3, "rise": 6.0, "from_part": True}
    return case_of(
        {
            "machine": {"unit": "km", "reading": AGE, "usage_per_year": PER_YEAR},
            "life": {"shape_prior": SHAPE, "b50_prior": b50(SHAPE, SCALE)},
            "warning": {
                "lead": LEAD / factor, "lead_factor": factor, "silent": silent,
                "visible_lead": VISIBLE,
            },
            "oil": {
                "interval": EVERY, "next_change_in": FIRST, "turnaround": TURN, "shared_scatter": 0,
                "false_alarm": 0.04, "investigation_sees": SEES, "element": [lead],
            },
            "cost": {
                "planned": 3_000, "failure": 5_000, "install_fault": 0.0, "discount_rate": RATE,
                "oil_change": 0, "sample": 0, "investigation": 0, "found_worn": 0, **cost,
            },
            "plan": {"keep_usage": KEEP, "new_part_life": 10, "after_failure": "stop"},
        }
    )  # fmt: skip


@dataclass(frozen=True)
class Followed:
    """By failure age ahead `t` (T,) of `weight` (T,): per service the chance `seen` there (S, T),
    and to `alarm` while in place."""

    t: Floats
    weight: Floats
    services: Floats
    seen: Floats
    alarm: Floats
    happens: NDArray[np.bool_]

    def worth(self, usage: Floats | float) -> Floats:
        return np.asarray((1 + RATE) ** (-np.asarray(usage) / PER_YEAR))


def followed(of: Case, silent: float = 0.0) -> Followed:
    t = (np.arange(400_000) + 0.5) * 1.0  # km by km, far beyond keep-until
    alive = np.exp((AGE / SCALE) ** SHAPE - ((AGE + t) / SCALE) ** SHAPE)
    weight = alive * SHAPE / SCALE * ((AGE + t) / SCALE) ** (SHAPE - 1)
    services = np.arange(FIRST, KEEP, EVERY)
    onset = np.maximum(AGE + t - LEAD, 0.0)
    elements = shed(of.oil.element)
    rings = alarms(elements, EVERY, {}, of.oil.false_alarm, len(services))
    still, seen, alarm = np.ones_like(t), [], []
    for service, ring in zip(services.tolist(), rings, strict=True):
        at = AGE + service
        ill = (onset < at) & (t > service)
        shift = log_fill_mean(onset, AGE + t, at, EVERY, math.log(6.0))
        chance = np.where(ill, ring.chance(shift[:, None]), of.oil.false_alarm)
        there = t > service
        alarm.append(np.where(there, still * ((1 - silent) * chance), 0.0))
        alarm[-1] += np.where(there, silent * of.oil.false_alarm, 0.0)
        found = np.where(ill, still * SEES * chance, 0.0)
        seen.append((1 - silent) * found)
        still = still - found
    happens = services + TURN < KEEP
    return Followed(t, weight, services, np.array(seen), np.array(alarm), happens)


def never(of: Case) -> float:
    return float(weigh(of).plans[-1].cost.value)


@pytest.mark.parametrize(("silent", "factor"), [(0.0, 1.0), (0.35, 1.0), (0.2, 1.8)])
def test_chances_of_leaving_it_in(silent: float, factor: float) -> None:
    """`factor` moves the lead to what it is in every case: 9,000."""
    of = case(silent, factor)
    plan, told = weigh(of).plans[-1], followed(of, silent)
    in_time = told.t > told.services[:, None] + TURN
    urgent = (told.seen * in_time)[told.happens] @ told.weight
    assert plan.alarm.value == pytest.approx(urgent.sum(), rel=3e-3)
    fails = told.t < KEEP
    lost = (
        told.weight[fails].sum()
        - ((told.seen * in_time)[told.happens][:, fails]).sum(axis=0) @ (told.weight[fails])
    )
    assert plan.present_failure.value == pytest.approx(lost, rel=3e-3)


@pytest.mark.parametrize("silent", [0.0, 0.35])
def test_what_each_price_adds_to_leaving_it_in(silent: float) -> None:
    of = case(silent)
    told, base = followed(of, silent), never(case(silent))
    in_time = told.t > told.services[:, None] + TURN
    replaced = (told.seen * in_time)[told.happens]
    paid = told.worth(told.services + TURN)[told.happens]
    urgent = float(paid @ (replaced @ told.weight))
    # a part fitted at service j is sampled at as many services as fit before keep-until
    rest = KEEP - told.services[told.happens] - TURN
    later = [told.worth(np.arange(EVERY, left, EVERY)).sum() for left in rest]
    again = float((paid * (replaced @ told.weight)) @ later)
    looks = float(told.worth(told.services) @ (told.alarm @ told.weight)) + 0.04 * again
    in_place = told.t > told.services[:, None]
    gone = np.cumsum(told.seen, axis=0) - told.seen
    samples = float(told.worth(told.services) @ ((in_place * (1 - gone)) @ told.weight)) + again
    look = told.t - told.services[told.happens][:, None] - TURN
    worn = float(paid @ ((replaced * (look < VISIBLE)) @ told.weight))
    for name, price, expected in (
        ("investigation", 100.0, looks),
        ("sample", 100.0, samples),
        ("found_worn", 100.0, worn),
    ):
        added = never(case(silent, **{name: price})) - base
        assert added == pytest.approx(price * expected, rel=0.015), name
    # 200 more at short notice than the planned price that it else has
    assert never(case(silent, urgent=3_200)) - base == pytest.approx(200 * urgent, rel=5e-3)

    def with_job(now: float) -> float:
        job = WhileOpen("a job", exactly(now), exactly(900.0), 0.8, False)
        plain = case(silent)
        return never(replace(plain, cost=replace(plain.cost, while_open=(job,))))

    assert with_job(300.0) - with_job(100.0) == pytest.approx(200 * urgent, rel=5e-3)


def test_a_new_part_is_sampled_and_alarms_falsely_at_every_oil_change() -> None:
    """It lasts ten times as long and shows nothing: 4 in 100 of its samples alarm all the same."""
    base = weigh(case()).plans[0].cost.value
    changes = np.arange(EVERY, KEEP, EVERY)
    held = float(((1 + RATE) ** (-changes / PER_YEAR)).sum())
    for name, often in (("sample", 1.0), ("investigation", 0.04)):
        added = weigh(case(**{name: 100.0})).plans[0].cost.value - base
        assert added == pytest.approx(100 * often * held, rel=2e-3), name


def test_a_result_that_is_not_in_when_the_job_comes_changes_nothing() -> None:
    """With another job that is due between a sample and its result: no alarm can be acted upon."""
    of = case()
    at = FIRST + TURN / 2
    due = replace(of.plan, other_job="a belt", other_job_in=at)
    found = next(plan for plan in weigh(replace(of, plan=due)).plans if plan.at == at)
    assert found.alarm.value == 0
    late = replace(of.plan, other_job="a belt", other_job_in=FIRST + 2 * TURN)
    after = next(
        plan for plan in weigh(replace(of, plan=late)).plans if plan.at == FIRST + 2 * TURN
    )
    told = followed(of)
    in_time = told.t > FIRST + TURN
    assert after.alarm.value == pytest.approx((told.seen[0] * in_time) @ told.weight, rel=0.01)
