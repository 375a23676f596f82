"""The effects of covariates integrated out, at given shape and B50 of one engine.

Given shape b and y = ln B50 of the engine, the effects g have a density that is nearly
normal: prior times likelihood, log-concave but for looks at removed parts. Newton's method
finds its mode. Its integral is taken by Laplace's method, good enough to lay a grid over
(b, y), and then by quadrature about the mode, along axes stretched until the density falls
alike on both sides (as do Rue, Martino & Chopin 2009, JRSS B 71, 319-392).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from riskmodel.life.covariate_design import Design
from riskmodel.life.covariate_table import Tables
from riskmodel.life.weibull import LN2
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

PROBE = 1.5
"""Standard deviations from the mode at which a density's skewness is measured."""

HOPELESS = 1e11
"""Hazard lived through, per failure, at which nothing need be told apart any more."""

BLOCK = 1 << 16
"""Numbers worked on at once: they stay in the processor's cache."""

DRAWS = 128
"""Points over three or more effects."""


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed before the records.

    g is normal about 0 with the given `precision` (p, p); the population's ln B50 is normal
    with mean and standard deviation `b50` or, where that is None, may be anywhere.
    """

    precision: Floats
    b50: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Mode:
    """The most likely g (K, p) at K nodes, the curvature there and Laplace's ln integral."""

    g: Floats
    precision: Floats
    log_integral: Floats


