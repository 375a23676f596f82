"""What follows a replacement: the newly fitted part under the best plan for the usage left.

J(m), the discounted counts of events from a fitting with usage m left, obeys a recursion:
a failure at t leaves J(m - t), a replacement at the j-th service leaves J(m - j d). It is
solved upwards over a grid of m for every node of the life curve at once; which service is
best is decided once for all nodes, on their weighted mean, because that is all that the
owner knows today. (Age replacement over a finite horizon; Barlow & Proschan 1965 for the
renewal argument.)

The integral over t is a sum over cells in which the failure probability and its first
moment are exact (up to Simpson's rule on the survival curve) and J is linear, so that it
also holds for a shape below 1, where the density has a pole at 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.lives import Lives
from riskmodel.decision.prices import (
    EVENTS,
    FAILURE,
    FITTING,
    FOUND_WORN,
    OIL_CHANGE,
    SALE,
    Prices,
)
from riskmodel.decision.timing import AT_THE_END, Timing
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def cells(start: Floats, middle: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Failure probability in each cell, shared out to the cell's two edges.

    From survival at the start, middle and end of the cells (any one shape) to the weights
    with which a quantity that is linear within a cell is to be taken at its start and end.
    """
    mass = start - end
    late = np.clip((start + 4 * middle + end) / 6 - end, 0.0, mass)
    return mass - late, late


