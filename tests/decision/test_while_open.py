"""Jobs done while access is open, in what a plan costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate

from riskmodel.decision.weigh import weigh
from riskmodel.life.weibull import conditional_survival
from riskmodel.records.case import Case, WhileOpen
from riskmodel.records.quantity import exactly
from riskmodel.words import plan_name
from tests.decision.exact_case import b50, case_of

SHAPE, SCALE, AGE, KEEP = 2.5, 200.0, 120.0, 40.0


def line(now: float, alone: float, chance: float, *, hardware: bool = False) -> WhileOpen:
    return WhileOpen("a job", exactly(now), exactly(alone), chance, hardware)


def case(*lines: WhileOpen, **plan: object) -> Case:
    found = case_of(
        {
            "machine": {"unit": "km", "reading": AGE, "usage_per_year": 10},
            "life": {"shape_prior": SHAPE, "b50_prior": b50(SHAPE, SCALE)},
            "oil": {"turnaround": 0, "interval": 10, "next_change_in": 10},
            "cost": {"planned": 2000, "failure": 9000, "install_fault": 0.0},
            "plan": {"keep_usage": KEEP, "new_part_life": 1, **plan},
        }
    )
    return replace(found, cost=replace(found.cost, while_open=lines))


def costs(of: Case) -> dict[float, float]:
    plans = weigh(of).plans
    return {np.inf if p.at is None else p.at: p.cost.value for p in plans if p.occasion is None}


def alive(usage: float) -> float:
    return float(conditional_survival(AGE, usage, SHAPE, SCALE))


def test_what_a_job_adds_is_its_price_and_the_wait_for_it() -> None:
    """By numerical integration: until the part is out, replaced or failed, the job may be needed
    on its own; it is done once, when the present part is replaced."""
    now, alone, chance = 150.0, 900.0, 0.6
    plain, more = costs(case()), costs(case(line(now, alone, chance)))
    for at, cost in more.items():
        end = min(at, KEEP)
        wait, _ = integrate.quad(alive, 0, end)
        done = now * alive(at) if at < KEEP else 0.0
        added = done + alone * chance * wait / KEEP
        assert cost - plain[at] == pytest.approx(added, rel=2e-3, abs=0.01)


def test_a_job_that_does_not_pay_is_left_alone() -> None:
    assert costs(case(line(500, 900, 0.5))) == costs(case())


def test_single_use_hardware_is_paid_for_at_every_fitting() -> None:
    """Always, whether it pays or not; the same as a job so much dearer."""
    hardware = costs(case(line(80, 0, 0, hardware=True)))
    dearer = case()
    dearer = replace(dearer, cost=replace(dearer.cost, planned=exactly(2080.0)))
    assert hardware == pytest.approx(costs(dearer), rel=1e-12)


def test_a_job_worth_doing_speaks_for_replacing_sooner() -> None:
    plain, more = costs(case()), costs(case(line(100, 1500, 0.9)))
    gain = {at: plain[at] - more[at] for at in plain}
    assert gain[0.0] > gain[10.0] > gain[30.0] > gain[np.inf]


def test_the_bad_case_has_them_too() -> None:
    plain, more = weigh(case()), weigh(case(line(150, 900, 0.6)))
    added = more.plans[0].bad_case - plain.plans[0].bad_case
    assert added == pytest.approx(150, rel=0.02)


def test_together_with_another_job_it_costs_so_much_less() -> None:
    """The saving comes where the part is still in place then; every other plan stays."""
    saves, at = 300.0, 17.0
    plain = case()
    job = replace(plain.plan, other_job="the cam belt", other_job_in=at)
    without, with_it = (
        weigh(replace(plain, plan=replace(job, other_job_saves=exactly(s)))) for s in (0.0, saves)
    )
    for one, other in zip(without.plans, with_it.plans, strict=True):
        gain = saves * alive(at) if one.at == at else 0.0
        assert one.cost.value - other.cost.value == pytest.approx(gain, rel=1e-6, abs=1e-6)
    found = next(i for i, plan in enumerate(with_it.plans) if plan.at == at)
    assert "together with the cam belt" in plan_name(with_it, found)


def test_a_job_due_at_an_oil_change_comes_with_it() -> None:
    plain = case()
    plan = replace(plain.plan, other_job="belt", other_job_in=20.0, other_job_saves=exactly(100.0))
    found = weigh(replace(plain, plan=plan)).plans
    job, change = [p for p in found if p.at is not None and abs(p.at - 20) < 0.01]
    assert job.occasion is not None
    assert change.occasion is None
    assert change.cost.value - job.cost.value == pytest.approx(100 * alive(20), rel=1e-2)
