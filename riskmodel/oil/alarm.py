"""The analyst's alarm: one score of a sample's elements, and the chance that it alarms.

The score is z = sum_e w_e (ln r_e - level_e) / sigma'_e over the elements the part sheds. Without
distress it scatters as a sum of plain Student t with 4 degrees of freedom, one for each element and
one for what the elements of a sample share; once distress has begun it is shifted by
sum_e w_e ln m_e / sigma'_e. A sample alarms above the limit
that one without distress passes with probability `false_alarm`.

The distribution of the sum is exact but for rounding: it is read off the product of the
characteristic functions by the inversion formula (Gil-Pelaez 1951, Biometrika 38, 481-482), summed
at mid-points, whose error is no more than the chance of a value beyond half the period (Davies
1973, Biometrika 60, 415-417).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import k0, k1

from riskmodel.records.case import Element

Floats = NDArray[np.float64]

PERIOD = 256.0
"""Period of the inversion sum: its error is about the chance beyond it, under 1e-9."""
POINTS = 2**13
"""Points in one period; between them the tail is a cubic, to 2e-9."""
REACH = 64.0
"""End of the table; beyond it the tail of Student's t with 4 degrees of freedom, z^-4."""


@dataclass(frozen=True, eq=False, slots=True)
class Tail:
    """P(sum_i w_i t4 > z), tabulated: in cell i from the left, a cubic in the place within it.

    `cubic` (4, cells) runs from the constant up; `per_unit` cells lie in one unit of z.
    """

    cubic: Floats
    per_unit: float
    last: float

    def above(self, z: ArrayLike) -> Floats:
        """Chance that the sum lies above `z` (any shape)."""
        z = np.asarray(z, dtype=float)
        size = np.abs(z)
        place = np.minimum(size, REACH) * self.per_unit
        cell = np.minimum(place.astype(np.int64), self.cubic.shape[1] - 1)
        place -= cell
        a, b, c, d = self.cubic[:, cell]
        tail = a + place * (b + place * (c + place * d))
        far = size > REACH
        if far.any():
            tail = np.where(far, self.last * (REACH / np.where(far, size, 1.0)) ** 4, tail)
        return np.asarray(np.where(z < 0, 1 - tail, tail))

    def limit(self, chance: float) -> float:
        """The value exceeded with probability `chance`; infinite at 0 and 1."""
        if not 0 <= chance <= 1:
            raise ValueError(f"a chance lies between 0 and 1, not {chance}")
        if chance > 0.5:
            return -self.limit(1 - chance)
        if chance == 0:
            return float("inf")
        if chance <= self.last:
            return float(REACH * (self.last / chance) ** 0.25)
        cell = int(np.searchsorted(-self.cubic[0], -chance, side="right")) - 1
        a, b, c, d = self.cubic[:, cell].tolist()
        place = (chance - a) / b
        for _ in range(8):  # Newton's method within a nearly straight cell
            excess = a - chance + place * (b + place * (c + place * d))
            place -= excess / (b + place * (2 * c + 3 * place * d))
        return float((cell + place) / self.per_unit)


