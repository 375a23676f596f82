"""A quantity that may be known exactly or only as a range.

A range `[low, high]` is the central 90 % of a lognormal (a positive quantity) or of a
logit-normal (a share between 0 and 1).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Z90 = 1.6448536269514722
"""Half-width of a central 90 % range in standard deviations of a normal."""


@lru_cache(maxsize=16)
def _hermite(points: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    nodes, weights = np.polynomial.hermite_e.hermegauss(points)
    return nodes, weights / weights.sum()


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its central 90 % range; exact where `low == high`.

    `share` quantities lie between 0 and 1 and spread on the logit scale, all others are
    positive and spread on the log scale. An exact quantity may be 0.
    """

    low: float
    high: float
    share: bool = False

    def __post_init__(self) -> None:
        if not (0 <= self.low <= self.high < math.inf):
            raise ValueError(f"a quantity needs 0 <= low <= high, not [{self.low}, {self.high}]")
        if self.share and self.high > 1:
            raise ValueError(f"a share lies between 0 and 1, not [{self.low}, {self.high}]")
        if self.low < self.high and (self.low == 0 or (self.share and self.high == 1)):
            raise ValueError(
                "a range must stay clear of its limits: only exact values may touch them"
            )

    @property
    def exact(self) -> bool:
        return self.low == self.high

    @property
    def median(self) -> float:
        return self.low if self.exact else float(self.quantile(0.0))

    @property
    def spread(self) -> float:
        """Standard deviation on the log (share: logit) scale."""
        return 0.0 if self.exact else (self._up(self.high) - self._up(self.low)) / (2 * Z90)

    @property
    def mean(self) -> float:
        if self.exact:
            return self.low
        if not self.share:
            return math.exp(self._middle + self.spread**2 / 2)
        values, weights = self.points(31)
        return float(values @ weights)

    def quantile(self, z: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """The value at standard normal deviate `z` (any shape)."""
        z = np.asarray(z, dtype=float)
        if self.exact:
            return np.full(z.shape, self.low)
        y = self._middle + self.spread * z
        return 1 / (1 + np.exp(-y)) if self.share else np.exp(y)

    def points(self, count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Gauss-Hermite nodes and weights (both of length `count`, or 1 where exact)."""
        if self.exact:
            return np.array([self.low]), np.array([1.0])
        nodes, weights = _hermite(count)
        return self.quantile(nodes), weights

    @property
    def _middle(self) -> float:
        return (self._up(self.low) + self._up(self.high)) / 2

    def _up(self, value: float) -> float:
        return math.log(value / (1 - value)) if self.share else math.log(value)


def exactly(value: float, *, share: bool = False) -> Quantity:
    """The quantity known to be `value`."""
    return Quantity(value, value, share)


def scaled(quantity: Quantity, by: float) -> Quantity:
    """The quantity times a number not below 0."""
    return Quantity(by * quantity.low, by * quantity.high)
