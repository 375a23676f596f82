"""Likelihood-ratio (profile) intervals of figures read off a fitted curve.

The interval of a figure holds every value that it takes on some curve whose log-likelihood
is within half the chi-squared quantile of the maximum (Meeker & Escobar, Statistical
Methods for Reliability Data, section 8.3). Its ends are found by Newton's method on the two
equations that hold there (Venzon & Moolgavkar 1988, Applied Statistics 37, 87-94), and
where that does not settle, by searching the profile itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum
from riskmodel.life.terms import Jet, exp

Floats = NDArray[np.float64]

HALF_CHI2 = 1.9207294103470619
"""Half the 95 % quantile of chi-squared with one degree of freedom."""

FARTHEST = 100.0
"""How far, on the log scale, an end is looked for before it counts as missing."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its 95 % interval; an end that does not exist is None."""

    estimate: float | None
    low: float | None
    high: float | None


class Figure(Protocol):
    """The logarithm of a figure as a function of the node (b, mu)."""

    def jet(self, b: float, mu: float) -> Jet:
        """Its value and derivatives."""
        ...

    def along(self, psi: float, u: Floats, top: Maximum) -> tuple[Floats, Floats]:
        """Nodes (b, mu) at which it equals `psi`, told apart by `u` (0 near the maximum)."""
        ...


@dataclass(frozen=True, slots=True)
class Shape:
    """The shape itself."""

    def jet(self, b: float, mu: float) -> Jet:
        return Jet(math.log(b), b=1 / b, bb=-1 / b**2)

    def along(self, psi: float, u: Floats, top: Maximum) -> tuple[Floats, Floats]:
        return np.full(u.shape, math.exp(psi)), top.mu + 3 * u


@dataclass(frozen=True, slots=True)
class Life:
    """The age by which a share `probability` has failed."""

    probability: float
    reference: float

    @property
    def _level(self) -> float:
        return math.log(-math.log1p(-self.probability))

    def jet(self, b: float, mu: float) -> Jet:
        far = (self._level - mu) / b
        return Jet(
            math.log(self.reference) + far, b=-far / b, mu=-1 / b, bb=2 * far / b**2, bmu=1 / b**2
        )

    def along(self, psi: float, u: Floats, top: Maximum) -> tuple[Floats, Floats]:
        b = top.b * np.exp(u)
        return b, self._level - b * (psi - math.log(self.reference))


@dataclass(frozen=True, slots=True)
class Ahead:
    """The cumulative hazard between ages at and at + ahead."""

    at: float
    ahead: float
    reference: float

    def _base(self, b: Floats) -> Floats:
        """Its logarithm at mu = 0."""
        end = math.log(self.at + self.ahead) - math.log(self.reference)
        return b * end + np.log(-np.expm1(-b * self._step))

    @property
    def _step(self) -> float:
        return math.log1p(self.ahead / self.at) if self.at > 0 else math.inf

    def jet(self, b: float, mu: float) -> Jet:
        value = mu + float(self._base(np.array(b)))
        step, grown = self._step, b * self._step
        slope, curve = 0.0, 0.0
        if grown < 30:
            slope = step / math.expm1(grown)
            curve = -slope * (slope + step)
        end = math.log(self.at + self.ahead) - math.log(self.reference)
        return Jet(value, b=end + slope, mu=1.0, bb=curve)

    def along(self, psi: float, u: Floats, top: Maximum) -> tuple[Floats, Floats]:
        b = top.b * np.exp(u)
        return b, psi - self._base(b)


def interval(likelihood: Likelihood, top: Maximum, figure: Figure) -> Estimate:
    """The figure at the maximum and the ends of its 95 % interval, all exponentiated.

    Where records stand for more parts than themselves a likelihood ratio counts for as much as
    `Likelihood.surety` leaves of it.
    """
    drop = HALF_CHI2 / likelihood.surety(top.b, top.mu)
    low, high = (_end(likelihood, top, figure, side, drop) for side in (-1.0, 1.0))
    best = figure.jet(top.b, top.mu).value
    return Estimate(exp(best), *(None if x is None else exp(x) for x in (low, high)))


def _end(
    likelihood: Likelihood, top: Maximum, figure: Figure, side: float, drop: float
) -> float | None:
    found = _by_newton(likelihood, top, figure, side, drop)
    if found is not None and _may_fork(likelihood):
        # another branch of curves may be as likely still farther out
        beyond = found + side * 0.02 * max(1.0, abs(found - figure.jet(top.b, top.mu).value))
        if _profile(likelihood, top, figure, beyond) > top.jet.value - drop:
            found = None
    return _by_search(likelihood, top, figure, side, drop) if found is None else found


def _may_fork(likelihood: Likelihood) -> bool:
    """Whether the curves within the interval need not hang together.

    They do where the log-likelihood is concave, nearly so with late entry of some parts, and
    with many failures.
    """
    late_only = likelihood.exposure.late and not likelihood.exposure.from_new
    return (late_only or len(likelihood.looks) > 0) and likelihood.failures < 200


