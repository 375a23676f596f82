"""Every plan against a million lives played out by a program that shares no code with the core."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.decision.weigh import weigh
from tests.decision.exact_case import CASES, SIMULATED, simulated_case
from tests.simulation import brute_force
from tests.simulation.case import read_case as read_simulated

LIVES = 1_000_000
STANDARD_ERRORS = 3.0
COST_WITHIN = 0.005


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_plans_agree_with_a_million_lives(name: str) -> None:
    weighing = weigh(simulated_case(name))
    simulated = brute_force.simulate(read_simulated(SIMULATED / f"{name}.json"), LIVES, seed=2)
    plans = [plan for plan in weighing.plans if plan.occasion is None]
    assert len(plans) == len(simulated.plans)
    for ours, theirs in zip(plans, simulated.plans, strict=True):
        assert ours.at == (None if theirs.at is None else pytest.approx(theirs.at))
        for mine, played in (
            (ours.failure.value, theirs.failure_probability),
            (ours.present_failure.value, theirs.present_part_failure_probability),
        ):
            # The standard error under our own chance: that of 0 seen in a million is not 0.
            error = max(played.error, np.sqrt(mine * (1 - mine) / LIVES), 1e-12)
            assert abs(mine - played.value) <= STANDARD_ERRORS * error, (ours, theirs)
        assert ours.cost.value == pytest.approx(theirs.expected_cost.value, rel=COST_WITHIN)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_bad_case_is_exceeded_by_one_life_in_twenty(name: str) -> None:
    case = read_simulated(SIMULATED / f"{name}.json")
    weighing = weigh(simulated_case(name))
    policy = brute_force.solve_policy(case)
    worlds = brute_force.draw_worlds(case, 200_000, seed=3)
    for ours in weighing.plans:
        counts, _, _ = brute_force.play(
            case, policy, ours.at, worlds.life, worlds.visible, worlds.k, np.random.default_rng(4)
        )
        paid = np.sum(worlds.prices * counts, axis=0)
        below = np.mean(paid < ours.bad_case * (1 - 0.005))
        up_to = np.mean(paid <= ours.bad_case * (1 + 0.005))
        # 4,096 draws place a percentile within about 0.34 % of probability (one sd).
        assert below <= 0.95 + 0.012, ours
        assert up_to >= 0.95 - 0.012, ours
