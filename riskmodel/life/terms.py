"""The two kinds of sum that a Weibull log-likelihood is made of.

Written in the coordinates (b, mu): ln H(t) = mu + b ln(t / reference), so that b is the
shape and mu = -b ln(scale / reference). In them the log-likelihood of exact, interval and
right-censored records is concave, which makes Newton's method safe and a maximum unique
(log-concavity of the smallest-extreme-value distribution: Burridge 1981, JRSS B 43, 41-45).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CHUNK = 1 << 20
"""Numbers held at once when rows meet nodes: 8 MB an array, whatever the file's length."""

TINY = -36.0
"""Below this ln x, 1 - exp(-x) is x to the last bit."""


def exp(x: float) -> float:
    """e^x; infinite where that is too large to hold."""
    return math.exp(x) if x < 709.0 else math.inf


@dataclass(frozen=True, slots=True)
class Jet:
    """A value with its first and second derivatives in (b, mu)."""

    value: float
    b: float = 0.0
    mu: float = 0.0
    bb: float = 0.0
    bmu: float = 0.0
    mumu: float = 0.0

    def __add__(self, other: Jet) -> Jet:
        return Jet(
            self.value + other.value,
            self.b + other.b,
            self.mu + other.mu,
            self.bb + other.bb,
            self.bmu + other.bmu,
            self.mumu + other.mumu,
        )


def distinct(weight: Floats, *columns: Floats) -> tuple[Floats, ...]:
    """(weight, *columns) with equal rows made one, their weights added; sorted by column."""
    if len(weight) == 0:
        return (weight, *columns)
    order = np.lexsort(columns[::-1]) if len(columns) > 1 else np.argsort(columns[0])
    columns = tuple(column[order] for column in columns)
    new = np.zeros(len(weight), dtype=bool)
    new[0] = True
    for column in columns:
        new[1:] |= column[1:] != column[:-1]
    starts = np.flatnonzero(new)
    return (np.add.reduceat(weight[order], starts), *(column[starts] for column in columns))


def _log_ratio(small: Floats, large: Floats) -> Floats:
    """ln(small / large) to the last digits, however near or far; minus infinity at 0."""
    with np.errstate(divide="ignore"):
        far = np.log(small) - np.log(large)
        near = np.log1p(np.maximum((small - large) / large, -0.5))
    return np.where(small < large / 2, far, near)


MANY = 4096
"""Terms beyond which a sum of powers is held as moments."""

CELL, ORDER = 1 / 16, 11
"""Width of a cell in x, and powers of the distance from its middle that are kept ..."""

STEEP = 10.0
"""... which up to this shape leaves an error of 2e-15 of any term, 3e-12 of its derivatives."""


