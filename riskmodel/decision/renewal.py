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

from copy import copy
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.cells import cells, cells_per_interval
from riskmodel.decision.lives import Lives
from riskmodel.decision.prices import (
    EVENTS,
    FAILURE,
    FITTING,
    FOUND_WORN,
    OF_NEW,
    SALE,
    Prices,
)
from riskmodel.decision.renewed import Fitted, Renewal
from riskmodel.decision.rule import Choices, Rule
from riskmodel.decision.timing import AT_THE_END, Timing
from riskmodel.decision.visits import AfterUrgent, Tail, Tails, Urgently, Visits, place, read
from riskmodel.decision.watched import BELIEVED, GONE, Panels, Watch, Watched, watched
from riskmodel.life.weibull import density, survival
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class NewPart:
    """Everything about the newly fitted part that prices do not touch; `solve` adds those.

    `faults` (F,) are the chances that a fitting is faulty at which the chance to last is worked
    out, `weight` (worlds * lives,) how far each node is believed today; `watch` is what samples
    at its services tell, None where none are taken (and there is one world).
    """

    def __init__(
        self,
        lives: Lives,
        timing: Timing,
        visible_lead: Quantity,
        repair: bool,
        faults: Floats,
        weight: Floats,
        watch: Watch | None = None,
    ) -> None:
        self.lives, self.timing, self.repair, self.faults = lives, timing, repair, faults
        self.watch = watch
        self.per_interval = cells_per_interval(timing)
        self.step = step = timing.interval / self.per_interval
        # The grid's phase puts keep-until less each coming service exactly on it.
        reach = timing.keep - timing.first if len(timing.services) else timing.keep
        phase = reach % step
        self.phase = phase if phase > AT_THE_END * timing.keep else step
        points = int(np.ceil((timing.keep - self.phase) / step - AT_THE_END)) + 1
        self.left = np.concatenate([[0.0], self.phase + step * np.arange(points + 1)])
        self.edges = edges = step * np.arange(points + 2, dtype=np.float64)
        self.discount = timing.discount(edges)
        alive = lives.survival(edges)
        early, late = cells(alive[:-1], lives.survival(edges[:-1] + step / 2), alive[1:])
        services = edges[:: self.per_interval]
        self.services = services[1:]
        worn = lives.survival_and_worn(services, visible_lead)
        self.weight, self.seen = weight, None
        self._known: tuple[Floats, Renewal, Fitted] | None = None
        self._like: Renewal | None = None
        self._today_like: tuple[Renewal, tuple[tuple[int, Fitted], ...]] | None = None
        if watch is not None:
            self.seen = self._watched(watch, services[1:], visible_lead)
            taken = self.seen.between(edges[:-1], edges[1:])
            early, late = (_spread(x, y) for x, y in zip((early, late), taken, strict=True))
            spared = np.exp(-lives.other * edges)[:, None, None]
            alive = _spread(alive, self.seen.in_place(edges) * spared)
            spared = np.exp(-lives.other * services)[:, None, None]
            worn = np.maximum(_spread(worn, self.seen.worn * spared), 0.0)
        self.alive, self.worn = alive, worn
        self.early = early * self.discount[:-1, None]
        self.late = late * self.discount[1:, None]
        # what counts at an edge between two cells comes from both
        self.both = self.early[1:] + self.late[:-1]
        self.visits = self._visits(services)

    def _watched(self, watch: Watch, services: Floats, visible_lead: Quantity) -> Watched:
        left = self.left
        ends = np.concatenate([self.edges, left, self._today[0], services + watch.turnaround])
        lives, some = self.lives, self.weight.reshape(self.worlds, -1).max(axis=0) > BELIEVED
        lasting = (lives.scale * GONE ** (1 / lives.shape))[some].max()
        panels = Panels(ends, watch.reach, float(lasting))
        age = panels.at[:, None]
        return watched(
            panels,
            density(age, lives.shape, lives.scale),
            survival(services[:, None], lives.shape, lives.scale),
            services,
            watch.turnaround,
            watch.false_alarm,
            watch.of_new_part(services, panels.at),
            visible_lead,
            lives.other,
        )

    def _visits(self, services: Floats) -> Visits:
        """What happens at each service that does not itself replace."""
        at = self.timing.discount(services)[1:, None]
        alive = self.alive[:: self.per_interval][1:] * at
        none = np.zeros_like(alive)
        if self.seen is None or self.watch is None:
            return Visits(alive, None, none, none, none, none)
        flat = (len(alive), len(self.weight))
        after = self.timing.discount(services[1:] + self.watch.turnaround)[:, None]
        return Visits(
            alive,
            self.watch.turnaround,
            self.seen.alarms.reshape(flat) * at,
            self.seen.urgent.reshape(flat) * after,
            self.seen.urgent_worn.reshape(flat) * after,
            self.seen.urgent.reshape(flat),
        )

    @cached_property
    def _grid_tails(self) -> Tails:
        return self._tails(self.left[1:])

    @cached_property
    def _today(self) -> tuple[Floats, Ints]:
        """Usage left of a part fitted today at each edge of its cells, from the last back, and at
        which of those it may be replaced, and any that follows it as planned."""
        last = int(np.ceil(self.timing.keep / self.step - AT_THE_END))
        left = np.concatenate([[0.0], self.timing.keep - self.step * np.arange(last)[::-1]])
        return left, np.arange(last, 0, -self.per_interval)[::-1]

    @cached_property
    def _today_tails(self) -> Tails:
        left, services = self._today
        return self._tails(left[services])

    @cached_property
    def _rule(self) -> Rule:
        at = self.per_interval * np.arange(1, len(self.visits.alive) + 1)
        paid, services = self.discount[at, None], len(at) + 1
        alive, worn = self.alive[at] * paid, self.worn[1:services] * paid
        args = self.early, self.late, alive, worn, self.visits, self.per_interval
        return Rule(self.weight, *args)

    @property
    def worlds(self) -> int:
        return len(self.weight) // len(self.lives.shape)

    def repairing(self, repair: bool) -> NewPart:
        """The same where a failure is put right, or where nothing is owned after it."""
        other = copy(self)
        if repair != self.repair:
            other.repair, other._known, other._like, other._today_like = repair, None, None, None
        return other

    def believing(self, weight: Floats) -> NewPart:
        """The same where each node is believed so far; (nodes,)."""
        other = copy(self)
        other.weight, other._known = weight, None
        other.__dict__.pop("_rule", None)
        return other

    def follows(self, prices: Prices) -> tuple[Renewal, Fitted]:
        """What follows a replacement later and one today, at the expected prices; those asked for
        last are kept."""
        means = prices.means()
        if self._known is None or not np.array_equal(self._known[0], means):
            renewal = self._like = self.solve(prices, self._like)
            self._known = means, renewal, self.fitted_today(renewal, prices)
        return self._known[1:]

    def solve(self, prices: Prices, like: Renewal | None = None) -> Renewal:
        """Solve the recursion at the expected prices. `like` has been solved for the same lives at
        other prices or beliefs: as far up as its rule is the best here too, so is all the rest."""
        price = prices.means()[:OF_NEW]
        points, nodes, n = len(self.left), len(self.weight), self.per_interval
        if like is None:
            every = np.zeros((points, len(EVENTS), nodes))
            every[0, SALE] = 1.0
            lasts = np.ones((points, len(self.faults), nodes))
            service = np.zeros(points, dtype=np.int64)
        else:
            every, lasts, service = like.counts, like.lasts, like.service
        counts = every[:, :OF_NEW]
        costs = np.einsum("e,lek->lk", price, counts)
        tails = self._grid_tails
        urgently = self._urgently(self.left)
        urgent_cost = urgently.of(costs)
        right = (1 - self.faults)[:, None]
        choices = Choices(self._rule, price, tails, self.repair, costs, costs, urgent_cost)
        lattice, first = np.arange(1, points), 1

        def best_of(some: Ints) -> Ints:
            return choices.best(some - 1, some, some, n)

        if like is not None:
            choices.tell(slice(None))
            unlike = np.flatnonzero(best_of(lattice) != service[1:])
            if not len(unlike):
                return like
            first = int(unlike[0]) + 1
            every, lasts, service = every.copy(), lasts.copy(), service.copy()
            counts = every[:, :OF_NEW]
        else:
            choices.tell(0)
        urgent = urgently.after(counts, lasts)
        for i in range(first, points):
            best = int(best_of(lattice[i - 1 : i])[0])
            # left over after a failure at each cell edge; the first is the unknown itself
            tail, after = tails.at(i - 1), counts[i::-1]
            visited = slice(max(i - n, 0), 0, -n)  # usage left at the services
            counts[i], own, mended = self._count(tail, after, best, urgent.at(visited))
            lasts[i] = right * mended
            if best:
                j = i - best * n
                self._add_fitting(counts[i], best, counts[j])
                lasts[i] += self.alive[best * n] * right * lasts[j]
            else:
                counts[i, SALE] += tail.alive * tail.discount
                lasts[i] += tail.alive
            counts[i] /= 1 - own
            costs[i] = price @ counts[i]
            service[i] = best
            urgently.anew(i, urgent_cost, costs)
            urgently.anew(i, urgent.counts, counts)
            urgently.anew(i, urgent.lasts, lasts)
            choices.tell(i)
        return Renewal(self.left, self.step, self.timing.interval, every, lasts, service)

    def fitted_today(self, renewal: Renewal, prices: Prices) -> Fitted:
        """A part fitted today. Keep-until is not on the grid, so a failure leaves the grid's
        J, interpolated, but each planned replacement along the way exactly what follows."""
        price, n = prices.means()[:OF_NEW], self.per_interval
        # as far up as the rule is the one found for the same renewal, so is what follows
        before = () if self._today_like is None else self._today_like[1]
        same = self._today_like is not None and self._today_like[0] is renewal
        whole, rules = renewal, []
        renewal = replace(renewal, counts=renewal.counts[:, :OF_NEW])
        costs = np.einsum("e,lek->lk", price, renewal.counts)
        (left, lattice), tails = self._today, self._today_tails
        after, after_cost = None, read(costs, *place(self.left, left))
        right = (1 - self.faults)[:, None]
        urgently = self._urgently(left[lattice])
        urgent_cost = urgently.of(costs)
        solved: list[Fitted] = []
        planned = np.zeros((len(lattice), len(self.weight)))  # what those cost
        choices = Choices(self._rule, price, tails, self.repair, after_cost, planned, urgent_cost)
        choices.tell_after(slice(None))
        each = np.arange(len(lattice))
        for i, point in enumerate(lattice):
            one = each[i : i + 1]
            best = int(choices.best(one, lattice[one], one, 1)[0])
            rules.append(best)
            same = same and before[i][0] == best
            if same:
                solved.append(before[i][1])
                planned[i] = price @ solved[i].counts
                choices.tell_planned(i)
                continue
            if after is None:
                after = renewal.counts_at(left)
                urgent = urgently.after(renewal.counts, renewal.lasts)
            tail, visited = tails.at(i), slice(i - 1, None, -1) if i else slice(0)
            counts, own, mended = self._count(tail, after[point::-1], best, urgent.at(visited))
            counts += own * after[point]
            lasts = right * mended
            if best:
                later, alive = solved[i - best], self.alive[best * n]
                self._add_fitting(counts, best, later.counts)
                lasts = lasts + alive * right * later.lasts
            else:
                counts[SALE] += tail.alive * tail.discount
                lasts = lasts + tail.alive
            solved.append(Fitted(counts, lasts))
            planned[i] = price @ counts
            choices.tell_planned(i)
        self._today_like = whole, tuple(zip(rules, solved, strict=True))
        every = np.zeros((len(EVENTS), len(self.weight)))
        every[:OF_NEW] = solved[-1].counts
        return Fitted(every, solved[-1].lasts)

    def _count(
        self, tail: Tail, after: Floats, best: int, urgent: AfterUrgent
    ) -> tuple[Floats, Floats, Floats]:
        """Counts while the part is in place, urgent replacements and what follows them (`urgent`,
        by service) included, and what a failure in the first cell refers to itself.

        Returns (events, nodes) without the share `own` (nodes,) of `after[0]`, that share, and the
        chance of an urgent replacement after which all goes well (faults, nodes).
        """
        n = self.per_interval
        whole = best * n if best else tail.whole
        early, late = self.early[:whole], self.late[:whole]
        counts = np.zeros(after.shape[1:])
        counts[FAILURE] = early.sum(0) + late.sum(0)
        own = np.zeros(after.shape[2])
        if self.repair and whole:
            counts += np.einsum("lk,lek->ek", self.both[: whole - 1], after[1:whole])
            counts += late[-1] * after[whole]
            own = early[0]
        held = best - 1 if best else tail.services
        mended = self.visits.add(counts, held, urgent)
        if not best:
            counts[FAILURE] += tail.early + tail.late
            if self.repair:
                counts += tail.late * after[tail.whole + 1]
                if tail.whole:
                    counts += tail.early * after[tail.whole]
                else:
                    own = tail.early
        return counts, own, mended

    def _add_fitting(self, counts: Floats, service: int, then: Floats) -> None:
        """Add a planned replacement at `service` and what follows it, in place."""
        at = service * self.per_interval
        alive = self.alive[at] * self.discount[at]
        counts[FITTING] += alive
        counts[FOUND_WORN] += self.worn[service] * self.discount[at]
        counts += alive * then

    def _urgently(self, left: Floats) -> Urgently:
        """What an urgent replacement leaves, with usage `left` at the sample that leads to it."""
        turnaround = 0.0 if self.watch is None else self.watch.turnaround
        rest = left - turnaround
        happens = rest > AT_THE_END * self.timing.keep
        if self.watch is None:
            happens = np.zeros_like(happens)
        return Urgently(happens, *place(self.left, np.maximum(rest, 0)))

    def _tails(self, left: Floats) -> Tails:
        """The last, partly filled cell before keep-until, for each usage left."""
        whole = np.floor(left / self.step + 1e-9 - AT_THE_END).astype(np.int64)
        whole = np.where(
            left - whole * self.step <= AT_THE_END * self.timing.keep, whole - 1, whole
        )
        start = np.asarray(self.step * whole, dtype=np.float64)
        alive, plain = self.lives.survival(left), self.lives.survival(self.edges)
        early, late = cells(plain[whole], self.lives.survival((start + left) / 2), alive)
        if self.seen is not None:
            taken = self.seen.between(start, left)
            early, late = (_spread(x, y) for x, y in zip((early, late), taken, strict=True))
            spared = np.exp(-self.lives.other * left)[:, None, None]
            alive = _spread(alive, self.seen.in_place(left) * spared)
        discount = self.timing.discount(left)
        early = early * self.discount[whole, None]
        late = late * discount[:, None]
        return Tails(whole, whole // self.per_interval, alive, early, late, discount)


def _spread(plain: Floats, less: Floats) -> Floats:
    """(rows, nodes) less (rows, worlds, nodes), as (rows, worlds * nodes)."""
    return np.asarray((plain[:, None, :] - less).reshape(len(plain), -1))
