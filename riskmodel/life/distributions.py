"""Distributions of life beside the Weibull, fitted to the same records by maximum likelihood."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.rows import BETWEEN, EXACT, Rows

Floats = NDArray[np.float64]

MANY, FIGURES = 20_000, 4
"""With so many distinct rows, ages to four figures move a log-likelihood by less than 0.1."""

Name = Literal["Weibull", "lognormal", "exponential", "Weibull with threshold"]


@dataclass(frozen=True, slots=True)
class Family:
    """A distribution: ln f and ln S at ages, given unbounded coordinates (k,)."""

    name: Name
    log_density: Callable[[Floats, Floats], Floats]
    log_survival: Callable[[Floats, Floats], Floats]
    parameters: Callable[[Floats], tuple[float, ...]]


def _weibull_density(age: Floats, point: Floats) -> Floats:
    return weibull.log_density(age, math.exp(point[0]), math.exp(point[1]))


def _weibull_survival(age: Floats, point: Floats) -> Floats:
    return weibull.log_survival(age, math.exp(point[0]), math.exp(point[1]))


def _lognormal_density(age: Floats, point: Floats) -> Floats:
    with np.errstate(divide="ignore"):
        log_age = np.log(age)
    z = (log_age - point[0]) / math.exp(point[1])
    return np.asarray(-(z**2) / 2 - point[1] - math.log(2 * math.pi) / 2 - log_age)


def _lognormal_survival(age: Floats, point: Floats) -> Floats:
    from scipy.special import log_ndtr

    with np.errstate(divide="ignore"):
        return np.asarray(log_ndtr((point[0] - np.log(age)) / math.exp(point[1])))


WEIBULL = Family(
    "Weibull",
    _weibull_density,
    _weibull_survival,
    lambda point: (math.exp(point[0]), math.exp(point[1])),
)
LOGNORMAL = Family(
    "lognormal",
    _lognormal_density,
    _lognormal_survival,
    lambda point: (math.exp(point[0]), math.exp(point[1])),
)
EXPONENTIAL = Family(
    "exponential",
    lambda age, point: np.asarray(-point[0] - age / math.exp(point[0])),
    lambda age, point: np.asarray(-age / math.exp(point[0])),
    lambda point: (math.exp(point[0]),),
)


def with_threshold(first: float) -> Family:
    """The Weibull that starts at first * (1 - e^-point[2]), below the first failure's age."""

    def shifted(age: Floats, point: Floats) -> Floats:
        return np.maximum(age + first * math.expm1(-math.exp(point[2])), 0.0)

    return Family(
        "Weibull with threshold",
        lambda age, point: _weibull_density(shifted(age, point), point),
        lambda age, point: _weibull_survival(shifted(age, point), point),
        lambda point: (
            -first * math.expm1(-math.exp(point[2])),
            math.exp(point[0]),
            math.exp(point[1]),
        ),
    )


def fitted(rows: Rows) -> list[tuple[Family, Floats, float]]:
    """Each family that has a best-fitting member, with its coordinates and log-likelihood.

    `rows` without looks; late entry, counts and failures between two ages count alike for
    all. The threshold is among them only where one above 0 beats none. More than MANY
    distinct rows are fitted with their ages to FIGURES significant figures.
    """
    rows = rows.merged()
    if len(rows.age) > MANY:
        rows = rows.rounded(FIGURES)
    likelihood = Likelihood(rows)
    if likelihood.failures == 0 or not likelihood.bounds_life_below:
        return []
    exponential = _climbed(rows, EXPONENTIAL, np.array([math.log(_mean_life(rows))]))
    top = maximise(likelihood)
    if not isinstance(top, Maximum):
        return [] if exponential is None else [exponential]
    scale = likelihood.reference * math.exp(-top.mu / top.b)
    start = np.array([math.log(top.b), math.log(scale)])
    plain = (WEIBULL, start, height(rows, WEIBULL, start))
    middle = math.log(float(weibull.quantile(0.5, top.b, scale)))
    lognormal = _climbed(rows, LOGNORMAL, np.array([middle, math.log(1.2 / top.b)]))
    found = [plain, lognormal, exponential, _with_threshold(rows, plain[2])]
    return [one for one in found if one is not None]


def _mean_life(rows: Rows) -> float:
    """Usage watched, over failures."""
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    lived = np.where(rows.where(BETWEEN), rows.since, rows.age) - rows.entry
    return float(rows.weight @ lived / rows.weight[failed].sum())


def _with_threshold(rows: Rows, plain: float) -> tuple[Family, Floats, float] | None:
    """The best of thresholds tried between 0 and the first failure, then refined.

    Only shapes of at least 1 count: below, the likelihood has no bound as the threshold
    nears the first failure. None where no threshold beats the plain Weibull.
    """
    from scipy.optimize import minimize_scalar

    failed = rows.where(EXACT) | rows.where(BETWEEN)
    first = float(rows.age[failed].min())

    def found(log_room: float) -> tuple[float, Floats]:
        """At a threshold that leaves exp(log_room) of the first failure's age."""
        shifted = rows.from_threshold(-first * math.expm1(log_room))
        likelihood = Likelihood(shifted)
        top = maximise(likelihood)
        if not isinstance(top, Maximum) or top.b < 1:
            return -math.inf, np.zeros(3)
        scale = math.log(likelihood.reference) - top.mu / top.b
        return top.jet.value, np.array([math.log(top.b), scale, math.log(-log_room)])

    tried = -np.geomspace(0.02, 9.0, 16)
    heights = [found(room)[0] for room in tried]
    best = int(np.argmax(heights))
    if not heights[best] > plain + 1e-3 or best == len(tried) - 1:
        return None
    refined = minimize_scalar(
        lambda room: -max(found(room)[0], -1e300),
        bounds=(tried[best + 1], tried[best - 1] if best else -1e-3),
        method="bounded",
        options={"xatol": 1e-3},
    )
    value, point = found(float(refined.x))
    return with_threshold(first), point, value


def height(rows: Rows, family: Family, point: Floats) -> float:
    """Log-likelihood of rows without looks at coordinates `point`."""
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    lived = np.where(between, rows.since, rows.age)
    with np.errstate(all="ignore"):
        value = family.log_survival(lived, point) - family.log_survival(rows.entry, point)
        value[exact] = family.log_density(rows.age[exact], point) - family.log_survival(
            rows.entry[exact], point
        )
        step = family.log_survival(rows.age[between], point) - family.log_survival(
            rows.since[between], point
        )
        value[between] += np.log(-np.expm1(step))
    return float(value @ rows.weight)


def _climbed(rows: Rows, family: Family, start: Floats) -> tuple[Family, Floats, float] | None:
    """The highest point found from `start`."""
    from scipy.optimize import minimize

    def misfit(point: Floats) -> float:
        if np.abs(point - start).max() > 15:
            return 1e300
        value = height(rows, family, point)
        return -value if math.isfinite(value) else 1e300

    best = minimize(
        misfit,
        start,
        method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 4000},
    )
    if not best.success or np.abs(best.x - start).max() > 12:
        return None
    return family, best.x, -float(best.fun)