def _by_newton(
    likelihood: Likelihood, top: Maximum, figure: Figure, side: float, drop: float
) -> float | None:
    """The end by Newton's method, at one go or else in small steps; None where both fail."""
    best, at = figure.jet(top.b, top.mu), top.jet
    determinant = at.bb * at.mumu - at.bmu**2
    # the direction in which psi gains most for the likelihood that it costs
    db = (at.bmu * best.mu - at.mumu * best.b) / determinant
    dmu = (at.bmu * best.b - at.bb * best.mu) / determinant
    gain = db * best.b + dmu * best.mu
    if not gain > 0:
        return None
    length = side * math.sqrt(2 / gain)
    dx, dmu = length * db / top.b, length * dmu  # taken in ln b, so that b stays positive
    for path in ((1.0,), (0.02, 0.06, 0.12, 0.2, 0.3, 0.42, 0.56, 0.72, 0.86, 1.0)):
        x, mu, reached = dx, dmu, 1.0
        found: tuple[float, float, float] | None = None
        for part in path:
            grow = math.sqrt(part * drop / reached)
            start = top.b * math.exp(min(max(grow * x, -2.0), 2.0)), top.mu + grow * mu
            found = _crossing(likelihood, top, figure, side, part * drop, *start)
            if found is None:
                break
            x, mu, reached = math.log(found[0] / top.b), found[1] - top.mu, part * drop
        if found is not None:
            return found[2]
    return None


def _crossing(
    likelihood: Likelihood,
    top: Maximum,
    figure: Figure,
    side: float,
    drop: float,
    b: float,
    mu: float,
) -> tuple[float, float, float] | None:
    """(b, mu, psi) where psi is extreme among nodes with log-likelihood `drop` below the top.

    There grad L is parallel to grad psi; Newton's method on both equations from (b, mu).
    """
    target, best = top.jet.value - drop, figure.jet(top.b, top.mu).value
    for _ in range(20):
        jet, psi = likelihood.jet(b, mu), figure.jet(b, mu)
        short = jet.value - target
        turn = jet.b * psi.mu - jet.mu * psi.b
        turn_b = jet.bb * psi.mu + jet.b * psi.bmu - jet.bmu * psi.b - jet.mu * psi.bb
        turn_mu = jet.bmu * psi.mu + jet.b * psi.mumu - jet.mumu * psi.b - jet.mu * psi.bmu
        determinant = jet.b * turn_mu - jet.mu * turn_b
        if not (math.isfinite(determinant) and determinant != 0 and math.isfinite(short)):
            return None
        db = -(short * turn_mu - jet.mu * turn) / determinant
        dmu = -(jet.b * turn - short * turn_b) / determinant
        if not (math.isfinite(db) and math.isfinite(dmu)):
            return None
        if abs(db) < 1e-7 * b and abs(dmu) < 1e-7 * (1 + abs(mu)) and abs(short) < 1e-6:
            moved = psi.value + psi.b * db + psi.mu * dmu
            outward = side * (moved - best) > 0
            falling = side * (jet.b * psi.b + jet.mu * psi.mu) < 0
            return (b + db, mu + dmu, moved) if outward and falling else None
        damp = min(1.0, b / abs(db) if db else 1.0, 3 / abs(dmu) if dmu else 1.0)
        b, mu = b * math.exp(damp * db / b), mu + damp * dmu
    return None


def _by_search(
    likelihood: Likelihood, top: Maximum, figure: Figure, side: float, drop: float
) -> float | None:
    """Follow the profile outwards to where it crosses the target; None if it never does."""
    from scipy.optimize import brentq

    best = figure.jet(top.b, top.mu).value
    target = top.jet.value - drop

    def above(distance: float) -> float:
        return _profile(likelihood, top, figure, best + side * distance) - target

    near, far = 0.0, 0.05
    while above(far) > 0:
        near, far = far, 1.6 * far
        if far > FARTHEST:
            return None
    return best + side * float(brentq(above, near, far, xtol=1e-10, rtol=1e-12))


def _profile(likelihood: Likelihood, top: Maximum, figure: Figure, psi: float) -> float:
    """The greatest log-likelihood among curves on which the figure equals `psi`."""
    u = np.linspace(-12.0, 12.0, 121)
    for _ in range(7):
        with np.errstate(over="ignore", under="ignore", invalid="ignore"):
            b, mu = figure.along(psi, u, top)
            heights = likelihood.at(b, mu)
        heights = np.where(np.isnan(heights), -np.inf, heights)
        best = int(np.argmax(heights))
        u = np.linspace(u[max(best - 1, 0)], u[min(best + 1, len(u) - 1)], 25)
    return float(heights[best])
