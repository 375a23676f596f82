"""Plans with oil samples against lives played out by a program that shares no code with them."""

from __future__ import annotations

import math

import pytest

from riskmodel.decision import possible as drawing
from riskmodel.decision.weigh import weigh
from tests.decision.sampled_case import CASES, SAMPLED, sampled_case
from tests.simulation.sampled import simulate_sampled
from tests.simulation.sampled_case import read_sampled_case as read_case

LIVES = {"work_boat": 80_000}
"""Lives for each plan, where not 200,000. The boat has sixteen plans."""
STANDARD_ERRORS = 3.5
"""Some thirty plans by three chances are looked at: one in a hundred such tests would exceed 3.5
standard errors somewhere by chance."""
COST_WITHIN = 0.005
BAD_CASE_WITHIN = 0.02


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_sampled_plans_agree_with_simulation(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing, "DRAWS", 20_000)  # a bad case of few draws is rough
    weighing = weigh(sampled_case(name))
    lives = LIVES.get(name, 200_000)
    simulated = simulate_sampled(read_case(SAMPLED / f"{name}.json"), lives, seed=2)
    plans = [plan for plan in weighing.plans if plan.occasion is None]
    assert len(plans) == len(simulated.plans)
    for ours, theirs in zip(plans, simulated.plans, strict=True):
        assert ours.at == (None if theirs.at is None else pytest.approx(theirs.at))
        for mine, played in (
            (ours.failure.value, theirs.failure_probability),
            (ours.present_failure.value, theirs.present_part_failure_probability),
            (ours.alarm.value, theirs.alarm_probability),
        ):
            error = max(played.error, math.sqrt(mine * (1 - mine) / lives), 1e-12)
            assert abs(mine - played.value) <= STANDARD_ERRORS * error, (ours, theirs)
        cost = theirs.expected_cost
        allowed = max(COST_WITHIN * cost.value, STANDARD_ERRORS * cost.error)
        assert abs(ours.cost.value - cost.value) <= allowed, (ours, theirs)
        assert ours.bad_case == pytest.approx(theirs.bad_case.value, rel=BAD_CASE_WITHIN)


def test_without_samples_ahead_a_history_still_tilts_the_chances() -> None:
    sampled = weigh(sampled_case("road_car_hint"))
    unsampled = weigh(sampled_case("road_car_hint", sample=False))
    assert unsampled.risk == sampled.risk
    assert all(plan.alarm.value == 0 for plan in unsampled.plans)
    # the present part left in fails as the chances say, wear being the only cause
    never = unsampled.plans[-1].present_failure.value
    assert never == pytest.approx(unsampled.risk[-1].chance.value, rel=2e-3)


def test_samples_that_never_alarm_only_cost_their_price() -> None:
    """A part of which the oil says nothing: sampled plans are unsampled ones and the samples."""
    case = sampled_case("road_car")
    silent = weigh(_with(case, silent=1.0, false_alarm=0.0))
    plain = weigh(sampled_case("road_car", sample=False))
    for one, other in zip(silent.plans, plain.plans, strict=True):
        assert one.failure.value == pytest.approx(other.failure.value, abs=1e-9)
        assert one.cost.value > other.cost.value
        assert one.cost.value - other.cost.value < 4 * 35


def _with(case, silent: float, false_alarm: float):  # type: ignore[no-untyped-def]
    from dataclasses import replace

    from riskmodel.records.quantity import Quantity

    return replace(
        case,
        warning=replace(case.warning, silent=Quantity(silent, silent, share=True)),
        oil=replace(case.oil, false_alarm=false_alarm),
    )
