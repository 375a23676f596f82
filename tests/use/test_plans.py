"""Plans take curves with ages of their own: what wiring use into them rests on."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.decision.lives import join
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prices import prices_of
from riskmodel.decision.timing import timing_of
from riskmodel.life.posterior import Curves
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.use.aged import aged_curves
from riskmodel.use.effective_age import joined_use
from riskmodel.use.mix import Mix
from tests.risk.cases import case_with
from tests.use.made import kind

CURVES = Curves(np.array([2.0, 3.0]), np.array([200_000.0, 160_000.0]), np.array([0.4, 0.6]))
HARD = kind("hard", 1.2, 3.0)
CASE = case_with(
    None,
    life={"b50_prior": [1e5, 3e5]},
    cost={"oil_change": 150, "found_worn": 600, "install_fault": 0},
)


def plans_of(curves: Curves, age: float | np.ndarray) -> PresentPart:
    joined = join(curves, exactly(1.0))
    faults, _ = prices_of(CASE).fault.points(1)
    lead = Quantity(12_000.0, 60_000.0)
    return PresentPart(age, curves, joined, timing_of(CASE), lead, True, faults)  # type: ignore[arg-type]


def found_worn(present: PresentPart, node: int) -> np.ndarray:
    """Chance to find distress at a planned replacement now and at each service."""
    return present.worlds[0].worn[:, node]


def test_each_curve_with_its_own_age_is_as_on_its_own() -> None:
    use = joined_use([HARD], [0, 100_000], [Mix({"hard": 0.5})], Mix({"hard": 0.3}))
    aged = aged_curves(CURVES, use, None, each=None)
    prices = prices_of(CASE)
    present = plans_of(aged.curves, aged.age)
    whole, _ = present.evaluate(prices)
    for i in range(0, len(aged), 7):
        one = Curves(aged.shape[i : i + 1], aged.scale[i : i + 1], np.ones(1))
        alone, _ = plans_of(one, float(aged.age[i])).evaluate(prices)
        assert whole.fails[:, i] == pytest.approx(alone.fails[:, 0], rel=1e-9)
        assert present.soon[i] == pytest.approx(plans_of(one, float(aged.age[i])).soon[0], rel=1e-9)
        worn = found_worn(present, i), found_worn(plans_of(one, float(aged.age[i])), 0)
        assert worn[0] == pytest.approx(worn[1], rel=1e-9)


def test_chance_until_each_service_against_brute_force() -> None:
    use = joined_use([HARD], [0, 100_000], [Mix({"hard": 0.5})], Mix({"hard": 0.3}))
    aged = aged_curves(CURVES, use, None, each=None)
    found, _ = plans_of(aged.curves, aged.age).evaluate(prices_of(CASE))
    random = np.random.default_rng(5)
    draws = 1_000_000
    harsh = HARD.harshness.quantile(random.standard_normal(draws))
    curve = random.choice(2, draws, p=CURVES.weight)
    failed = CURVES.scale[curve] * random.weibull(CURVES.shape[curve])
    age, rate = 100_000 * (1 + 0.5 * (harsh - 1)), 1 + 0.3 * (harsh - 1)
    lasts = failed > age
    usage = ((failed - age) / rate)[lasts]
    for plan, at in enumerate(found.at):
        gone = usage <= min(float(at), 30_000)
        told = float(found.fails[plan] @ aged.weight)
        assert told == pytest.approx(gone.mean(), abs=3 * gone.std() / len(gone) ** 0.5 + 1e-12)
