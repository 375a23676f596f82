"""The chance that this engine's part fails within a usage ahead, given that it lasts today."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import quantiles_of_rows
from riskmodel.life.weibull import conditional_failure

Floats = NDArray[np.float64]

TAIL = 0.05
"""Mass left out at each end of a 90 % credible interval."""


def chance_ahead(
    curves: Curves, age: float | Floats, ahead: Floats
) -> tuple[Floats, Floats, Floats]:
    """P(fail by age + ahead | survived to age): posterior mean, low and high end of the
    90 % credible interval; each of the shape of `ahead` (points,), usage. `age` is one for all, or
    each curve's own (K,)."""
    ahead = np.asarray(ahead, dtype=float)
    chances = conditional_failure(age, ahead[:, None], curves.shape, curves.scale)
    mean = chances @ curves.weight
    ends = quantiles_of_rows(chances, curves.weight, [TAIL, 1 - TAIL])
    return mean, ends[:, 0], ends[:, 1]
