"""Costs and chances of every plan against the model solved plainly on a close grid, and by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy import integrate

from riskmodel.decision.weigh import weigh
from tests.decision.exact_case import b50, case_of
from tests.decision.plain_renewal import World, plan, solved


def weighed(world: World, age: float, keep: float, first: float, **stated: Any) -> Any:
    """The plans of the same world by the package: now, at each service, never."""
    case = case_of(
        {
            "machine": {"unit": "km", "reading": age, "usage_per_year": world.per_year},
            "life": {"shape_prior": world.shape, "b50_prior": b50(world.shape, world.scale)},
            "warning": {"visible_lead": world.lead} if world.lead else {},
            "oil": {"turnaround": 0, "interval": world.interval, "next_change_in": first},
            "cost": {
                "planned": world.planned,
                "failure": world.failure,
                "found_worn": world.worn,
                "oil_change": world.oil,
                "install_fault": world.fault,
                "install_fault_price": world.fault_price,
                "sale_credit": world.sale,
                "discount_rate": world.rate,
            },
            "plan": {
                "keep_usage": keep,
                "new_part_life": world.life,
                "after_failure": "repair" if world.repair else "stop",
                **stated,
            },
        }
    )
    return [each for each in weigh(case).plans if each.occasion is None]


WORLDS = {
    "failures alone": World(2.5, 60, 20, planned=1500, failure=5000),
    "parts that seldom last": World(4.0, 25, 10, planned=300, failure=9000),
    "all prices": World(
        3.0, 45, 10, rate=0.12, life=0.7, planned=800, failure=6000, oil=90, worn=400, lead=6.0,
        fault=0.06, fault_price=3000, sale=700,
    ),
    "given up after a failure": World(
        2.2, 50, 10, rate=0.05, life=0.8, planned=700, failure=5000, oil=60, worn=300, lead=4.0,
        fault=0.03, fault_price=2500, sale=500, repair=False,
    ),
    "early failures": World(0.7, 90, 15, rate=0.03, planned=900, failure=4000, oil=50),
    "dear hardware, cheap failure": World(3.5, 30, 10, planned=2500, failure=2600, oil=40),
}  # fmt: skip


@pytest.mark.parametrize("name", WORLDS)
def test_every_plan_is_the_model_solved_plainly(name: str) -> None:
    """Four or more parts may follow each other; the grid is refined until it stands still."""
    world, age, keep = WORLDS[name], 20.0, 48.0
    first = 6.0 if world.interval == 10 else 8.0
    steps = 240 if world.interval == 10 else 360 if world.interval == 15 else 480
    found = solved(world, keep, steps)
    for ours in weighed(world, age, keep, first):
        at = math.inf if ours.at is None else ours.at
        cost, fails = plan(world, found, age, keep, first, at)
        assert ours.failure.value == pytest.approx(fails, rel=2e-3), ours.at
        assert ours.cost.value == pytest.approx(cost, rel=3e-3), ours.at


def test_one_planned_job_with_every_price_by_numerical_integration() -> None:
    """One service, given up after a failure: the present part, then one new part, discounted."""
    world = World(
        2.4, 80, 30, per_year=8.0, rate=0.15, life=0.6, planned=900, failure=5000, oil=70, worn=450,
        lead=7.0, fault=0.05, fault_price=2000, sale=650, repair=False,
    )  # fmt: skip
    age, keep, at = 50.0, 40.0, 12.0
    _, later, never = weighed(world, age, keep, at)

    def lasts(t: float) -> float:
        return float(world.survival(age + t) / world.survival(age))

    def worth(t: float) -> float:
        return float(world.worth(t))

    def dies(t: float) -> float:
        return lasts(t) * world.shape / world.scale * ((age + t) / world.scale) ** (world.shape - 1)

    new = world.scale * world.life
    rest = keep - at

    def dies_new(t: float) -> float:
        return float(world.survival(t, new)) * world.shape / new * (t / new) ** (world.shape - 1)

    lost, _ = integrate.quad(lambda t: 5000 * worth(t) * dies(t), 0, at)
    again, _ = integrate.quad(lambda t: 5000 * worth(at + t) * dies_new(t), 0, rest)
    well = float(world.survival(rest, new))
    expected = lost + lasts(at) * (worth(at) * (900 + 0.05 * 2000) + again)
    expected += worth(at) * 450 * (lasts(at) - lasts(at + 7))
    expected -= lasts(at) * well * 650 * worth(keep)
    # the discount is a straight line within a cell of an eighth of an interval
    assert later.cost.value == pytest.approx(expected, rel=5e-4)
    assert later.failure.value == pytest.approx(1 - lasts(at) * 0.95 * well, rel=1e-9)
    assert later.present_failure.value == pytest.approx(1 - lasts(at), rel=1e-9)
    kept, _ = integrate.quad(lambda t: 5000 * worth(t) * dies(t), 0, keep)
    assert never.cost.value == pytest.approx(kept + 70 * lasts(at) * worth(at), rel=5e-4)


def test_a_life_without_wear_fails_as_often_whatever_is_done() -> None:
    """Shape 1: failures come at a constant rate, lambda times the discounted usage owned."""
    world = World(1.0, 30, 10, rate=0.1, planned=400, failure=1000)
    keep, force = 60.0, math.log(1.1) / 10
    owned = (1 - math.exp(-force * keep)) / force
    now, *_, never = weighed(world, 25.0, keep, 10.0)
    assert never.cost.value == pytest.approx(1000 / 30 * owned, rel=2e-4)
    assert now.cost.value == pytest.approx(400 + 1000 / 30 * owned, rel=2e-4)
    assert never.failure.value == pytest.approx(1 - math.exp(-2), rel=1e-9)


def test_a_service_on_keep_until_is_not_held() -> None:
    """Services at 10 and 20 with 30 to go: two oil changes by a part that lasts; at 29.9 too."""
    world = World(8.0, 1e6, 10, planned=1, failure=1, oil=100)
    for keep, held in ((30.0, 2), (29.9, 2), (30.1, 3)):
        *_, never = weighed(world, 5.0, keep, 10.0)
        assert never.cost.value == pytest.approx(100 * held, abs=1e-6), keep
