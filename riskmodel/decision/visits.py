"""What happens to a newly fitted part at the services that do not replace it, and what is left of
the last stretch before keep-until: the pieces that the recursion of `renewal` adds up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.prices import FOUND_WORN, INVESTIGATION, OIL_CHANGE, SAMPLE, URGENT

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def place(grid: Floats, at: Floats) -> tuple[Ints, Floats]:
    """The grid point below each of `at`, and how far it lies on the way to the next."""
    below = np.clip(np.searchsorted(grid, at, "right") - 1, 0, len(grid) - 2)
    share = (at - grid[below]) / (grid[below + 1] - grid[below])
    return below, np.clip(share, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Visits:
    """Services of a part in place that do not replace it; all (services, nodes), discounted.

    `alive` that it is in place, `alarms` that the sample alarms, `urgent` that it leads to an
    urgent replacement, `urgent_worn` that visible distress is found then; `urgent_chance` is
    `urgent` not discounted. `turnaround` None: no samples are taken.
    """

    alive: Floats
    turnaround: float | None
    alarms: Floats
    urgent: Floats
    urgent_worn: Floats
    urgent_chance: Floats

    def add(self, counts: Floats, count: int, happens: NDArray[np.bool_], after: Floats) -> None:
        """Add the counts of the first `count` to `counts` (events, nodes), in place."""
        if count <= 0:
            return
        alive = self.alive[:count].sum(axis=0)
        counts[OIL_CHANGE] += alive
        if self.turnaround is None:
            return
        counts[SAMPLE] += alive
        counts[INVESTIGATION] += self.alarms[:count].sum(axis=0)
        some = np.flatnonzero(happens)
        counts[URGENT] += self.urgent[some].sum(axis=0)
        counts[FOUND_WORN] += self.urgent_worn[some].sum(axis=0)
        counts += np.einsum("jk,jek->ek", self.urgent[some], after[some])


@dataclass(frozen=True, slots=True)
class Urgently:
    """Urgent replacements by the sample that leads to them; all (services,).

    `happens` where it comes before keep-until; the usage left then lies on the way `share`
    from grid point `below` to the next.
    """

    happens: NDArray[np.bool_]
    below: Ints
    share: Floats

    def at(self, some: Ints) -> Urgently:
        return Urgently(self.happens[some], self.below[some], self.share[some])

    def of(self, values: Floats) -> Floats:
        """`values` (points, ...) at the usage left; NaN where it does not happen."""
        share = self.share.reshape(-1, *[1] * (values.ndim - 1))
        found = (1 - share) * values[self.below] + share * values[self.below + 1]
        found[~self.happens] = np.nan
        return np.asarray(found)

    def lasts(self, urgent: Floats, lasts: Floats, held: slice) -> Floats:
        """Chance that an urgent replacement on one of the samples `held` and all that follows
        go without a failure; `urgent` (held, nodes), `lasts` (points, faults, nodes)."""
        happens = self.happens[held]
        some = np.flatnonzero(happens)
        if len(some) == 0:
            return np.zeros(lasts.shape[1:])
        then = self.at(some)
        return np.asarray(np.einsum("jk,jfk->fk", urgent[some], then.of(lasts)))


@dataclass(frozen=True, slots=True)
class Tail:
    """One usage left: whole cells before its last one, services held, and that last cell."""

    whole: int
    services: int
    alive: Floats
    early: Floats
    late: Floats
    discount: float


@dataclass(frozen=True, slots=True)
class Tails:
    whole: Ints
    services: Ints
    alive: Floats
    early: Floats
    late: Floats
    discount: Floats

    def at(self, i: int) -> Tail:
        return Tail(
            int(self.whole[i]),
            int(self.services[i]),
            self.alive[i],
            self.early[i],
            self.late[i],
            float(self.discount[i]),
        )
