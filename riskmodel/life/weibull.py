"""The two-parameter Weibull distribution, accurate in its far tails.

All functions broadcast their arguments. Ages and scales share one unit; the shape has none.
Powers are taken as exp(shape * log(ratio)) and differences through `expm1` and `log1p`, so
nothing is lost to cancellation for shapes of 0.05 to 50 and ages of 0 to 1e9. What
overflows becomes infinite (a cumulative hazard) or 0 (a survival) without a warning.

Source: Meeker & Escobar, Statistical Methods for Reliability Data, section 4.8.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

LN2 = math.log(2.0)
CANCELS = 1e4
"""Cumulative hazard from which a difference of two is taken with more care."""


def _floats(*values: ArrayLike) -> tuple[Floats, ...]:
    return tuple(np.asarray(value, dtype=float) for value in values)


def log_cumulative_hazard(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """ln H(age) = shape * ln(age / scale); minus infinity at age 0."""
    age, shape, scale = _floats(age, shape, scale)
    with np.errstate(divide="ignore"):
        return np.asarray(shape * (np.log(age) - np.log(scale)))


def cumulative_hazard(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """H(age) = (age / scale)^shape."""
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(np.exp(log_cumulative_hazard(age, shape, scale)))


def log_hazard_ahead(at: ArrayLike, ahead: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """ln[H(at + ahead) - H(at)], exact however small `ahead` is beside `at`."""
    at, ahead, shape, scale = _floats(at, ahead, shape, scale)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore", under="ignore"):
        step = np.log1p(ahead / at)
        if not np.all(at > 0):
            step = np.where(at > 0, step, np.where(ahead > 0, np.inf, 0.0))
        share = np.log(-np.expm1(-shape * step))
        found = shape * (np.log(at + ahead) - np.log(scale)) + share
        return np.asarray(found if np.all(ahead > 0) else np.where(ahead > 0, found, -np.inf))


def hazard_ahead(at: ArrayLike, ahead: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """H(at + ahead) - H(at), the cumulative hazard still to come."""
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(np.exp(log_hazard_ahead(at, ahead, shape, scale)))


def log_survival(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """ln P(T > age)."""
    return np.asarray(-cumulative_hazard(age, shape, scale))


def survival(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """P(T > age)."""
    with np.errstate(under="ignore"):
        return np.asarray(np.exp(-cumulative_hazard(age, shape, scale)))


def failure(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """P(T <= age)."""
    with np.errstate(under="ignore"):
        return np.asarray(-np.expm1(-cumulative_hazard(age, shape, scale)))


def conditional_failure(
    at: ArrayLike, ahead: ArrayLike, shape: ArrayLike, scale: ArrayLike
) -> Floats:
    """P(T <= at + ahead | T > at)."""
    with np.errstate(under="ignore"):
        return np.asarray(-np.expm1(-hazard_ahead(at, ahead, shape, scale)))


def conditional_survival(
    at: ArrayLike, ahead: ArrayLike, shape: ArrayLike, scale: ArrayLike
) -> Floats:
    """P(T > at + ahead | T > at)."""
    with np.errstate(under="ignore"):
        return np.asarray(np.exp(-hazard_ahead(at, ahead, shape, scale)))


def log_hazard(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """ln h(age), the rate of failure per unit of usage among survivors.

    At age 0 it is minus infinity, -ln scale or infinity for a shape above, at or below 1.
    """
    age, shape, scale = _floats(age, shape, scale)
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.where(shape == 1, 0.0, (shape - 1) * (np.log(age) - np.log(scale)))
        return np.asarray(np.log(shape) - np.log(scale) + power)


def hazard(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """h(age), the rate of failure per unit of usage among survivors."""
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(np.exp(log_hazard(age, shape, scale)))


def log_density(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """ln f(age)."""
    hazards = cumulative_hazard(age, shape, scale)
    with np.errstate(invalid="ignore"):
        value = log_hazard(age, shape, scale) - hazards
    return np.where(np.isposinf(hazards), -np.inf, value)


def density(age: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """f(age), per unit of usage."""
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(np.exp(log_density(age, shape, scale)))


def density_ahead(at: ArrayLike, ahead: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """f(at + ahead) / S(at), the density of failures ahead among those that survived to `at`."""
    at, ahead, shape, scale = _floats(at, ahead, shape, scale)
    past = cumulative_hazard(at, shape, scale)
    if past.max(initial=0.0) > CANCELS:
        alive = conditional_survival(at, ahead, shape, scale)
        with np.errstate(invalid="ignore"):
            return np.where(alive > 0, hazard(at + ahead, shape, scale) * alive, 0.0)
    age = at + ahead
    with np.errstate(divide="ignore", invalid="ignore", over="ignore", under="ignore"):
        log = shape * (np.log(age) - np.log(scale))
        found = shape / age * np.exp(log - np.exp(log) + past)
    if np.all(age > 0):
        return np.asarray(found)
    return np.where(age > 0, found, hazard(age, shape, scale))


def quantile(probability: ArrayLike, shape: ArrayLike, scale: ArrayLike) -> Floats:
    """The age by which a share `probability` has failed: 0.1 gives the B10 life."""
    probability, shape, scale = _floats(probability, shape, scale)
    with np.errstate(divide="ignore", over="ignore", under="ignore"):
        return np.asarray(scale * np.exp(np.log(-np.log1p(-probability)) / shape))


def remaining_quantile(
    probability: ArrayLike, at: ArrayLike, shape: ArrayLike, scale: ArrayLike
) -> Floats:
    """The usage ahead of age `at` within which a share `probability` of survivors fails."""
    probability, at, shape, scale = _floats(probability, at, shape, scale)
    more = -np.log1p(-probability)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore", under="ignore"):
        # (H + more)^(1/b) - H^(1/b), from the larger of the two in the log
        grown = at * np.expm1(
            np.log1p(more * np.exp(-shape * (np.log(at) - np.log(scale)))) / shape
        )
        fresh = scale * np.exp(np.log(more) / shape)
        total = scale * np.exp(np.log(cumulative_hazard(at, shape, scale) + more) / shape)
    return np.where(at > 0, np.where(np.isfinite(grown), grown, total - at), fresh)


def mean(shape: ArrayLike, scale: ArrayLike) -> Floats:
    """E[T] = scale * Gamma(1 + 1/shape)."""
    from scipy.special import gammaln

    shape, scale = _floats(shape, scale)
    with np.errstate(over="ignore"):
        return np.asarray(scale * np.exp(gammaln(1 + 1 / shape)))


def scale_of(life: ArrayLike, probability: float, shape: ArrayLike) -> Floats:
    """The scale of the curve on which a share `probability` has failed by age `life`."""
    life, shape = _floats(life, shape)
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(life * np.exp(-math.log(-math.log1p(-probability)) / shape))