@lru_cache(maxsize=256)
def tail_of(weights: tuple[float, ...]) -> Tail:
    """The tail of sum_e w_e t4 for the weights given, which need not be of unit length.

    The table keeps its accuracy (1e-8) for weights whose squares sum to about 1.
    """
    step = 2 * np.pi / PERIOD
    at = step * (np.arange(POINTS // 2) + 0.5)
    at = at[: int(np.searchsorted(at * max(abs(w) for w in weights), 24.0)) + 1]
    joint = np.ones_like(at)
    for weight in weights:
        if weight != 0:
            x = 2 * abs(weight) * at
            joint *= x * (x * k0(x) / 2 + k1(x))  # characteristic function of t4, x^2 K2(x) / 2
    used = int(REACH * POINTS / PERIOD) + 1
    turn = np.exp(1j * np.pi * np.arange(used) / POINTS)
    sines = (turn * np.fft.ifft(joint / at, POINTS, norm="forward")[:used]).imag
    cosines = (turn * np.fft.ifft(joint, POINTS, norm="forward")[:used]).real
    above = 0.5 - step / np.pi * sines
    width = PERIOD / POINTS
    slope = -step / np.pi * cosines * width  # per cell
    rise = np.diff(above)
    cubic = np.stack(
        [
            above[:-1],
            slope[:-1],
            3 * rise - 2 * slope[:-1] - slope[1:],
            slope[:-1] + slope[1:] - 2 * rise,
        ]
    )
    return Tail(cubic, 1 / width, float(above[-1]))


@dataclass(frozen=True, eq=False, slots=True)
class Alarm:
    """The alarm on one sample of oil, over the elements the part sheds, in their order.

    `scale` (elements,) is sigma'_e, the scale of ln r_e about the level the analyst expects;
    `weight` (elements,) has squares that sum to 1; `limit` is on the score.
    """

    symbols: tuple[str, ...]
    scale: Floats
    weight: Floats
    limit: float
    tail: Tail

    @property
    def slope(self) -> Floats:
        """How far the score moves per unit of ln m_e; (elements,)."""
        return np.asarray(self.weight / self.scale)

    def chance_at(self, shift: ArrayLike) -> Floats:
        """Chance to alarm with the score shifted by `shift` (any shape)."""
        return self.tail.above(self.limit - np.asarray(shift, dtype=float))

    def chance(self, log_means: ArrayLike) -> Floats:
        """Chance to alarm where the fill's average rate is m_e times the usual one.

        `log_means` (..., elements) are ln m_e, 0 without distress; gives (...).
        """
        return self.chance_at(np.asarray(log_means, dtype=float) @ self.slope)


def shed(elements: Sequence[Element]) -> tuple[Element, ...]:
    """The elements that the part sheds: the only ones that are evidence about it."""
    return tuple(element for element in elements if element.from_part)


def alarm(
    elements: Sequence[Element],
    interval: float,
    used: Mapping[str, float],
    false_alarm: float,
    shared: float = 0.0,
) -> Alarm:
    """The alarm on a sample of oil as old as `interval` (usage).

    `used` counts, by symbol, the samples from which the engine's own level is known (none named:
    none); elements that the part does not shed are left out; `shared` is the share of the scatter's
    variance that the elements of a sample have in common. Raises ValueError where no element
    is shed by the part, none rises, or a number is out of range.
    """
    own = shed(elements)
    if not own:
        raise ValueError("an alarm needs at least one element that the part sheds")
    if not interval > 0:
        raise ValueError(f"the oil interval must be above 0, not {interval}")
    count = np.array([used.get(element.symbol, 0.0) for element in own], dtype=float)
    if not (count >= 0).all():
        raise ValueError("the number of used samples can't be below 0")
    scale = np.sqrt(_scatter(own, interval) + level_variance(own, count))
    if not (scale > 0).all():
        raise ValueError("an element's scatter must be above 1, or its usual level not exact")
    lift = np.log([element.rise.median for element in own])
    pull = lift / scale
    length = float(np.hypot.reduce(pull))
    if length == 0:
        raise ValueError("no element rises before failure, so none can alarm")
    weight = pull / length
    common = weight * np.log([element.scatter for element in own]) / scale
    own_noise = np.sqrt(np.maximum(weight**2 - shared * common**2, 0.0))
    tail = tail_of((*own_noise.tolist(), float(np.sqrt(shared) * common.sum())))
    symbols = tuple(element.symbol for element in own)
    return Alarm(symbols, scale, weight, tail.limit(false_alarm), tail)


def alarms(
    elements: Sequence[Element],
    interval: float,
    used: Mapping[str, float],
    false_alarm: float,
    services: int,
    shared: float = 0.0,
) -> tuple[Alarm, ...]:
    """The alarms at the coming services, each knowing the samples of those before it."""
    return tuple(
        alarm(
            elements,
            interval,
            {element.symbol: used.get(element.symbol, 0.0) + j for element in elements},
            false_alarm,
            shared,
        )
        for j in range(services)
    )


def usual_concentration(element: Element, oil_age: float) -> float:
    """The concentration [ppm] expected of oil of that age without distress."""
    return element.typical.median * oil_age / 1000


def _scatter(elements: Sequence[Element], interval: float) -> Floats:
    """Squared scale of one fill about its engine's level, the laboratory's noise included."""
    return np.array(
        [
            np.log(element.scatter) ** 2
            + (element.noise / usual_concentration(element, interval)) ** 2
            for element in elements
        ]
    )


def level_variance(elements: Sequence[Element], count: Floats) -> Floats:
    """Variance still left in the engine's own level after `count` (elements,) samples."""
    between = np.array([element.typical.spread for element in elements]) ** 2
    within = np.log([element.scatter for element in elements]) ** 2
    total = within + count * between
    return np.where(between > 0, between * within / np.where(total > 0, total, 1.0), 0.0)
