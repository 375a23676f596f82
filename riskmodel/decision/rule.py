"""The rule for parts to come: the service at which replacing costs least, on the weighted mean over
all nodes, because that is all that the owner knows today."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.prices import (
    FAILURE,
    FITTING,
    FOUND_WORN,
    INVESTIGATION,
    OIL_CHANGE,
    SALE,
    SAMPLE,
    URGENT,
)
from riskmodel.decision.visits import Tails, Visits

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Rule:
    """What prices do not touch, weighed by how far each node is believed, `weight` (nodes,).

    `early`, `late` (cells, nodes) are discounted chances to fail in a cell, taken at its start and
    end; `alive` and `worn` (services, nodes) to be in place, and found worn, at the services from
    the first on, discounted, `per_interval` cells apart; `visits` what happens there otherwise.
    """

    def __init__(
        self,
        weight: Floats,
        early: Floats,
        late: Floats,
        alive: Floats,
        worn: Floats,
        visits: Visits,
        per_interval: int,
    ) -> None:
        self.weight, self.per_interval = weight, per_interval
        self.ends = per_interval * np.arange(1, len(alive) + 1)
        self.failing = np.concatenate([[0.0], np.cumsum((early + late) @ weight)])
        # chances (.., nodes) times belief: their product with costs (nodes,) is a mean
        self.between = weight * (early[1:] + late[:-1])
        self.late = weight * late
        self.late_at_services = self.late[self.ends - 1]
        self.alive, self.worn = weight * alive, worn @ weight
        self.kept = self.alive.sum(axis=1)
        self.visited, self.alarms = visits.alive @ weight, visits.alarms @ weight
        self.urgent, self.sampled = weight * visits.urgent, visits.turnaround is not None
        self.taken, self.urgent_worn = visits.urgent @ weight, visits.urgent_worn @ weight

    def visits(self, price: Floats) -> tuple[Floats, Floats]:
        """Mean cost of each service that does not replace, and of an urgent job on its sample, but
        for what follows that; (services,) each."""
        cost = self.visited * price[OIL_CHANGE]
        if not self.sampled:
            return cost, np.zeros(len(cost))
        cost = cost + self.visited * price[SAMPLE] + self.alarms * price[INVESTIGATION]
        return cost, self.taken * price[URGENT] + self.urgent_worn * price[FOUND_WORN]


class Choices:
    """What each choice costs on average, for usages left that end as `tails`.

    `after` (edges, nodes) is the cost left after a failure at each edge of the cells, from the
    least usage left up, `planned` (places, nodes) after a replacement, `urgent` after an urgent one
    on a sample there, NaN where keep-until comes first (no places: it always does). They may be
    filled in after this is made, and are told as they are known.
    """

    def __init__(
        self,
        rule: Rule,
        price: Floats,
        tails: Tails,
        repair: bool,
        after: Floats,
        planned: Floats,
        urgent: Floats,
    ) -> None:
        self._rule, self._tails, self._repair = rule, tails, repair
        self._after, self._planned, self._urgent = after, planned, urgent
        services, failing = len(rule.ends), rule.failing * price[FAILURE]
        visits, self._job = rule.visits(price)
        visits = np.concatenate([[0.0], np.cumsum(visits)])
        # of each choice, all that does not hang on what follows
        fitted = price[FITTING] * rule.kept
        self._replaced = failing[rule.ends] + visits[:services] + fitted
        self._replaced += price[FOUND_WORN] * rule.worn
        last = (tails.early + tails.late) @ rule.weight * price[FAILURE]
        sold = price[SALE] * (tails.alive @ rule.weight) * tails.discount
        self._never = failing[tails.whole] + last + visits[tails.services] + sold
        # of what follows, the means told so far
        self._between = np.zeros((len(after), len(rule.between)))
        self._late = np.zeros((len(after), services))
        self._then, self._jobs = np.zeros((2, len(planned), services))

    def tell(self, some: slice | int) -> None:
        """Both that follow are known at `some` points of one grid."""
        self.tell_after(some)
        self.tell_planned(some)

    def tell_after(self, some: slice | int) -> None:
        """What follows a failure is known at `some` edges."""
        if self._repair:
            self._between[some] = self._after[some] @ self._rule.between.T
            self._late[some] = self._after[some] @ self._rule.late_at_services.T

    def tell_planned(self, some: slice | int) -> None:
        """What follows a replacement is known at `some` places."""
        self._then[some] = self._planned[some] @ self._rule.alive.T
        if len(self._urgent):
            jobs = self._job + self._urgent[some] @ self._rule.urgent.T
            self._jobs[some] = np.where(np.isnan(jobs), 0.0, jobs)

    def best(self, which: Ints, edge: Ints, place: Ints, stride: int) -> Ints:
        """The cheapest service, 0 for never, for some of the usages left, numbered `which` (n,):
        each at an `edge`, and each service `stride` places further down from its `place`."""
        services = self._tails.services[which]
        each, rows = np.arange(services.max(initial=0)), np.arange(len(which))
        if not len(each):
            return np.zeros(len(which), dtype=np.int64)
        held = each < services[:, None]
        at = np.maximum(place[:, None] - stride * (each + 1), 0)
        jobs = _so_far(np.where(held, self._jobs[at, each], 0.0))
        replaced = self._replaced[each] + jobs[:, :-1] + self._then[at, each]
        never = self._never[which] + jobs[:, -1]
        if self._repair:
            whole = self._tails.whole[which]
            # a failure in the first cell leaves what is sought here, whatever the choice
            cells = np.arange(max(int(whole.max()) - 1, 0))
            inside = cells < whole[:, None] - 1
            told = self._between[np.maximum(edge[:, None] - 1 - cells, 0), cells]
            failed = _so_far(np.where(inside, told, 0.0))
            ends = self._rule.ends[each]
            replaced += failed[:, np.minimum(ends - 1, len(cells))]
            replaced += self._late[np.maximum(edge[:, None] - ends, 0), each]
            never += failed[:, -1] + self._in_last(which, edge - whole)
        replaced[~held] = np.inf
        least = np.argmin(replaced, axis=1)
        return np.where(replaced[rows, least] < never, least + 1, 0)

    def _in_last(self, which: Ints, edge: Ints) -> Floats:
        """What follows a failure at the end of the last whole cell, at `edge`, or after it."""
        rule, tails = self._rule, self._tails
        at_end = rule.late[tails.whole[which] - 1] + rule.weight * tails.early[which]
        found = np.einsum("ik,ik->i", at_end, self._after[edge])
        late = rule.weight * tails.late[which]
        return np.asarray(found + np.einsum("ik,ik->i", late, self._after[edge - 1]))


def settle(
    rule: Ints, best: Callable[[int], Ints], follow: Callable[[int], None], known: int
) -> None:
    """Find, in place, the `rule` (n,) of which each choice is the best where those before it, with
    less usage left, are made by it as well.

    `follow(i)` works out what follows by the rule from choice i on, `best(i)` the best choices
    from there on, which are right as far as all before them are; `known` is the choice up to which
    what follows is worked out already. A rule that is nearly right at first is settled soonest, and
    what it is does not change what is found.
    """
    if known < len(rule):
        follow(known)
    sure = 0
    while sure < len(rule):
        found = best(sure)
        wrong = np.flatnonzero(found != rule[sure:])
        if not len(wrong):
            return
        first = sure + int(wrong[0])
        rule[first:] = found[wrong[0] :]
        follow(first)
        sure = first + 1  # its own choice was made knowing all before it


def _so_far(steps: Floats) -> Floats:
    """Sums over the first 0, 1, 2, ... of each row; (rows, columns + 1)."""
    found = np.zeros((len(steps), steps.shape[1] + 1))
    np.cumsum(steps, axis=1, out=found[:, 1:])
    return found
