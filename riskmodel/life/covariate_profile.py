"""Likelihood-ratio (profile) intervals in an accelerated failure time model.

The interval of a figure holds every value at which the log-likelihood, greatest over
everything else, is within half a chi-squared quantile of the maximum (Meeker & Escobar,
Statistical Methods for Reliability Data, section 8.3). It does not change when a figure is
expressed otherwise, and it stays open where the records set no end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.covariate_likelihood import Accelerated, Point, Restriction, climb
from riskmodel.life.profile import HALF_CHI2, Estimate

Floats = NDArray[np.float64]

HALF_CHI2_90 = 1.3527717270477061
"""Half the 90 % quantile of chi-squared with one degree of freedom."""

FAR = 12.0
"""An end is looked for up to this far on the log scale: a factor of 160,000."""

LOOSE = 30.0
"""A figure whose logarithm has a larger standard deviation than this is open on one side: that
of a factor is 1 or 2 over the shape at a level with one failure, thousands with none."""


class Figure(Protocol):
    """The logarithm of a figure, as a function of theta."""

    def value(self, theta: Floats) -> float:
        """Its value."""
        ...

    def slope(self, theta: Floats) -> Floats:
        """Its derivatives in theta."""
        ...

    def fixed(self, psi: float, kept: Restriction) -> Restriction:
        """`kept`, with the figure held at `psi` besides."""
        ...

    def moved(self, theta: Floats) -> Floats:
        """d theta / d psi, whatever is free being held."""
        ...


@dataclass(frozen=True, slots=True)
class Factor:
    """ln factor on life of term `index`, which is -d / b."""

    index: int

    def value(self, theta: Floats) -> float:
        return float(-theta[2 + self.index] / theta[0])

    def slope(self, theta: Floats) -> Floats:
        slope = np.zeros(len(theta))
        slope[0] = theta[2 + self.index] / theta[0] ** 2
        slope[2 + self.index] = -1 / theta[0]
        return slope

    def fixed(self, psi: float, kept: Restriction) -> Restriction:
        return _tied(kept, 2 + self.index, -psi)

    def moved(self, theta: Floats) -> Floats:
        return _unit(theta, 2 + self.index, -theta[0])


@dataclass(frozen=True, slots=True)
class Scale:
    """ln scale of a part all of whose terms are 0, which is ln reference - mu / b."""

    reference: float

    def value(self, theta: Floats) -> float:
        return float(math.log(self.reference) - theta[1] / theta[0])

    def slope(self, theta: Floats) -> Floats:
        slope = np.zeros(len(theta))
        slope[0], slope[1] = theta[1] / theta[0] ** 2, -1 / theta[0]
        return slope

    def fixed(self, psi: float, kept: Restriction) -> Restriction:
        return _tied(kept, 1, math.log(self.reference) - psi)

    def moved(self, theta: Floats) -> Floats:
        return _unit(theta, 1, -theta[0])


@dataclass(frozen=True, slots=True)
class Shape:
    """ln b."""

    def value(self, theta: Floats) -> float:
        return math.log(theta[0])

    def slope(self, theta: Floats) -> Floats:
        return _unit(theta, 0, 1 / theta[0])

    def fixed(self, psi: float, kept: Restriction) -> Restriction:
        free = kept.free[1:]
        offset = kept.offset.copy()
        offset[0] = math.exp(psi)
        return Restriction(free, offset, kept.basis[:, 1:])

    def moved(self, theta: Floats) -> Floats:
        return _unit(theta, 0, theta[0])


def _unit(theta: Floats, position: int, length: float) -> Floats:
    vector = np.zeros(len(theta))
    vector[position] = length
    return vector


def _tied(kept: Restriction, position: int, ratio: float) -> Restriction:
    """`kept`, with theta[position] held at `ratio` times the shape."""
    column = kept.free.index(position)
    basis = np.delete(kept.basis, column, axis=1)
    basis[position, 0] = ratio
    return Restriction(tuple(i for i in kept.free if i != position), kept.offset, basis)


def interval(
    model: Accelerated,
    kept: Restriction,
    top: Point,
    figure: Figure,
    half: float = HALF_CHI2,
) -> Estimate:
    """The figure at the maximum and the ends of its interval, all exponentiated.

    Where the likelihood keeps rising as the figure does, or as it falls, the estimate is None
    and so is that end.
    """
    path = Profile(model, kept, top, figure)
    low, high = (path.end(side, half) for side in (-1.0, 1.0))
    return Estimate(
        None if path.loose else math.exp(path.best),
        None if low is None else math.exp(low),
        None if high is None else math.exp(high),
    )


class Profile:
    """The profile of a figure, psi: the best points at given psi, and how high they lie."""

    def __init__(self, model: Accelerated, kept: Restriction, top: Point, figure: Figure) -> None:
        self._model, self._kept, self._top, self._figure = model, kept, top, figure
        self.best = figure.value(top.theta)
        # where psi moves, the best point moves along the covariance of theta with psi
        values, axes = np.linalg.eigh(-kept.basis.T @ top.hessian @ kept.basis)
        along = axes.T @ (kept.basis.T @ figure.slope(top.theta))
        covariance = kept.basis @ (axes @ (along / np.maximum(values, 1e-12)))
        variance = float(along @ (along / np.maximum(values, 1e-12)))
        self._spread = math.sqrt(variance)
        self._direction = covariance / variance

    @property
    def loose(self) -> bool:
        """The maximum says next to nothing of how large, or how small, the figure is."""
        return self._spread > LOOSE

    def at(self, psi: float) -> Point:
        """The highest point at which the figure is `psi`."""
        distance = psi - self.best
        start = self._top.theta + distance * self._direction
        start[0] = max(start[0], 0.3 * self._top.theta[0])
        found, _ = climb(self._model, self._figure.fixed(psi, self._kept), start, 1e-10)
        if abs(distance) > 0.05 * self._spread:  # the next starts from how this one turned out
            self._direction = (found.theta - self._top.theta) / distance
        return found

    def end(self, side: float, half: float) -> float | None:
        """Where the profile has fallen by `half` on one side; None if it never does.

        Newton's method on the signed root of the likelihood ratio, nearly a straight line.
        """
        z = math.sqrt(2 * half)
        inside, outside = 0.0, math.inf
        distance = min(z * self._spread, 2.0)
        for _ in range(100):
            point = self.at(self.best + side * distance)
            root = math.sqrt(2 * max(self._top.value - point.value, 0.0))
            if abs(root - z) < 1e-7:
                break
            if root < z:
                inside = distance
            else:
                outside = distance
            if inside > FAR:
                return None
            slope = (
                -side * float(point.gradient @ self._figure.moved(point.theta)) / root
                if root
                else 0.0
            )
            after = distance - (root - z) / slope if slope > 0 else math.inf
            if not inside < after < outside:
                after = (inside + outside) / 2 if outside < math.inf else 1.6 * distance
            distance = min(after, 3 * distance)
        return self.best + side * distance
