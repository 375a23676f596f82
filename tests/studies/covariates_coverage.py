"""How often intervals of a factor on life hold the truth, by simulation. Run by hand:

    python -m tests.studies.covariates_coverage [repetitions]

Settings, each with shape 2.5 and two levels, the second with a given share of the parts
and a given true factor on life. Watching stops at random ages. Printed: the share of 95 %
likelihood-ratio intervals that hold the factor, beside Wald's; how often they err on either
side; and the share of rejections at p < 0.05. Then, over factors, shapes and B50s drawn from
the priors: the share of 90 % credible intervals of the chance ahead, for an engine of the
second level, that hold the true chance.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.covariate_curves import EFFECT_PRIOR, trait_curves
from riskmodel.life.covariate_profile import Factor
from riskmodel.life.covariates import fit_covariates
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import records

Floats = NDArray[np.float64]


def simulated(
    rng: np.random.Generator, n: int, second: float, shape: float, scale: float, factor: float
) -> LifeRecords:
    """`n` parts, a share `second` of them of the second level, watched to random ages."""
    hard = np.arange(n) < round(second * n)
    life = scale * np.where(hard, factor, 1.0) * rng.weibull(shape, n)
    end = 1000.0 * rng.uniform(0.2, 1.4, n)  # of its own, lest it tell of the scale
    failed = life <= end
    return replace(
        records(np.minimum(life, end), ["failed" if f else "running" for f in failed]),
        covariates={"use": tuple("second" if h else "first" for h in hard)},
    )


def of_intervals(rng: np.random.Generator, repetitions: int) -> None:
    for n, second, factor in (
        (14, 0.5, 0.7),
        (30, 0.4, 0.7),
        (60, 0.2, 0.7),
        (60, 0.2, 1.0),
        (200, 0.3, 0.7),
    ):
        held = below = above = wald = small = tried = failures = 0.0
        for _ in range(repetitions):
            fitted = fit_covariates(simulated(rng, n, second, 2.5, 1000.0, factor))
            if fitted.top is None or not fitted.terms:
                continue
            term = fitted.terms[0]
            truth = factor if term.level == "second" else 1 / factor
            tried += 1
            failures += fitted.failures
            below += term.factor.low is not None and truth < term.factor.low
            above += term.factor.high is not None and truth > term.factor.high
            small += term.p is not None and term.p < 0.05
            slope = Factor(0).slope(fitted.top.theta)
            spread = math.sqrt(slope @ np.linalg.pinv(-fitted.top.hessian) @ slope)
            off = abs(Factor(0).value(fitted.top.theta) - math.log(truth))
            wald += off < 1.96 * spread
        held = tried - below - above
        print(
            f"n {n:3d}, share {second}, factor {factor}: {failures / tried:5.1f} failures; "
            f"95 % interval holds {held / tried:.3f} (too high {below / tried:.3f}, too low "
            f"{above / tried:.3f}), Wald {wald / tried:.3f}; p < 0.05 in {small / tried:.3f}; "
            f"{int(tried)} of {repetitions}"
        )


def of_curves(rng: np.random.Generator, repetitions: int) -> None:
    shape_prior, b50_prior = Quantity(1.2, 5.0), Quantity(600.0, 1500.0)
    cases: tuple[tuple[int, dict[str, float | str]], ...] = (
        (15, {"use": "second"}),
        (60, {"use": "second"}),
        (60, {}),
    )
    for n, traits in cases:
        held = below = 0
        for _ in range(repetitions):
            shape = float(shape_prior.quantile(rng.standard_normal()))
            b50 = float(b50_prior.quantile(rng.standard_normal()))
            g = EFFECT_PRIOR.spread * rng.standard_normal()
            # B50 is an average part's, on the log scale
            scale = b50 / math.log(2) ** (1 / shape) * math.exp(-0.3 * g)
            plain = simulated(rng, n, 0.3, shape, scale, math.exp(g))
            curves = trait_curves(plain, traits, shape_prior, b50_prior)
            chance = conditional_failure(400.0, 200.0, curves.shape, curves.scale)
            low, high = weighted_quantile(chance, curves.weight, [0.05, 0.95])
            of_second = bool(traits) or rng.uniform() < 0.3
            own = scale * math.exp(g) if of_second else scale
            truth = float(conditional_failure(400.0, 200.0, shape, own))
            held += low <= truth <= high
            below += truth < low
        print(
            f"n {n:3d}, traits {traits}: 90 % credible interval holds {held / repetitions:.3f} "
            f"(too high {below / repetitions:.3f}), {repetitions} repetitions"
        )


if __name__ == "__main__":
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    generator = np.random.default_rng(20261125)
    of_intervals(generator, times)
    of_curves(generator, times)
