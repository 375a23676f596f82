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


def read(values: Floats, below: Ints, share: Floats) -> Floats:
    """`values` (points, ...) on the way `share` (places,) from point `below` to the next; (places,
    ...)."""
    share = share.reshape(-1, *[1] * (values.ndim - 1))
    found, above = values[below], values[below + 1]
    found *= 1 - share
    above *= share
    found += above
    return np.asarray(found)


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

    def add(self, counts: Floats, count: int, then: AfterUrgent) -> Floats:
        """Add the counts of the first `count` to `counts` (events, nodes), in place, and what
        follows urgent jobs, `then`; the chance of one after which all goes well; (faults, nodes).
        """
        jobs = int(then.happens[:count].sum())  # the first ones: they have more usage left
        lasts = following(self.urgent_chance[:jobs], then.lasts)
        alive = self.alive[:count].sum(axis=0)
        counts[OIL_CHANGE] += alive
        if self.turnaround is None:
            return lasts
        counts[SAMPLE] += alive
        counts[INVESTIGATION] += self.alarms[:count].sum(axis=0)
        counts[URGENT] += self.urgent[:jobs].sum(axis=0)
        counts[FOUND_WORN] += self.urgent_worn[:jobs].sum(axis=0)
        counts += following(self.urgent[:jobs], then.counts)
        return lasts


@dataclass(frozen=True, slots=True)
class Urgently:
    """Urgent replacements by the usage left at the sample that leads to them; all (places,).

    `happens` where it comes before keep-until; the usage left then lies on the way `share`
    from grid point `below` to the next.
    """

    happens: NDArray[np.bool_]
    below: Ints
    share: Floats

    def of(self, values: Floats) -> Floats:
        """`values` (points, ...) at the usage left; NaN where it does not happen, and no places
        where it never does."""
        if not self.happens.any():
            return values[:0]
        found = read(values, self.below, self.share)
        found[~self.happens] = np.nan
        return found

    def after(self, counts: Floats, lasts: Floats) -> AfterUrgent:
        return AfterUrgent(self.happens, self.of(counts), self.of(lasts))

    def anew(self, i: int, found: Floats, values: Floats) -> None:
        """Set `found`, as `of` has it, at place `i`, once `values` are known up to there."""
        if self.happens[i]:
            below, share = self.below[i], self.share[i]
            found[i] = (1 - share) * values[below] + share * values[below + 1]


@dataclass(frozen=True, slots=True)
class AfterUrgent:
    """What follows urgent replacements, as `Urgently` has it: counts (places, events, nodes), lasts
    (places, faults, nodes)."""

    happens: NDArray[np.bool_]
    counts: Floats
    lasts: Floats

    def at(self, some: slice) -> AfterUrgent:
        return AfterUrgent(self.happens[some], self.counts[some], self.lasts[some])


def following(urgent: Floats, after: Floats) -> Floats:
    """What follows the first urgent jobs, of chance `urgent` (jobs, nodes), each leaving one of
    `after` (>= jobs, quantities, nodes): (quantities, nodes)."""
    return np.asarray(np.einsum("jk,jek->ek", urgent, after[: len(urgent)]))


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
