"""What may happen to the part that is in the engine now, in one possible world of its warning."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Segments:
    """Rows for what happens from one stop to the next: the edges of each segment, its two ends
    included, so that the edge between two segments has a row in each.

    `edge` (rows,) is each row's edge; those of a segment run from `first` up to `end` (segments,).
    """

    def __init__(self, breaks: Ints) -> None:
        """`breaks` (segments,) is the edge with which each segment ends."""
        segments = np.arange(len(breaks))
        self.end = breaks + segments + 1
        self.first = np.concatenate([[0], self.end[:-1]])
        self.edge = np.arange(self.end[-1]) - np.repeat(segments, self.end - self.first)
        # a cell's start; its end is the row that follows
        cells = np.arange(breaks[-1])
        self._start = cells + np.searchsorted(breaks, cells, "right")

    def share(self, early: Floats, late: Floats) -> Floats:
        """(rows, ...) of what is taken at the start and at the end of each cell."""
        found = np.zeros((len(self.edge), *early.shape[1:]))
        found[self._start] = early
        found[self._start + 1] += late
        return found


@dataclass(frozen=True, slots=True)
class SampleVisits:
    """What the samples at the coming services lead to; (services, curves) each but `happens`
    (services,), which tells whether an urgent replacement comes before keep-until."""

    urgent: Floats
    urgent_worn: Floats
    alarms: Floats
    happens: NDArray[np.bool_]

    def map(self, of: Callable[[Floats], Floats]) -> SampleVisits:
        return SampleVisits(of(self.urgent), of(self.urgent_worn), of(self.alarms), self.happens)


@dataclass(frozen=True, slots=True)
class PresentWorld:
    """The present part in one world, each (.., curves): `share`, by rows of `Segments`, the
    discounted chance of a failure, taken at the edges of its cell; `alive` and `failed`, by wear,
    at each break, `worn` now and at each service. A curve has so many pairs, one for each of the
    `factors`."""

    share: Floats
    alive: Floats
    failed: Floats
    worn: Floats
    visits: SampleVisits | None
    factors: int

    @property
    def wear(self) -> Floats:
        """The chance to have failed by wear at each break; (breaks, pairs)."""
        return np.repeat(self.failed, self.factors, axis=1)

    def only(self, pairs: Ints) -> PresentWorld:
        """The same at some `pairs`, each a curve of its own."""
        curves = pairs // self.factors
        share = self.share[:, curves]
        return replace(self._over(lambda values: values[:, curves]), share=share)

    def over_pairs(self) -> PresentWorld:
        """The same with each pair a curve of its own, but for `share`."""
        return self._over(lambda values: np.repeat(values, self.factors, axis=1))

    def _over(self, of: Callable[[Floats], Floats]) -> PresentWorld:
        visits = None if self.visits is None else self.visits.map(of)
        return PresentWorld(
            self.share, of(self.alive), of(self.failed), of(self.worn), visits, factors=1
        )
