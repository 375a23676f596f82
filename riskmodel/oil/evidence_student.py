"""Chances of intervals under a plain Student t with 4 degrees of freedom, and under a normal.

The t's distribution function is algebraic: with s = t / sqrt(4 + t^2) its upper tail is
(1 - s)^2 (2 + s) / 4 (Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions, vol. 2,
chapter 28, from memory; tested against scipy).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

Floats = NDArray[np.float64]


def student_tail(t: ArrayLike) -> Floats:
    """P(t4 > t), with full relative accuracy far out to the right; any shape."""
    t = np.asarray(t, dtype=float)
    with np.errstate(invalid="ignore", over="ignore"):
        root = np.sqrt(4 + t * t)
        s = np.where(np.isinf(t), np.sign(t), t / root)
        short = np.where(t > 0, 4 / (root * (root + np.abs(t))), 1 - s)  # 1 - s
    return np.asarray(short * short * (2 + s) / 4)


def student_density(t: ArrayLike) -> Floats:
    """Density of t4; any shape."""
    t = np.asarray(t, dtype=float)
    return np.asarray(0.375 * (1 + t * t / 4) ** -2.5)


def student_between(low: ArrayLike, high: ArrayLike) -> Floats:
    """P(low < t4 < high), relatively accurate in both tails; broadcasts."""
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    with np.errstate(invalid="ignore"):
        right = low + high > 0
    return np.asarray(
        student_tail(np.where(right, low, -high)) - student_tail(np.where(right, high, -low))
    )


def normal_between(low: ArrayLike, high: ArrayLike) -> Floats:
    """P(low < z < high) of a standard normal, relatively accurate in both tails; broadcasts."""
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    with np.errstate(invalid="ignore"):
        right = low + high > 0
    return np.asarray(ndtr(np.where(right, -low, high)) - ndtr(np.where(right, -high, low)))


def normal_density(z: ArrayLike) -> Floats:
    """Density of a standard normal; any shape."""
    z = np.asarray(z, dtype=float)
    return np.asarray(np.exp(-z * z / 2) / np.sqrt(2 * np.pi))