class Powers:
    """S(b) = sum of weight * exp(b x), x <= 0, with its derivatives.

    Few terms are summed one by one, equal ones together. Of many, e^(b x) is expanded about
    the middle of the cell of width CELL in which x lies, so that the cost no longer hangs on
    how many there are: once the moments of the cells are known, the terms are needed only
    for shapes beyond STEEP.
    """

    def __init__(self, weight: Floats, age: Floats, greatest: float) -> None:
        self._cells = None
        if len(age) <= MANY:
            weight, age = distinct(weight, age)
        self._weight, self._x = weight, np.log(age / greatest)
        if len(age) > MANY:
            cell = np.floor(self._x * (1 / CELL)).astype(np.int64)
            first = int(cell.min())
            cell -= first
            away = self._x - (first + cell + 0.5) * CELL
            size = int(cell.max()) + 1
            term, moments = weight.copy(), np.empty((ORDER + 1, size))
            for k in range(ORDER + 1):
                if k:
                    term *= away
                    term /= k
                moments[k] = np.bincount(cell, term, size)
            filled = np.flatnonzero(np.bincount(cell, minlength=size))
            self._cells = (first + filled + 0.5) * CELL, moments[:, filled]

    def __len__(self) -> int:
        return len(self._x)

    def sums(self, b: Floats) -> Floats:
        """S at each of the shapes `b`, an array of one axis."""
        total = np.zeros(len(b))
        if self._cells is not None:
            middle, moments = self._cells
            few = b <= STEEP
            power = np.vander(b[few], ORDER + 1, increasing=True)
            total[few] = (np.exp(np.multiply.outer(b[few], middle)) * (power @ moments)).sum(axis=1)
            if not few.all():
                total[~few] = self._one_by_one(b[~few])
            return total
        return self._one_by_one(b)

    def _one_by_one(self, b: Floats) -> Floats:
        total = np.zeros(len(b))
        rows = max(1, CHUNK // max(1, len(b)))
        for start in range(0, len(self._x), rows):
            part = slice(start, start + rows)
            total += np.exp(np.multiply.outer(b, self._x[part])) @ self._weight[part]
        return total

    def slopes(self, b: float) -> tuple[float, float, float]:
        """S, S' and S'' at one shape."""
        if self._cells is not None and b <= STEEP:
            middle, moments = self._cells
            power = np.exp(b * middle)
            k = np.arange(1, ORDER + 1)
            bs = b ** np.arange(ORDER + 1)
            # sums of w d^i e^(b d) about the middles, i = 0, 1, 2
            one = (bs[:-1] * k) @ moments[1:]
            two = (bs[:-2] * k[:-1] * k[1:]) @ moments[2:]
            none = bs @ moments
            return (
                float(power @ none),
                float(power @ (middle * none + one)),
                float(power @ (middle * (middle * none + 2 * one) + two)),
            )
        x = self._x
        power = np.exp(b * x)
        power *= self._weight
        zeroth = float(power.sum())
        power *= x
        return zeroth, float(power.sum()), float(power @ x)


class Exposure:
    """D(b) = sum of weight * (x^b - e^b), where x = age / reference and e its entry.

    exp(mu) D(b) is the cumulative hazard that all parts together have lived through. Powers
    are taken of the age over the greatest age in the sum, so that none of it can overflow
    and not all of it underflow.
    """

    def __init__(self, age: Floats, entry: Floats, weight: Floats, reference: float) -> None:
        lived = age > entry
        fresh = lived & (entry == 0)
        late = lived & (entry > 0)
        greatest = float(age[lived].max(initial=0.0)) or 1.0
        self._top = math.log(greatest / reference)
        self._fresh = Powers(weight[fresh], age[fresh], greatest)
        self._late_weight, ages, entries = distinct(weight[late], age[late], entry[late])
        self._late_x = np.log(ages / greatest)
        self._late_gap = _log_ratio(entries, ages)

    @property
    def empty(self) -> bool:
        """Nothing was watched over any usage."""
        return len(self._fresh) + len(self._late_x) == 0

    @property
    def late(self) -> bool:
        """Some part was watched from later than new."""
        return len(self._late_x) > 0

    @property
    def from_new(self) -> bool:
        """Some part was watched from new."""
        return len(self._fresh) > 0

    def log(self, b: Floats) -> Floats:
        """ln D at each of the shapes `b`, an array of one axis; minus infinity if empty."""
        total = self._fresh.sums(b)
        weight, x, gap = self._late_weight, self._late_x, self._late_gap
        rows = max(1, CHUNK // max(1, len(b)))
        for start in range(0, len(x), rows):
            part = slice(start, start + rows)
            power = np.exp(np.multiply.outer(b, x[part]))
            power *= -np.expm1(np.multiply.outer(b, gap[part]))
            total += power @ weight[part]
        with np.errstate(divide="ignore"):
            return np.asarray(b * self._top + np.log(total))

    def slopes(self, b: float) -> tuple[float, float, float]:
        """ln D, D'/D and D''/D at one shape; minus infinity and zeros if empty."""
        if self.empty:
            return -math.inf, 0.0, 0.0
        d0, d1, d2 = self._fresh.slopes(b)
        if self.late:
            x, gap = self._late_x, self._late_gap
            power = np.exp(b * x) * self._late_weight
            lost = np.expm1(b * gap)
            rest = power * (lost + 1)
            power *= -lost
            d0 += float(power.sum())
            d1 += float(power @ x - rest @ gap)
            d2 += float(power @ (x * x) - rest @ (gap * (2 * x + gap)))
        top, slope, curve = self._top, d1 / d0, d2 / d0
        return b * top + math.log(d0), top + slope, curve + 2 * top * slope + top * top


class Intervals:
    """Sum of weight * ln[1 - exp(-(H(age) - H(age_from)))]: failures between two ages."""

    def __init__(self, age: Floats, age_from: Floats, weight: Floats, reference: float) -> None:
        self._weight, ages, froms = distinct(weight, age, age_from)
        self._x = np.log(ages / reference)
        self._gap = _log_ratio(froms, ages)
        self._gap_finite = np.where(np.isfinite(self._gap), self._gap, 0.0)

    def __len__(self) -> int:
        return len(self._x)

    def log(self, b: Floats, mu: Floats) -> Floats:
        """At nodes (b[i], mu[i, j]): `b` has one axis, `mu` and the result two."""
        total = np.zeros(mu.shape)
        rows = max(1, CHUNK // mu.size)
        for start in range(0, len(self._x), rows):
            part = slice(start, start + rows)
            with np.errstate(divide="ignore", over="ignore", under="ignore"):
                base = np.log(-np.expm1(np.multiply.outer(b, self._gap[part])))
                base += np.multiply.outer(b, self._x[part])
                ahead = base[:, None, :] + mu[:, :, None]
                value = np.log(-np.expm1(-np.exp(ahead)))
            total += np.where(ahead < TINY, ahead, value) @ self._weight[part]
        return total

    def derivatives(self, b: float, mu: float) -> Jet:
        """The same at one node, with its derivatives."""
        x, gap, weight = self._x, self._gap_finite, self._weight
        with np.errstate(divide="ignore", over="ignore", under="ignore", invalid="ignore"):
            lost = np.expm1(b * self._gap)  # H(age_from) / H(age) - 1
            log_ahead = mu + b * x + np.log(-lost)
            ahead = np.exp(log_ahead)
            failed = -np.expm1(-ahead)
            value = np.where(log_ahead < TINY, log_ahead, np.log(failed))
            # p = d value / d ahead, in products that stay finite as ahead -> 0 or infinity
            p_ahead = np.where(log_ahead < TINY, 1.0, ahead * (1 - failed) / failed)
            p_ahead = np.where(np.isfinite(ahead), p_ahead, 0.0)
            # ahead_b / ahead = x - gap * rest / (1 - rest), rest = 1 + lost
            pull = gap * (lost + 1) / lost
            slope = x + pull
            curve = x * slope + pull * (x + gap)
        p_second = p_ahead * np.where(np.isfinite(ahead), ahead, 0.0) + p_ahead**2
        mumu = p_ahead - p_second
        return Jet(
            float(value @ weight),
            float((p_ahead * slope) @ weight),
            float(p_ahead @ weight),
            float((p_ahead * curve - p_second * slope**2) @ weight),
            float((mumu * slope) @ weight),
            float(mumu @ weight),
        )
