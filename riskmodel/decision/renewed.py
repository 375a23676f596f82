"""What follows a replacement, once it is solved: by usage left, and of a part fitted today."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.timing import AT_THE_END
from riskmodel.decision.visits import place, read

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Renewal:
    """The solved recursion; nodes are worlds by lives, lives running fastest.

    `left` (points,) is the grid of usage left at a fitting, from 0 up to at least
    keep-until; its points keep-until less each coming service are on it exactly. `counts`
    (points, events, nodes) are the discounted counts of events, `lasts` (points, faults, nodes)
    the chance that no part fails and no fitting after the first is faulty, at each of the
    chances of a fault, and `service` (points,) the service at which the new part is replaced
    (0: never).
    """

    left: Floats
    step: float
    interval: float
    counts: Floats
    lasts: Floats
    service: Ints

    def counts_at(self, left: Floats) -> Floats:
        """Counts at any usage left, linear between the grid's points; (len, events, nodes)."""
        return read(self.counts, *place(self.left, left))

    def lasts_at(self, left: Floats) -> Floats:
        """The chance to last at any usage left, as `counts_at`; (len, faults, nodes)."""
        return read(self.lasts, *place(self.left, left))

    def counts_from(self, left: Floats) -> Floats:
        """Counts at given usages left, as `counts_at` but for the leaps: with a little more left
        one more service is held, so each is read off the points with as many as itself."""
        return self._from(self.counts, left)

    def lasts_from(self, left: Floats) -> Floats:
        """The chance to last at given usages left, as `counts_from`."""
        return np.clip(self._from(self.lasts, left), 0.0, 1.0)

    def _from(self, values: Floats, left: Floats) -> Floats:
        def held(usage: Floats) -> Floats:
            return np.ceil(usage / self.interval - AT_THE_END)

        below, share = place(self.left, left)
        last = len(self.left) - 2
        above = np.minimum(below + 1, last + 1)
        down = (held(self.left[above]) != held(left)) & (below > 0) & (share > 0)
        up = (held(self.left[below]) != held(left)) & (below < last) & (share < 1)
        below = below - down + up
        share = (left - self.left[below]) / (self.left[below + 1] - self.left[below])
        # a stretch with a single point to it gives that point's value
        share = np.where(down | up, np.clip(share, -1.0, 2.0), np.clip(share, 0.0, 1.0))
        return read(values, below, share)

    def point(self, left: float) -> int:
        """Index of the grid point nearest to `left`."""
        below, share = place(self.left, np.array([left]))
        return int(below[0] + (share[0] > 0.5))

    def of_world(self, world: int, worlds: int) -> Renewal:
        """The same in one world only: nodes are lives. A single one is that of all."""
        if worlds == 1:
            return self
        return replace(
            self,
            counts=_world(self.counts, world, worlds),
            lasts=_world(self.lasts, world, worlds),
        )


def _world(values: Floats, world: int, worlds: int) -> Floats:
    size = values.shape[-1] // worlds
    return values[..., world * size : (world + 1) * size]


@dataclass(frozen=True, slots=True)
class Fitted:
    """What follows one fitting: counts (events, nodes), lasts (faults, nodes)."""

    counts: Floats
    lasts: Floats

    def of_world(self, world: int, worlds: int) -> Fitted:
        if worlds == 1:
            return self
        return Fitted(_world(self.counts, world, worlds), _world(self.lasts, world, worlds))
