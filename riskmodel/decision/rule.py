"""The rule for parts to come: the service at which replacing costs least, on the weighted mean over
all nodes, because that is all that the owner knows today."""

from __future__ import annotations

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
from riskmodel.decision.visits import Tail, Visits

Floats = NDArray[np.float64]


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
        self._failing = (early + late) @ weight
        self._first, self._late = weight * early[0], weight * late
        self._both = weight * (early[1:] + late[:-1])
        self._alive, self._worn = weight * alive, worn @ weight
        self._kept = self._alive.sum(axis=1)
        self._visited, self._alarms = visits.alive @ weight, visits.alarms @ weight
        self._urgent, self._sampled = weight * visits.urgent, visits.turnaround is not None
        self._taken, self._urgent_worn = visits.urgent @ weight, visits.urgent_worn @ weight

    def best(
        self,
        tail: Tail,
        after_cost: Floats,
        planned: Floats,
        price: Floats,
        urgent: Floats,
        repair: bool,
    ) -> int:
        """The cheapest service, 0 for never.

        `after_cost` (whole + 2, nodes) is the cost left after a failure at each cell edge, where
        it is put right (`repair`); `planned` (>= services, nodes) after a replacement at services
        1, 2, ..., `urgent` (services, nodes) after an urgent one on the sample there, NaN where
        keep-until comes first.
        """
        weight, whole, services = self.weight, tail.whole, tail.services
        ends = np.append(self.per_interval * np.arange(1, services + 1), whole)
        last = float((tail.early + tail.late) @ weight) * price[FAILURE]
        spent = np.concatenate([[0.0], np.cumsum(self._failing[:whole])])[ends] * price[FAILURE]
        if repair:
            spent = spent + self._after(after_cost, ends)
            last += weight @ (tail.early * after_cost[whole] + tail.late * after_cost[whole + 1])
        oil = np.concatenate([[0.0], np.cumsum(self._visits(services, price, urgent))])
        sold = price[SALE] * (tail.alive @ weight) * tail.discount
        never = spent[-1] + last + oil[services] + sold
        fitted = price[FITTING] * self._kept[:services]
        then = np.einsum("jk,jk->j", self._alive[:services], planned[:services])
        worn = price[FOUND_WORN] * self._worn[:services]
        replaced = spent[:-1] + oil[:services] + fitted + then + worn
        return int(np.argmin(np.concatenate([[never], replaced])))

    def _after(self, after_cost: Floats, ends: NDArray[np.int64]) -> Floats:
        """Mean cost left after failures in the cells before each of `ends`, in rising order."""
        whole = int(ends[-1])
        if whole == 0:
            return np.zeros(len(ends))
        between = np.einsum("lk,lk->l", self._both[: whole - 1], after_cost[1:whole])
        before = self._first @ after_cost[0] + np.concatenate([[0.0], np.cumsum(between)])
        at_end = np.einsum("lk,lk->l", self._late[ends - 1], after_cost[ends])
        return np.asarray(np.where(ends > 0, before[ends - 1] + at_end, 0.0))

    def _visits(self, count: int, price: Floats, after: Floats) -> Floats:
        """Mean cost of each of the first `count` services, what follows urgent ones included."""
        cost = self._visited[:count] * price[OIL_CHANGE]
        if not self._sampled:
            return np.asarray(cost)
        cost = cost + self._visited[:count] * price[SAMPLE]
        cost += self._alarms[:count] * price[INVESTIGATION]
        whole = np.einsum("jk,jk->j", self._urgent[:count], after[:count])
        whole += self._taken[:count] * price[URGENT]
        whole += self._urgent_worn[:count] * price[FOUND_WORN]
        return np.asarray(cost + np.nan_to_num(whole))
