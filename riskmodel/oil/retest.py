"""A second sample soon: what it would show of oil that has run only a little.

Oil that has run a few hundred kilometres holds little of what the part sheds, and the laboratory
rounds. So a reading is scored on a scale on which its scatter is even from the least amounts to
the greatest: y = asinh(s C / a) / s, C the concentration gained, s its scatter in proportion and a
that of the laboratory (noise and rounding), the transformation that stabilises the variance
a^2 + s^2 C^2 (Bartlett 1947, Biometrics 3, 39-52, from memory, for the method). The score is the
sum of w_e (y_e - its usual value) over the part's own elements, w_e in proportion to how far the
median rise lifts y_e; otherwise as in `riskmodel.oil.alarm`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.oil.alarm import Tail, level_variance, shed, tail_of, usual_concentration
from riskmodel.records.case import Element

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class RetestAlarm:
    """When a retest of oil as old as `oil_age` counts as another surge.

    By element, (elements,): the usual concentration gained `usual` [ppm], its `scatter` in
    proportion, the laboratory's `noise` [ppm], and `weight` in the score, whose squares sum to 1.
    `false_alarm` is the chance to pass `limit` without distress.
    """

    symbols: tuple[str, ...]
    oil_age: float
    usual: Floats
    scatter: Floats
    noise: Floats
    weight: Floats
    limit: float
    false_alarm: float
    tail: Tail

    def chance(self, log_means: ArrayLike) -> Floats:
        """Chance of another surge where the fill's average rate is m_e times the usual one:
        `log_means` (..., elements) are ln m_e; gives (...)."""
        with np.errstate(over="ignore"):
            lifted = self.usual * np.exp(np.asarray(log_means, dtype=float))
        shift = (_even(lifted, self.scatter, self.noise) - self._usual) @ self.weight
        return self.tail.above(self.limit - shift)

    def alone(self) -> dict[str, float]:
        """The concentration gained [ppm] from which each element alone, the others being as
        usual, passes the limit; infinite where none does."""
        with np.errstate(over="ignore", divide="ignore"):
            at = self.scatter * (self._usual + self.limit / self.weight)
            found = self.noise / self.scatter * np.sinh(at)
        return dict(zip(self.symbols, found.tolist(), strict=True))

    @property
    def _usual(self) -> Floats:
        return _even(self.usual, self.scatter, self.noise)


def retest_alarm(
    elements: Sequence[Element],
    oil_age: float,
    resolution: float,
    used: Mapping[str, float],
    false_alarm: float,
    shared: float = 0.0,
) -> RetestAlarm:
    """The alarm on a retest of oil as old as `oil_age` (usage), read in steps of `resolution`.

    `used` and `shared` as in `riskmodel.oil.alarm.alarm`. Raises ValueError where no element is
    shed by the part or none rises, for an oil age or a resolution of 0 or below.
    """
    own = shed(elements)
    if not own:
        raise ValueError("a retest needs at least one element that the part sheds")
    if not oil_age > 0 or not resolution > 0:
        raise ValueError("the oil's age and the resolution must be above 0")
    count = np.array([used.get(element.symbol, 0.0) for element in own], dtype=float)
    log_scatter = np.log([element.scatter for element in own])
    scatter = np.sqrt(log_scatter**2 + level_variance(own, count))
    noise = np.hypot([element.noise for element in own], resolution / np.sqrt(12))
    usual = np.array([usual_concentration(element, oil_age) for element in own])
    rise = np.array([element.rise.median for element in own])
    pull = _even(usual * rise, scatter, noise) - _even(usual, scatter, noise)
    length = float(np.hypot.reduce(pull))
    if length == 0:
        raise ValueError("no element rises before failure, so no retest can tell")
    weight = pull / length
    whole = np.hypot(noise, scatter * usual)
    common = weight * log_scatter * usual / whole
    own_noise = np.sqrt(np.maximum(weight**2 - shared * common**2, 0.0))
    tail = tail_of((*own_noise.tolist(), float(np.sqrt(shared) * common.sum())))
    symbols = tuple(element.symbol for element in own)
    limit = tail.limit(false_alarm)
    return RetestAlarm(symbols, oil_age, usual, scatter, noise, weight, limit, false_alarm, tail)


def _even(concentration: Floats, scatter: Floats, noise: Floats) -> Floats:
    """Concentrations (..., elements) on the scale on which they scatter by 1."""
    return np.asarray(np.arcsinh(scatter * concentration / noise) / scatter)
