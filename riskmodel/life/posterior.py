"""What is believed about the Weibull curve once the records are in.

Priors: independent lognormals for the shape and for B50, the life by which half fail. The
posterior is laid out on a deterministic grid, so that every result moves smoothly when an
input does and carries no simulation noise.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.grid import Axis, Line, nodes
from riskmodel.life.likelihood import Likelihood
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

LEAST_STEEP, STEEPEST = 0.05, 50.0
"""Shapes beyond these are not believed (judgement; the bounds of what may be stated)."""


@dataclass(frozen=True, slots=True)
class Curves:
    """Weibull curves and how far each is believed; neighbours are alike.

    `shape`, `scale` (in the records' unit) and `weight` have one axis of the same length;
    the weights sum to 1.
    """

    shape: Floats
    scale: Floats
    weight: Floats

    def __len__(self) -> int:
        return len(self.weight)

    def mean(self, values: Floats) -> Floats:
        """Posterior mean of `values`, whose last axis runs over the curves."""
        return np.asarray(values @ self.weight)


def posterior(
    likelihood: Likelihood | None,
    shape_prior: Quantity,
    b50_prior: Quantity | None,
    survived: tuple[float, float] | None = None,
) -> Curves:
    """Curves weighed by prior times likelihood, about 500 of them.

    `b50_prior` None is flat in the logarithm of B50. `survived` = (entered_at, age) adds one
    part still in service. An exact prior fixes its quantity; with both exact nothing is
    fitted and one curve is returned. Without a likelihood the prior's own curves result.
    Records that stand for more parts than themselves are as sure as `surety_of` says.

    Raises CannotAnswer, naming life.b50_prior, where the records alone leave B50 open.
    """
    if b50_prior is None:
        require_bounds(likelihood, survived)
    outlived = survived is not None and survived[1] > survived[0]
    if likelihood is not None and likelihood.exact and likelihood.exposure.empty and not outlived:
        raise CannotAnswer(
            "every part on record failed at the very age at which it was first watched, and "
            "nothing lived through any usage: under that no curve is too steep"
        )
    if likelihood is not None and likelihood.weighed:
        sure = surety_of(likelihood, shape_prior, b50_prior, survived)
        likelihood = likelihood.blunted(sure)
    first = axis_of(shape_prior)
    second = None if b50_prior is None else axis_of(b50_prior)
    if first.spread == 0 and second is not None and second.spread == 0:
        beta, y, weight = np.array([first.centre]), np.array([second.centre]), np.ones(1)
    else:
        section = _section(likelihood, first, second, survived)
        beta, y, weight = nodes(section, first, second, first_guess(likelihood))
    shape = np.exp(beta)
    some = within_reason(shape)
    shape, y, weight = shape[some], y[some], weight[some] / weight[some].sum()
    return Curves(shape, weibull.scale_of(np.exp(y), 0.5, shape), weight)


def within_reason(shape: Floats) -> NDArray[np.bool_]:
    """Which shapes are believed at all: the far ends of a belief as wide as can be stated reach
    beyond what any life has, and beyond what can be computed."""
    found = (shape >= LEAST_STEEP) & (shape <= STEEPEST)
    return found if found.any() else np.full(shape.shape, True)


def surety_of(
    likelihood: Likelihood,
    shape_prior: Quantity,
    b50_prior: Quantity | None,
    survived: tuple[float, float] | None = None,
) -> float:
    """`Likelihood.surety` at the mean curve of the posterior that takes each weight as seen.

    This engine's own survival enters only where the records alone do not settle a curve. Raises
    CannotAnswer as `posterior`.
    """
    if not likelihood.weighed:
        return 1.0
    alone = None if likelihood.bounds_life_below else survived
    curves = posterior(likelihood.blunted(1.0), shape_prior, b50_prior, alone)
    b = math.exp(float(curves.mean(np.log(curves.shape))))
    scale = math.exp(float(curves.mean(np.log(curves.scale))))
    return likelihood.surety(b, b * math.log(likelihood.reference / scale))


def axis_of(prior: Quantity) -> Axis:
    return Axis(math.log(prior.median), prior.spread)


def require_bounds(likelihood: Likelihood | None, survived: tuple[float, float] | None) -> None:
    """Refuse records that, under a prior flat in ln B50, leave the posterior improper."""
    wanted = "; life.b50_prior, the life by which half fail, is required"
    if likelihood is None:
        raise CannotAnswer(f"there are no records to tell how long the part lasts{wanted}")
    if not likelihood.bounds_life_above:
        reason = "no part on record failed by wear, so nothing sets an upper limit to life"
        if len(likelihood.looks) and likelihood.looks.found_worn:
            reason += " (a look can be wrong: parts that came out worn are not enough)"
        raise CannotAnswer(reason + wanted)
    outlived = survived is not None and survived[1] > survived[0]
    if not likelihood.bounds_life_below and not outlived:
        raise CannotAnswer(
            "no part on record is known to have lived through any usage, so nothing sets a "
            f"lower limit to life{wanted}"
        )


def _section(
    likelihood: Likelihood | None,
    first: Axis,
    second: Axis | None,
    survived: tuple[float, float] | None,
) -> Callable[[Floats], Line]:
    """ln posterior density of (ln shape, ln B50), up to a constant, by sections of shape."""

    def section(beta: Floats) -> Line:
        shape = np.exp(beta)
        level = np.zeros(beta.shape)
        if first.spread > 0:
            level = -(((beta - first.centre) / first.spread) ** 2) / 2
        log = None if likelihood is None else likelihood.section(shape)
        reference = 1.0 if likelihood is None else likelihood.reference
        # ln H(age) = shape (ln age - ln B50) + ln ln 2
        offset = shape[:, None] * math.log(reference) + math.log(weibull.LN2)
        ahead = None
        if survived is not None:
            entered, age = survived
            ahead = weibull.log_hazard_ahead(entered, age - entered, shape, 1.0)[:, None]

        def line(y: Floats) -> Floats:
            value = np.broadcast_to(level[:, None], y.shape)
            if second is not None and second.spread > 0:
                value = value - ((y - second.centre) / second.spread) ** 2 / 2
            if log is not None:
                value = value + log(offset - shape[:, None] * y)
            if ahead is not None:
                log_scale = y - math.log(weibull.LN2) / shape[:, None]
                with np.errstate(over="ignore", under="ignore"):
                    value = value - np.exp(ahead - shape[:, None] * log_scale)
            return value

        return line

    return section


def first_guess(likelihood: Likelihood | None) -> Callable[[Floats], Floats] | None:
    """A first guess of ln B50 at given ln shape, from failures over exposure."""
    if likelihood is None:
        return None
    if likelihood.exposure.empty:  # failures by some age, and no part known to have lived to any
        oldest = math.log(likelihood.reference)
        return lambda beta: np.full(beta.shape, oldest)
    found = max(likelihood.failures, 0.7)

    def start(beta: Floats) -> Floats:
        shape = np.exp(beta)
        log_lived = likelihood.exposure.log(shape)
        log_scale = math.log(likelihood.reference) + (log_lived - math.log(found)) / shape
        return np.asarray(log_scale + np.log(weibull.LN2) / shape)

    return start
