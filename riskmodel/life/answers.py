"""A prior from two answers: "by what age would so many of such parts have failed?"."""

from __future__ import annotations

import math
from dataclasses import dataclass

from riskmodel.life import weibull
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Z90, Quantity

WIDER = 1.3
"""How much ranges are widened on the log scale.

People who named ranges to hold the truth 80 % of the time were right 68.1 % of the time
(Speirs-Bridge et al. 2010, Risk Analysis 30(3)): on a normal scale 1.28 against 0.997
standard deviations, a factor of 1.29.
"""

LOOSE = 1.3
"""An age answered without a range is taken as [age / 1.3, age * 1.3] (judgement)."""


@dataclass(frozen=True, slots=True)
class Answers:
    """The curve through two answers, and the prior for shape and B50 around it."""

    shape: float
    scale: float
    shape_prior: Quantity
    b50_prior: Quantity

    def age_by(self, share: float) -> float:
        """The age by which `share` has failed on the curve: to hold against a third answer."""
        return float(weibull.quantile(share, self.shape, self.scale))


def prior_from_answers(
    share1: float, age1: float | Quantity, share2: float, age2: float | Quantity
) -> Answers:
    """The prior of someone who expects `share1` failed by `age1` and `share2` by `age2`.

    Through the medians goes one Weibull curve, shape = ln[L(share2) / L(share1)] /
    ln(age2 / age1) and scale = age1 / L(share1)^(1/shape) with L(p) = -ln(1 - p). Each age
    may be a range (its central 90 %); independent errors of both, WIDER than stated, are
    carried through to the shape (by its linear term) and to B50 (exactly).

    Raises CannotAnswer where the answers do not rise together.
    """
    if not (0 < share1 < share2 < 1):
        raise CannotAnswer(
            f"the second share must be larger than the first, both between 0 and 1, not "
            f"{share1:g} and {share2:g}"
        )
    first, second = _ranged(age1), _ranged(age2)
    if not 0 < first.median < second.median:
        raise CannotAnswer(
            f"the larger share must come at the greater age, not at {second.median:g} after "
            f"{first.median:g}"
        )
    level1, level2, half = (math.log(-math.log1p(-p)) for p in (share1, share2, 0.5))
    log1, log2 = math.log(first.median), math.log(second.median)
    shape = (level2 - level1) / (log2 - log1)
    scale = math.exp(log1 - level1 / shape)
    along = (half - level1) / (level2 - level1)
    log_b50 = log1 + along * (log2 - log1)
    shape_spread = math.hypot(first.spread, second.spread) / (log2 - log1)
    b50_spread = math.hypot((1 - along) * first.spread, along * second.spread)
    return Answers(
        shape,
        scale,
        _about(math.log(shape), WIDER * shape_spread),
        _about(log_b50, WIDER * b50_spread),
    )


def _ranged(age: float | Quantity) -> Quantity:
    if isinstance(age, Quantity):
        return age
    return Quantity(age / LOOSE, age * LOOSE)


def _about(centre: float, spread: float) -> Quantity:
    return Quantity(math.exp(centre - Z90 * spread), math.exp(centre + Z90 * spread))
