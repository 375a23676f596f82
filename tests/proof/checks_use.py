"""Outside checks of effective age."""

from __future__ import annotations

import math

import numpy as np

from riskmodel.life.weibull import conditional_failure, failure
from riskmodel.use.effective_age import joined_use
from riskmodel.use.mix import Mix, ageing_rate
from riskmodel.use.parts_of_spread import parts_of_spread
from riskmodel.use.spread import spread_points
from tests.proof.checks_kind import MEMORY, READ, WORKED, Check
from tests.use import test_step_stress as steps

NELSON = "Nelson 1980, IEEE Transactions on Reliability R-29, 103-108: formulas; figures worked"
BEARING = (
    "Modarres, Amiri & Jackson 2017, Probabilistic Physics of Failure Approach to Reliability, pp. "
    "33-37, as the documentation of an open-source package works it"
)


def checks() -> list[Check]:
    """All of them."""
    return [
        Check("ball bearing under 1, 2, 4 kN: cycles to failure", BEARING, READ, 7400.37951,
              lambda: _three_loads()[0], "use/test_mix.py"),
        Check("its damage by load [%]", BEARING, READ, (9.86717, 28.463, 61.66983),
              lambda: _three_loads()[1:], "use/test_mix.py", 5e-6, "half the fifth digit"),
        Check("mean effective load of a ball bearing [lb]",
              "Mott, Machine Elements in Mechanical Design, 4th ed., example problem 14-6, p. 626",
              READ, 597, _mean_load, "use/test_mix.py"),
        Check("equivalent age and share failed after two stresses", NELSON, WORKED,
              (126.6667, 0.27328), _two_steps, "use/test_step_stress.py",
              (1e-4, 1e-5), "the last digit"),
        Check("failures under three stresses at five ages, and ahead: greatest difference in "
              "proportion", NELSON, WORKED, 0.0, _steps, "use/test_step_stress.py", 1e-12,
              "a closed form"),
        Check("shares of the variance of Ishigami & Homma's function",
              "Saltelli, Chan & Scott 2000, Sensitivity Analysis", MEMORY, (0.3139, 0.4424, 0.0),
              _ishigami, "use/test_parts_of_spread.py", 5e-5, "half a unit of the last digit"),
        Check("evenly spread points step by the golden ratio, and by the root of x^3 = x + 1",
              "additive recurrence of smallest discrepancy", WORKED,
              ((5**0.5 - 1) / 2, 1 / 1.324717957244746),
              lambda: (_step(1), _step(2)), "use/test_spread.py", 1e-12, "a closed form"),
    ]  # fmt: skip


def _three_loads() -> tuple[float, ...]:
    life = np.array([50_000.0, 6_500.0, 1_000.0])
    share = np.array([40.0, 15.0, 5.0]) / 60
    harsh = life[0] / life
    rate = float(ageing_rate(share[1:], harsh[1:], np.zeros(2)))
    return (float(life[0] / rate), *(100 * share * harsh / rate).tolist())


def _mean_load() -> float:
    load, minutes = np.array([650.0, 750.0, 250.0]), np.array([30.0, 10.0, 20.0])
    rate = float(ageing_rate(minutes / 60, (load / 650) ** 3, np.zeros(3)))
    return float(650 * rate ** (1 / 3))


def _two_steps() -> tuple[float, float]:
    age = joined_use(steps.KINDS, [0, 60, 100], steps.MIXES[:2], steps.MIXES[2]).age[0]
    return float(age), float(failure(age, steps.SHAPE, 200.0))


def _steps() -> float:
    far = 0.0
    for at in (10.0, 60.0, 75.0, 100.0, 130.0):
        edges = [0.0, *(c for c in steps.CHANGES if c < at), at]
        use = joined_use(steps.KINDS, edges, steps.MIXES[: len(edges) - 1], Mix())
        ours = float(failure(use.age[0], steps.SHAPE, steps.SCALES[0]))
        far = max(far, abs(ours / steps.nelson(at) - 1))
    use = joined_use(steps.KINDS, [0, 60, 100], steps.MIXES[:2], steps.MIXES[2])
    known = steps.nelson(100.0)
    for ahead in (5.0, 30.0):
        wanted = (steps.nelson(100.0 + ahead) - known) / (1 - known)
        chance = conditional_failure(use.age, use.ahead * ahead, steps.SHAPE, steps.SCALES[0])
        far = max(far, abs(float(chance[0]) / wanted - 1))
    return far


def _ishigami() -> tuple[float, ...]:
    node, weight = np.polynomial.legendre.leggauss(24)
    x, w = math.pi * node, weight / 2
    one, two, three = np.meshgrid(x, x, x, indexing="ij")
    values = np.sin(one) + 7 * np.sin(two) ** 2 + 0.1 * three**4 * np.sin(one)
    return parts_of_spread(values, np.einsum("i,j,k->ijk", w, w, w), ("x", "y", "z")).shares


def _step(dimensions: int) -> float:
    points = spread_points(2, dimensions)[:, 0]
    return float((points[1] - points[0]) % 1)
