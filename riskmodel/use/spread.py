"""Fixed sets of evenly spread points, so that a result moves smoothly when an input does."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

Floats = NDArray[np.float64]


def spread_points(count: int, dimensions: int) -> Floats:
    """Evenly spread points of the unit cube, the same at every call; shape (count, dimensions).

    The additive recurrence with powers of the generalised golden ratio.
    """
    root = 2.0
    for _ in range(60):
        root = (1 + root) ** (1 / (dimensions + 1))
    steps = root ** -np.arange(1.0, dimensions + 1)
    return np.asarray((0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0)


def normal_points(count: int, dimensions: int) -> Floats:
    """Standard normal deviates from `spread_points`, each with its mirror image and turned so that
    all are uncorrelated: odd and second moments are exact; shape (2 count, dimensions)."""
    z = ndtri(spread_points(count, dimensions))
    lower = np.linalg.cholesky(z.T @ z / count)
    z = np.linalg.solve(lower, z.T).T
    return np.asarray(np.concatenate([z, -z]))


def even_grid(step: float, reach: float) -> tuple[Floats, Floats]:
    """Standard normal deviates from -reach to reach by `step`, and their weights; (points,) each.

    For smooth functions the trapezoid rule on the line converges faster than any power of the
    step (Trefethen & Weideman 2014, SIAM Review 56, 385-458), and its even ranks suit quantiles.
    """
    half = round(reach / step)
    z = step * np.arange(-half, half + 1)
    weight = np.exp(-(z**2) / 2)
    return np.asarray(z), np.asarray(weight / weight.sum())


def gauss_hermite(count: int) -> tuple[Floats, Floats]:
    """Standard normal deviates and weights that are exact for polynomials up to degree
    2 count - 1; (count,) each."""
    z, weight = np.polynomial.hermite_e.hermegauss(count)
    return z, weight / weight.sum()