@dataclass(frozen=True, slots=True)
class Renewal:
    """The solved recursion.

    `left` (points,) is the grid of usage left at a fitting, from 0 up to at least
    keep-until; its points keep-until less each coming service are on it exactly. `counts`
    (points, events, nodes) are the discounted counts of events, `lasts` (points, nodes) the
    chance that no part fails when no fitting is faulty, `fittings` (points,) the number of
    fittings along that way, and `service` (points,) the service at which the new part is
    replaced (0: never).
    """

    left: Floats
    step: float
    counts: Floats
    lasts: Floats
    fittings: Ints
    service: Ints

    def counts_at(self, left: Floats) -> Floats:
        """Counts at any usage left, linear between the grid's points; (len, events, nodes)."""
        below, share = self._place(left)
        share = share[:, None, None]
        return (1 - share) * self.counts[below] + share * self.counts[below + 1]

    def point(self, left: float) -> int:
        """Index of the grid point nearest to `left`."""
        below, share = self._place(np.array([left]))
        return int(below[0] + (share[0] > 0.5))

    def _place(self, left: Floats) -> tuple[Ints, Floats]:
        below = np.clip(np.searchsorted(self.left, left, "right") - 1, 0, len(self.left) - 2)
        share = (left - self.left[below]) / (self.left[below + 1] - self.left[below])
        return below, np.clip(share, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Fitted:
    """What follows one fitting: counts (events, nodes), lasts (nodes,), fittings along that way."""

    counts: Floats
    lasts: Floats
    fittings: int


def cells_per_interval(timing: Timing) -> int:
    """Cells of the recursion in one oil interval: enough that J is nearly linear in each."""
    return int(np.clip(np.ceil(48 * timing.interval / timing.keep), 1, 8))


class NewPart:
    """Everything about the newly fitted part that prices do not touch; `solve` adds those."""

    def __init__(self, lives: Lives, timing: Timing, visible_lead: Quantity, repair: bool) -> None:
        self.lives = lives
        self.timing = timing
        self.repair = repair
        self.per_interval = cells_per_interval(timing)
        self.step = step = timing.interval / self.per_interval
        # The grid's phase puts keep-until less each coming service exactly on it.
        reach = timing.keep - timing.first if len(timing.services) else timing.keep
        phase = reach % step
        self.phase = phase if phase > AT_THE_END * timing.keep else step
        points = int(np.ceil((timing.keep - self.phase) / step - AT_THE_END)) + 1
        self.left = np.concatenate([[0.0], self.phase + step * np.arange(points + 1)])
        edges = step * np.arange(points + 2, dtype=np.float64)
        self.alive = lives.survival(edges)
        self.discount = timing.discount(edges)
        middle = lives.survival(edges[:-1] + step / 2)
        early, late = cells(self.alive[:-1], middle, self.alive[1:])
        self.early = early * self.discount[:-1, None]
        self.late = late * self.discount[1:, None]
        self.services = edges[:: self.per_interval]
        self.worn = lives.survival_and_worn(self.services, visible_lead)

    def solve(self, prices: Prices) -> Renewal:
        """Solve the recursion at the expected prices."""
        price = prices.means()
        points, nodes = len(self.left), len(self.lives.weight)
        counts = np.zeros((points, len(EVENTS), nodes))
        counts[0, SALE] = 1.0
        costs = np.zeros((points, nodes))
        costs[0] = price[SALE]
        lasts = np.ones((points, nodes))
        fittings = np.zeros(points, dtype=np.int64)
        service = np.zeros(points, dtype=np.int64)
        tails = self._tails(self.left[1:])
        for i in range(1, points):
            tail = tails.at(i - 1)
            # left over after a failure at each cell edge; the first is the unknown itself
            after, after_cost = counts[i::-1], costs[i::-1]
            planned = (
                costs[i - self.per_interval :: -self.per_interval]
                if i > self.per_interval
                else costs[:0]
            )
            best = self._choose(tail, after_cost, planned, price)
            counts[i], own = self._count(tail, after, best)
            if best:
                j = i - best * self.per_interval
                self._add_fitting(counts[i], best, counts[j])
                lasts[i] = self.alive[best * self.per_interval] * lasts[j]
                fittings[i] = 1 + fittings[j]
            else:
                counts[i, SALE] += tail.alive * tail.discount
                lasts[i] = tail.alive
            counts[i] /= 1 - own
            costs[i] = price @ counts[i]
            service[i] = best
        return Renewal(self.left, self.step, counts, lasts, fittings, service)

    def fitted_today(self, renewal: Renewal, prices: Prices) -> Fitted:
        """A part fitted today. Keep-until is not on the grid, so a failure leaves the grid's
        J, interpolated, but each planned replacement along the way exactly what follows."""
        price = prices.means()
        keep, step, n = self.timing.keep, self.step, self.per_interval
        last = int(np.ceil(keep / step - AT_THE_END))
        left = np.concatenate([[0.0], keep - step * np.arange(last)[::-1]])
        after = renewal.counts_at(left)
        after_cost = np.einsum("e,lek->lk", price, after)
        lattice = np.arange(last, 0, -n)[::-1]
        tails = self._tails(left[lattice])
        solved: list[Fitted] = []
        planned = np.zeros((0, after.shape[2]))
        for i, point in enumerate(lattice):
            tail = tails.at(i)
            best = self._choose(tail, after_cost[point::-1], planned, price)
            counts, own = self._count(tail, after[point::-1], best)
            counts += own * after[point]
            if best:
                then, alive = solved[i - best], self.alive[best * n]
                self._add_fitting(counts, best, then.counts)
                solved.append(Fitted(counts, alive * then.lasts, 1 + then.fittings))
            else:
                counts[SALE] += tail.alive * tail.discount
                solved.append(Fitted(counts, tail.alive, 0))
            planned = np.vstack([price @ counts, planned])
        return solved[-1]

    def _choose(self, tail: Tail, after_cost: Floats, planned: Floats, price: Floats) -> int:
        """The cheapest service at which to replace, 0 for never, on the weighted mean.

        `after_cost` (whole + 2, nodes) is the cost left after a failure at each cell edge;
        `planned` (>= services, nodes) after a replacement at services 1, 2, ...
        """
        weight, whole, n = self.lives.weight, tail.whole, self.per_interval
        early, late = self.early[:whole], self.late[:whole]
        lost = (early + late) @ weight * price[FAILURE]
        last = np.array([(tail.early + tail.late) @ weight * price[FAILURE]])
        if self.repair:
            lost += np.einsum("k,lk,lk->l", weight, early, after_cost[:whole])
            lost += np.einsum("k,lk,lk->l", weight, late, after_cost[1 : whole + 1])
            last += weight @ (tail.early * after_cost[whole] + tail.late * after_cost[whole + 1])
        spent = np.concatenate([[0.0], np.cumsum(lost)])
        services = tail.services
        at = n * np.arange(1, services + 1)
        alive = self.alive[at] * self.discount[at, None]
        oil = price[OIL_CHANGE] * np.concatenate([[0.0], np.cumsum(alive @ weight)])
        never = (
            spent[whole]
            + last[0]
            + oil[services]
            + price[SALE] * (tail.alive @ weight) * tail.discount
        )
        worn = self.worn[1 : services + 1] * self.discount[at, None]
        replaced = (
            spent[at]
            + oil[:services]
            + np.einsum("k,jk,jk->j", weight, alive, price[FITTING] + planned[:services])
            + price[FOUND_WORN] * (worn @ weight)
        )
        return int(np.argmin(np.concatenate([[never], replaced])))

    def _count(self, tail: Tail, after: Floats, best: int) -> tuple[Floats, Floats]:
        """Counts while the part is in place, and what a failure in the first cell refers to itself.

        Returns (events, nodes) without the share `own` (nodes,) of `after[0]`.
        """
        n = self.per_interval
        whole = best * n if best else tail.whole
        early, late = self.early[:whole], self.late[:whole]
        counts = np.zeros(after.shape[1:])
        counts[FAILURE] = early.sum(0) + late.sum(0)
        own = np.zeros(after.shape[2])
        if self.repair and whole:
            counts += np.einsum("lk,lek->ek", early[1:], after[1:whole])
            counts += np.einsum("lk,lek->ek", late, after[1 : whole + 1])
            own = early[0]
        held = best - 1 if best else tail.services
        if held > 0:
            at = n * np.arange(1, held + 1)
            counts[OIL_CHANGE] += self.discount[at] @ self.alive[at]
        if not best:
            counts[FAILURE] += tail.early + tail.late
            if self.repair:
                counts += tail.late * after[tail.whole + 1]
                if tail.whole:
                    counts += tail.early * after[tail.whole]
                else:
                    own = tail.early
        return counts, own

    def _add_fitting(self, counts: Floats, service: int, then: Floats) -> None:
        """Add a planned replacement at `service` and what follows it, in place."""
        at = service * self.per_interval
        alive = self.alive[at] * self.discount[at]
        counts[FITTING] += alive
        counts[FOUND_WORN] += self.worn[service] * self.discount[at]
        counts += alive * then

    def _tails(self, left: Floats) -> Tails:
        """The last, partly filled cell before keep-until, for each usage left."""
        whole = np.floor(left / self.step + 1e-9 - AT_THE_END).astype(np.int64)
        whole = np.where(
            left - whole * self.step <= AT_THE_END * self.timing.keep, whole - 1, whole
        )
        start = self.step * whole
        alive = self.lives.survival(left)
        early, late = cells(self.alive[whole], self.lives.survival((start + left) / 2), alive)
        discount = self.timing.discount(left)
        early = early * self.discount[whole, None]
        late = late * discount[:, None]
        return Tails(whole, whole // self.per_interval, alive, early, late, discount)


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
