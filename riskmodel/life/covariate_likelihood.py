"""The likelihood of an accelerated failure time model and where it is greatest.

ln scale of a part with terms x is ln scale + x'g, with one shape b for all parts, so that
exp(x'g) is the factor on life (Meeker & Escobar, Statistical Methods for Reliability Data,
chapter 17). Worked in theta = (b, mu, d) with ln H(t) = mu + x'd + b ln(t / reference), hence
d = -b g: as without covariates, the log-likelihood of exact, interval and right-censored
records watched from new is concave in theta (see `terms`). Fixing a factor, the shape or the
scale is a linear restriction on theta, so one maximiser serves fits, tests and profiles.

The visible lead V of a removed part is usage and is not rescaled: a part under hard use has a
shorter life, but its distress shows as much usage before the end. Each pattern's likelihood
is simply that of its own records at its own scale, so nothing else needs a decision.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.covariate_design import Design
from riskmodel.life.maximum import FLATTEST, LOST, STARTS, STEEPEST, maximise

Floats = NDArray[np.float64]

STEEP = (
    "Within the groups that the covariate columns set apart, the failures come at so few ages that "
    "the fit keeps improving as the shape grows without limit: there is no best-fitting curve with "
    "these columns."
)
FLAT = (
    "Within the groups that the covariate columns set apart, the failures do not gather late in "
    "life, and the fit keeps improving as the shape falls towards 0: there is no best-fitting "
    "curve with these columns."
)


@dataclass(frozen=True, slots=True)
class Restriction:
    """theta = offset + basis @ phi, where phi is theta[free]."""

    free: tuple[int, ...]
    offset: Floats
    basis: Floats

    def theta(self, phi: Floats) -> Floats:
        return np.asarray(self.offset + self.basis @ phi)


@dataclass(frozen=True, slots=True)
class Point:
    """The log-likelihood at theta, with its derivatives."""

    theta: Floats
    value: float
    gradient: Floats
    hessian: Floats


class Accelerated:
    """The log-likelihood of records by pattern of covariates, as a function of theta."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.size = design.patterns.shape[1] + 2
        self.reference = design.pooled.reference
        # (b, mu) of a group, whose reference is its own greatest age, is maps[group] @ theta
        self._maps = np.zeros((len(design.groups), 2, self.size))
        self._maps[:, 0, 0] = self._maps[:, 1, 1] = 1.0
        self._maps[:, 1, 0] = np.log([g.reference / self.reference for g in design.groups])
        self._maps[:, 1, 2:] = design.patterns

    @property
    def concave(self) -> bool:
        """One maximum at most: no late entry, no look."""
        pooled = self.design.pooled
        return not pooled.exposure.late and len(pooled.looks) == 0

    def at(self, theta: Floats) -> Point:
        """Value, gradient and Hessian at `theta`."""
        nodes = (self._maps @ theta).tolist()
        jets = [group.jet(b, mu) for group, (b, mu) in zip(self.design.groups, nodes, strict=True)]
        slopes = np.array([[jet.b, jet.mu] for jet in jets])
        curves = np.array([[[jet.bb, jet.bmu], [jet.bmu, jet.mumu]] for jet in jets])
        return Point(
            theta,
            math.fsum(jet.value for jet in jets),
            np.einsum("gi,git->t", slopes, self._maps),
            np.einsum("gis,gij,gjt->st", self._maps, curves, self._maps),
        )

    def stride(self, move: Floats) -> float:
        """How far `move` in theta takes ln H at the greatest age of any group."""
        return float(np.abs(self._maps[:, 1] @ move).max())

    def restricted(self, absent: Sequence[int] = ()) -> Restriction:
        """The terms `absent`, counted from 0, have no effect."""
        free = [0, 1, *(2 + i for i in range(self.size - 2) if i not in absent)]
        return Restriction(tuple(free), np.zeros(self.size), np.eye(self.size)[:, free])

    def best(self, restriction: Restriction, near: Floats | None = None) -> Point | str:
        """The maximum, shape and scale being free, or why there is none.

        The search starts at `near` if given; where there may be several maxima, at the best
        curve without covariates and at other shapes too, and the highest is kept.
        """
        starts = [] if near is None else [near]
        if near is None or not self.concave:
            pooled = maximise(self.design.pooled)
            if isinstance(pooled, str):
                return pooled
            starts.append(self._start(pooled.b, pooled.mu))
        if near is None and not self.concave:
            log_lived = self.design.pooled.exposure.log(np.array(STARTS))
            mu = math.log(max(self.design.pooled.failures, 0.5)) - log_lived
            starts += map(self._start, STARTS, mu.tolist())
        found = [climb(self, restriction, start) for start in starts]
        settled = [point for point, trouble in found if trouble is None]
        if settled:
            return max(settled, key=lambda point: point.value)
        return next(trouble for _, trouble in found if trouble is not None)

    def _start(self, b: float, mu: float) -> Floats:
        return np.array([b, mu, *np.zeros(self.size - 2)])


def climb(
    model: Accelerated, restriction: Restriction, start: Floats, precision: float = 1e-13
) -> tuple[Point, str | None]:
    """The highest point that damped Newton steps reach from `start`, and what went wrong.

    They end where the next would gain less than half of `precision`.
    """
    shape_free = 0 in restriction.free
    phi = start[list(restriction.free)]
    here = model.at(restriction.theta(phi))
    for _ in range(100):
        step, gain = _step(here, restriction)
        if gain < precision * max(1.0, abs(here.value) * 1e-3):
            return here, None
        length = min(1.0, 10.0 / max(model.stride(restriction.basis @ step), 1e-9))
        if shape_free:
            b, db = float(phi[0]), float(step[0])
            length = min(length, 0.75 * b / -db if db < 0 else 3 * b / db if db > 0 else 1.0)
        for _ in range(60):
            after = model.at(restriction.theta(phi + length * step))
            if math.isfinite(after.value) and after.value > here.value:
                break
            length /= 3
        else:
            # rounding hides the last of the ascent
            return here, None if gain < 1e-7 else LOST
        phi, here = phi + length * step, after
        if shape_free and not FLATTEST < here.theta[0] < STEEPEST:
            return here, STEEP if here.theta[0] > 1 else FLAT
    return here, LOST


def _step(here: Point, restriction: Restriction) -> tuple[Floats, float]:
    """The Newton step in phi, uphill whatever the curvature, and twice what it should gain."""
    slope = restriction.basis.T @ here.gradient
    curve = restriction.basis.T @ here.hessian @ restriction.basis
    if not (np.isfinite(slope).all() and np.isfinite(curve).all()):
        return np.zeros(len(slope)), 0.0
    values, axes = np.linalg.eigh(curve)
    bend = np.maximum(np.abs(values), 1e-13 * max(1.0, float(np.abs(values).max())))
    along = axes.T @ slope
    return np.asarray(axes @ (along / bend)), float(along @ (along / bend))
