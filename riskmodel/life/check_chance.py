"""How likely a count is by chance alone."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, gammainc, gammaln

Floats = NDArray[np.float64]


def poisson_tail(count: int, mean: float) -> float:
    """P(at least `count` events) where `mean` are expected."""
    return float(gammainc(count, mean)) if count > 0 else 1.0


def binomial_tail(count: int, of: int, chance: float) -> float:
    """P(at least `count` of `of`), each with the same chance."""
    return float(betainc(count, of - count + 1, chance)) if count > 0 else 1.0


def hypergeometric_tail(both: int, of: int, first: int, second: int) -> float:
    """P(at most `both` of `second` marks fall on the `first` among `of`), Fisher's exact test."""

    def log_choose(n: int, k: Floats) -> Floats:
        return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1))

    k = np.arange(max(0, first + second - of), both + 1, dtype=float)
    logs = log_choose(first, k) + log_choose(of - first, second - k)
    return float(np.exp(logs - log_choose(of, np.array(float(second)))).sum())
