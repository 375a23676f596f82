"""Other distributions beside the Weibull: how well each explains the same records."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.rows import BETWEEN, EXACT, Rows

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Comparison:
    """A distribution's greatest log-likelihood and AIC = 2 * parameters - 2 * loglik.

    Both None where it has no best-fitting member. The smaller AIC explains the records
    better; a difference below 2 says little (Burnham & Anderson 2002, section 2.6).
    """

    distribution: str
    loglik: float | None
    aic: float | None


def compare(rows: Rows) -> tuple[Comparison, ...]:
    """Weibull, lognormal, exponential and three-parameter Weibull on the same rows.

    Late entry, counts and failures between two ages count alike for all; looks at removed
    parts for none (those parts count as removed).
    """
    rows = rows.without_looks()
    weibull = _weibull(rows)
    found = {
        "weibull": (weibull, 2),
        "lognormal": (None if weibull is None else _lognormal(rows), 2),
        "exponential": (_exponential(rows), 1),
        "weibull with threshold": (None if weibull is None else _with_threshold(rows, weibull), 3),
    }
    return tuple(
        Comparison(name, value, None if value is None else 2 * parameters - 2 * value)
        for name, (value, parameters) in found.items()
    )


def _weibull(rows: Rows) -> float | None:
    found = maximise(Likelihood(rows))
    return found.jet.value if isinstance(found, Maximum) else None


def _exponential(rows: Rows) -> float | None:
    """The Weibull of shape 1, whose log-likelihood is concave in mu."""
    likelihood = Likelihood(rows)
    if likelihood.failures == 0 or not likelihood.bounds_life_below:
        return None
    mu = math.log(likelihood.failures) - likelihood.exposure.slopes(1.0)[0]
    for _ in range(100):
        jet = likelihood.jet(1.0, mu)
        step = -jet.mu / jet.mumu
        mu += min(max(step, -1.0), 1.0)
        if abs(step) < 1e-10:
            break
    return likelihood.jet(1.0, mu).value


def _lognormal(rows: Rows) -> float | None:
    from scipy.optimize import minimize
    from scipy.special import log_ndtr

    failed = rows.where(EXACT) | rows.where(BETWEEN)
    middle = np.log(np.where(rows.since > 0, (rows.age + rows.since) / 2, rows.age))
    centre = float(np.average(middle[failed], weights=rows.weight[failed]))
    spread = max(float(middle[failed].std()), 0.1)

    def misfit(point: Floats) -> float:
        m, s = centre + spread * float(point[0]), spread * math.exp(float(point[1]))

        def log_survival(age: Floats) -> Floats:
            with np.errstate(divide="ignore"):
                return np.asarray(log_ndtr(-(np.log(age) - m) / s))

        def log_density(age: Floats) -> Floats:
            z = (np.log(age) - m) / s
            return np.asarray(-(z**2) / 2 - math.log(s * math.sqrt(2 * math.pi)) - np.log(age))

        return -_sum(rows, log_density, log_survival)

    best = minimize(
        misfit,
        np.zeros(2),
        method="Nelder-Mead",
        options={"xatol": 1e-6, "fatol": 1e-10, "maxiter": 2000},
    )
    settled = best.success and abs(best.x[1]) < 12 and math.isfinite(best.fun)
    return -float(best.fun) if settled else None


def _sum(
    rows: Rows,
    log_density: Callable[[Floats], Floats],
    log_survival: Callable[[Floats], Floats],
) -> float:
    """Log-likelihood of rows without looks under any distribution of life."""
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    alive = ~exact & ~between
    value = np.zeros(len(rows.age))
    value[exact] = log_density(rows.age[exact])
    value[alive] = log_survival(rows.age[alive])
    lived = log_survival(rows.since[between])
    with np.errstate(divide="ignore"):
        ahead = np.log(-np.expm1(log_survival(rows.age[between]) - lived))
    value[between] = lived + ahead
    late = rows.entry > 0
    value[late] -= log_survival(rows.entry[late])
    return float(value @ rows.weight)


def _with_threshold(rows: Rows, at_zero: float) -> float | None:
    """The Weibull that starts at a failure-free age between 0 and the first failure.

    Only curves with a shape of at least 1 count: below, the density is infinite at the
    threshold and so is the likelihood as it nears the first failure.
    """
    from scipy.optimize import minimize_scalar

    failed = rows.where(EXACT) | rows.where(BETWEEN)
    first = float(rows.age[failed].min())

    def height(log_room: float) -> float:
        """At a threshold that leaves exp(log_room) of the first failure's age."""
        threshold = -first * math.expm1(log_room)
        found = maximise(Likelihood(rows.from_threshold(threshold)))
        return found.jet.value if isinstance(found, Maximum) and found.b >= 1 else -math.inf

    tried = np.linspace(0.0, -7.0, 22)
    heights = [height(x) for x in tried]
    best = int(np.argmax(heights))
    if not math.isfinite(heights[best]) or best == len(tried) - 1:
        return at_zero if math.isfinite(heights[0]) else None
    around = minimize_scalar(
        lambda x: -max(height(x), -1e300),
        bounds=(tried[best + 1], tried[max(best - 1, 0)]),
        method="bounded",
        options={"xatol": 1e-6},
    )
    return max(-float(around.fun), heights[best])
