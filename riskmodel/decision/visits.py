"""What happens to a newly fitted part at the services that do not replace it, and what is left of
the last stretch before keep-until: the pieces that the recursion of `renewal` adds up."""

from __future__ import annotations

from dataclasses import dataclass, replace

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

    def add(self, counts: Floats, held: Ints, jobs: Ints) -> None:
        """Add what the first `held` services (places,) and the first `jobs` urgent replacements
        come to, but for what follows these, to `counts` (places, events, nodes), in place."""
        alive = so_far(self.alive)[held]
        counts[:, OIL_CHANGE] += alive
        if self.turnaround is None:
            return
        counts[:, SAMPLE] += alive
        counts[:, INVESTIGATION] += so_far(self.alarms)[held]
        counts[:, URGENT] += so_far(self.urgent)[jobs]
        counts[:, FOUND_WORN] += so_far(self.urgent_worn)[jobs]

    def of_nodes(self, some: slice) -> Visits:
        """The same at some nodes alone."""
        return Visits(
            self.alive[:, some],
            self.turnaround,
            self.alarms[:, some],
            self.urgent[:, some],
            self.urgent_worn[:, some],
            self.urgent_chance[:, some],
        )


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

    def before(self, places: Ints, stride: int) -> Ints:
        """How many there are on samples drawn `stride` places, twice that, and so on, before each
        of `places`: the less usage is left, the fewer can be done before keep-until."""
        first = int(np.argmax(self.happens)) if self.happens.any() else len(self.happens)
        return np.maximum((places - first) // stride, 0)

    def anew(self, i: int, found: Floats, values: Floats) -> None:
        """Set `found`, as `of` has it, at place `i`, once `values` are known up to there."""
        if self.happens[i]:
            below, share = self.below[i], self.share[i]
            found[i] = (1 - share) * values[below] + share * values[below + 1]


def following(urgent: Floats, after: Floats) -> Floats:
    """What follows the first urgent jobs, of chance `urgent` (jobs, nodes), each leaving one of
    `after` (>= jobs, quantities, nodes): (quantities, nodes)."""
    return np.asarray(np.einsum("jk,jek->ek", urgent, after[: len(urgent)]))


def so_far(steps: Floats) -> Floats:
    """Sums over the first 0, 1, 2, ... of `steps` (n, ...); (n + 1, ...)."""
    found = np.zeros((len(steps) + 1, *steps.shape[1:]))
    np.cumsum(steps, axis=0, out=found[1:])
    return found


@dataclass(frozen=True, slots=True)
class Tails:
    """Usages left (places,): whole cells before each one's last, services held, and of that last
    cell, (places, nodes), discounted: the chance `alive` to outlive it (not discounted), and of a
    failure in it, taken `early` at its start and `late` at its end, which is `discount`ed so."""

    whole: Ints
    services: Ints
    alive: Floats
    early: Floats
    late: Floats
    discount: Floats

    def of_nodes(self, some: slice) -> Tails:
        """The same at some nodes alone."""
        alive, early, late = (each[:, some] for each in (self.alive, self.early, self.late))
        return replace(self, alive=alive, early=early, late=late)

    def since(self, start: int) -> Tails:
        """Those from number `start` on."""
        return Tails(
            self.whole[start:],
            self.services[start:],
            self.alive[start:],
            self.early[start:],
            self.late[start:],
            self.discount[start:],
        )
