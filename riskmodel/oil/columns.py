"""Used samples of one engine as columns: each element as each laboratory reads it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.laboratories import apart, level_elsewhere
from riskmodel.oil.mass_balance import PER, SampleRates
from riskmodel.oil.shared import widened
from riskmodel.oil.surge import held, loudest
from riskmodel.records.case import Element

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Ends = tuple[Floats, Floats, Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """One element as one laboratory reads it: the ends of ln rate in each sample, `low` and `high`,
    and its scatter, `scale`, all (n,), infinite where it was not measured there; middle and spread
    of its usual ln level. `place` numbers the laboratory."""

    element: Element
    place: int
    low: Floats
    high: Floats
    scale: Floats
    centre: float
    spread: float

    @property
    def log_rise(self) -> float:
        return math.log(self.element.rise.median)

    @property
    def middle(self) -> Floats:
        """ln rate, half the most that it may be where the rounding can't tell it from nothing."""
        lower = np.where(np.isfinite(self.low), self.low, self.high - math.log(4))
        return np.asarray((lower + self.high) / 2)

    @property
    def unknown(self) -> Floats:
        """Deviation of the engine's own ln level, as the samples before each tell it; (n,)."""
        if self.spread == 0:
            return np.zeros(len(self.scale))
        told = np.where(np.isfinite(self.high), self.scale**-2.0, 0.0)
        return np.asarray((self.spread**-2.0 + np.cumsum(told) - told) ** -0.5)

    def held(self, misled: Floats, mark: Floats, times: Floats) -> Column:
        """The same with surges beyond where they speak loudest for distress taken as ones there, or
        as ones so many `times` as far above the level; `misled` and `mark` as in `loudest`; (n,)
        each."""
        low, high, scale = self.low, self.high, self.scale
        if held(low, high, scale, self.centre, self.spread, mark * times)[0] is low:
            return self  # no place lies before its mark
        place = loudest(mark, scale, self.spread, misled) * times
        low, high = held(low, high, scale, self.centre, self.spread, place)
        return replace(self, low=low, high=high)


def read_columns(
    elements: Sequence[Element],
    rows: Sequence[SampleRates],
    usage: Floats,
    places: Ints,
    shared: float,
) -> list[Column]:
    """The columns of `rows` (n,), whose oil was in use for `usage` (n,) and which the laboratories
    `places` (n,) read; elements share so much of their scatter."""
    columns = [
        column
        for each in elements
        for column in _by_laboratory(
            each, _element(each, rows, usage), usage, places, len(elements)
        )
    ]
    return _widened(columns, shared)


def _by_laboratory(
    element: Element, ends: Ends, usage: Floats, places: Ints, elements: int
) -> Iterator[Column]:
    """An element's readings parted by laboratory. One that reads otherwise does so in all the
    `elements`: each bears its root of them."""
    centre, spread = math.log(element.typical.median), element.typical.spread
    measured = np.isfinite(ends[1])
    before = np.zeros(len(usage), dtype=bool)
    for place in np.unique(places[measured]):
        here = measured & (places == place)
        low, high, scale = ends
        low, high = np.where(here, low, -np.inf), np.where(here, high, np.inf)
        column = Column(element, int(place), low, high, scale, centre, spread)
        if before.any():
            told = Column(element, -1, *ends, centre, spread).middle[before]
            reading = float(np.median(np.exp(told) * usage[before])) / PER
            differ = math.sqrt(elements) * apart(element.symbol, reading)
            level = level_elsewhere(centre, spread, told, scale[before], differ)
            column = replace(column, centre=level[0], spread=level[1])
        yield column
        before |= here


def _widened(columns: Sequence[Column], shared: float) -> list[Column]:
    """The same, scattering as widely as samples do whose elements share some of it."""
    by = widened(
        np.log([each.element.scatter for each in columns]),
        np.array([np.where(np.isfinite(each.high), each.scale, np.inf) for each in columns]),
        np.array([each.log_rise for each in columns]),
        shared,
    )
    return [replace(each, scale=each.scale * by) for each in columns]


def _element(element: Element, rows: Sequence[SampleRates], usage: Floats) -> Ends:
    """ln low, ln high and sigma' of one element in each sample; (n,) each."""
    low, high = np.full(len(rows), -np.inf), np.full(len(rows), np.inf)
    for i, row in enumerate(rows):
        rate = row.rates.get(element.symbol)
        if rate is not None:
            low[i] = math.log(rate.low) if rate.low > 0 else -math.inf
            high[i] = math.log(rate.high)
    expected = element.typical.median * usage / PER
    return low, high, np.hypot(math.log(element.scatter), element.noise / expected)


def misled(columns: Sequence[Column], share: float) -> Floats:
    """The share of samples that mislead, to each element of a sample; (n,). One that misleads does
    so in all of them: of so many elements that surge together, each bears its root."""
    measured = np.isfinite([each.high for each in columns]).sum(axis=0)
    return np.asarray(share ** (1 / np.maximum(measured, 1)))