class Effects:
    """ln density of (y, g) at shapes `b` (M,), up to a constant at each.

    `here` (p,) are the terms of the engine whose ln B50 is y; a part of pattern x has
    y + (x - here)'g. Nodes are given by the row of their shape in `b` and their y.
    """

    def __init__(
        self, design: Design, here: Floats, belief: Belief, lead: Quantity | None, b: Floats
    ) -> None:
        groups = design.groups
        self._b, self._belief = b, belief
        self._away = design.patterns - here
        self._mean_away = design.mean - here
        self._log_reference = np.log([group.reference for group in groups])
        self._exact = np.array([group.exact for group in groups])
        self._log_exposure = np.array([group.exposure.log(b) for group in groups]).T
        spread = sum(group.exact * group.mean_x for group in groups if group.exact > 0)
        self._level = self._exact.sum() * np.log(b) + b * spread
        # groups with terms that are dear to work out, and these
        dear = [j for j, each in enumerate(groups) if len(each.intervals) or len(each.looks)]
        self._tables = Tables([groups[j] for j in dear], lead, b) if dear else None
        self._dear = slice(None) if len(dear) == len(groups) else np.array(dear)
        self._products = np.einsum("gi,gj->gij", self._away, self._away)

    def log(self, row: Ints, y: Floats, g: Floats) -> Floats:
        """ln density (K, R) at nodes `row`, `y` (K,) and `g` (K, R, p)."""
        size = max(1, BLOCK // max(1, g.shape[1] * len(self._exact)))
        value = np.empty(g.shape[:2])
        for start in range(0, len(row), size):
            part = slice(start, start + size)
            mu = self._mu(row[part], y[part], g[part])
            value[part] = self._records(row[part], mu) + self._prior(y[part], g[part])
        return value

    def mode(self, row: Ints, y: Floats, near: Mode | None = None) -> Mode:
        """Where g is most likely at nodes `row`, `y` (K,), looked for from `near` if given."""
        count, p = len(row), self._away.shape[1]
        g = np.zeros((count, p)) if near is None else near.g.copy()
        precision = np.empty((count, p, p))
        todo = np.arange(count)
        for _ in range(40):
            slope, precision[todo] = self._derivatives(row[todo], y[todo], g[todo])
            step = np.linalg.solve(precision[todo], slope[:, :, None])[:, :, 0]
            gain = (slope * step).sum(axis=1)
            # far below its best, e^mu is too curved for a full step
            stride = self._b[row[todo]] * np.abs(step @ self._away.T).max(axis=1, initial=0.0)
            g[todo] += step * np.minimum(1.0, 3.0 / np.maximum(stride, 1e-9))[:, None]
            todo = todo[gain > 1e-9]
            if len(todo) == 0:
                break
        height = self.log(row, y, g[:, None, :])[:, 0]
        return Mode(g, precision, height - np.linalg.slogdet(precision)[1] / 2)

    def spread_about(self, mode: Mode, row: Ints, y: Floats) -> tuple[Floats, Floats]:
        """Points g (K, R, p) and ln weights (K, R), such that the integral of density times
        any f is the sum of weight times f, up to the constant that Laplace's method leaves out.
        """
        u, log_weight = _rule(mode.g.shape[1])
        # columns of a matrix A with A A' the inverse of the precision
        lower = np.linalg.cholesky(mode.precision)
        axes = np.linalg.inv(lower).transpose(0, 2, 1)
        probes = PROBE * np.concatenate([axes, -axes], axis=2).transpose(0, 2, 1)
        fallen = self.log(row, y, mode.g[:, None, :]) - self.log(
            row, y, mode.g[:, None, :] + probes
        )
        # where the density has fallen as a normal one does at PROBE, on either side
        reach = np.clip(PROBE / np.sqrt(2 * np.maximum(fallen, 0.05)), 0.5, 2.5)
        right, left = np.split(reach, 2, axis=1)
        bend = np.log(right / left) / PROBE
        bend = np.where(np.abs(bend) < 1e-6, 1e-6, bend)
        size = right * PROBE * bend / np.expm1(bend * PROBE)
        grown = bend[:, None, :] * u
        z = size[:, None, :] * np.expm1(grown) / bend[:, None, :]
        g = mode.g[:, None, :] + z @ axes.transpose(0, 2, 1)
        log_stretch = (np.log(size)[:, None, :] + grown).sum(axis=2)
        log_volume = -np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
        density = self.log(row, y, g)
        constant = mode.g.shape[1] / 2 * math.log(2 * math.pi)
        return g, density + log_stretch + log_volume[:, None] + log_weight - constant

    def _mu(self, row: Ints, y: Floats, g: Floats) -> Floats:
        """ln H of each group at its own reference, (K, R, G)."""
        away = self._log_reference - y[:, None, None] - g @ self._away.T
        return np.asarray(self._b[row, None, None] * away + math.log(LN2))

    def _records(self, row: Ints, mu: Floats) -> Floats:
        """ln likelihood, (K, R)."""
        with np.errstate(over="ignore", under="ignore"):
            lived = np.exp(mu + self._log_exposure[row, None, :])
        value = self._level[row, None] + mu @ self._exact - lived.sum(axis=-1)
        if self._tables is not None:
            value += self._tables.at(row[:, None], mu[:, :, self._dear])
        return np.asarray(value)

    def _prior(self, y: Floats, g: Floats) -> Floats:
        value = -((g @ self._belief.precision) * g).sum(axis=-1) / 2
        if self._belief.b50 is not None:
            centre, spread = self._belief.b50
            value -= ((y[:, None] + g @ self._mean_away - centre) / spread) ** 2 / 2
        return np.asarray(value)

    def _derivatives(self, row: Ints, y: Floats, g: Floats) -> tuple[Floats, Floats]:
        """Slope (K, p) of ln density in g, and precision (K, p, p), made positive."""
        mu = self._mu(row, y, g[:, None, :])[:, 0]
        with np.errstate(over="ignore", under="ignore"):
            lived = np.minimum(np.exp(mu + self._log_exposure[row]), HOPELESS)
        slope, curve = self._exact - lived, lived
        if self._tables is not None:
            first, second = self._tables.slopes(row, mu[:, self._dear])
            slope[:, self._dear] += first
            curve[:, self._dear] = np.maximum(curve[:, self._dear] - second, 0.0)
        b = self._b[row]
        inward = -b[:, None] * (slope @ self._away) - g @ self._belief.precision
        size = self._away.shape[1]
        precision = (b[:, None] ** 2 * (curve @ self._products.reshape(-1, size * size))).reshape(
            -1, size, size
        ) + self._belief.precision
        if self._belief.b50 is not None:
            centre, spread = self._belief.b50
            off = (y + g @ self._mean_away - centre) / spread**2
            inward -= off[:, None] * self._mean_away
            precision += np.multiply.outer(self._mean_away, self._mean_away) / spread**2
        return inward, precision


def _rule(p: int) -> tuple[Floats, Floats]:
    """Points u (R, p) and ln weights (R,) that integrate over u in all of R^p.

    A Gauss-Hermite product over one or two effects; over more, points of Richtmyer's sequence
    (Niederreiter 1992, Random Number Generation and Quasi-Monte Carlo Methods, chapter 3)
    with their mirror images, brought to unit variance.
    """
    if p <= 2:
        nodes, weights = np.polynomial.hermite_e.hermegauss(15 if p < 2 else 9)
        u = np.stack(np.meshgrid(*[nodes] * p, indexing="ij"), axis=-1).reshape(-1, p)
        product = np.stack(np.meshgrid(*[weights] * p, indexing="ij"), axis=-1).reshape(-1, p)
        log_weight = np.log(product / math.sqrt(2 * math.pi)).sum(axis=1)
    else:
        steps = np.sqrt(_primes(p)) % 1
        u = ndtri((np.multiply.outer(np.arange(1, DRAWS // 2 + 1), steps)) % 1)
        u = np.concatenate([u, -u]) / np.sqrt((u**2).mean(axis=0))
        log_weight = np.full(DRAWS, -math.log(DRAWS))
    return u, log_weight + (u**2).sum(axis=1) / 2 + p / 2 * math.log(2 * math.pi)


def _primes(count: int) -> Floats:
    """The first `count` primes."""
    found: list[int] = []
    candidate = 2
    while len(found) < count:
        if all(candidate % prime for prime in found):
            found.append(candidate)
        candidate += 1
    return np.array(found, dtype=float)
