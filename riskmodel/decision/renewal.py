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
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.cells import cells, cells_per_interval
from riskmodel.decision.lives import Lives
from riskmodel.decision.prices import (
    EVENTS,
    OF_NEW,
    SALE,
    Prices,
)
from riskmodel.decision.renewed import Fitted, Renewal
from riskmodel.decision.rule import Choices, Rule, settle
from riskmodel.decision.stays import Stay, Stays
from riskmodel.decision.timing import AT_THE_END, Timing
from riskmodel.decision.visits import Tails, Urgently, Visits, following, place, read
from riskmodel.decision.watched import (
    BELIEVED,
    FEW_NODES,
    GONE,
    NODES,
    Panels,
    Watch,
    Watched,
    watched,
)
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
        self._other: NewPart | None = None
        self._like: Renewal | None = None
        self._today_like: tuple[Renewal, Ints, tuple[Fitted, ...]] | None = None
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
        self.visits = self._visits(services)

    def _watched(self, watch: Watch, services: Floats, visible_lead: Quantity) -> Watched:
        left = self.left
        ends = np.concatenate([self.edges, left, self._today[0], services + watch.turnaround])
        lives, some = self.lives, self.weight.reshape(self.worlds, -1).max(axis=0) > BELIEVED
        lasting = (lives.scale * GONE ** (1 / lives.shape))[some].max()
        nodes = FEW_NODES if self.timing.coarse else NODES
        panels = Panels(ends, watch.reach, float(lasting), nodes)
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
    def _stay(self) -> Stay:
        at = self.per_interval * np.arange(len(self.services) + 1)
        alive, worn, paid = self.alive[at], self.worn[: len(at)], self.discount[at]
        return Stay(self.early, self.late, alive, worn, paid, self.visits, self.per_interval)

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
        """The same where a failure is put right, or where nothing is owned after it; it is kept,
        with what is worked out for it."""
        if repair == self.repair:
            return self
        if self._other is None:
            other = self._other = copy(self)
            other.repair, other._known, other._like, other._today_like = repair, None, None, None
        return self._other

    def believing(self, weight: Floats) -> NewPart:
        """The same where each node is believed so far; (nodes,)."""
        other = copy(self)
        other.weight, other._known, other._other = weight, None, None
        other.__dict__.pop("_rule", None)
        return other

    def of_world(self, world: int) -> NewPart:
        """The same where that world is the truth. What has been solved for all of them at once is
        tried first."""
        many, size = self.worlds, len(self.lives.shape)
        own = slice(world * size, (world + 1) * size)
        other = copy(self)
        other.__dict__.pop("_rule", None)
        other.__dict__.pop("_stay", None)
        other.weight, other._known, other._other = self.weight[own], None, None
        other.early, other.late = self.early[:, own], self.late[:, own]
        other.alive, other.worn = self.alive[:, own], self.worn[:, own]
        other.visits = self.visits.of_nodes(own)
        other.__dict__["_grid_tails"] = self._grid_tails.of_nodes(own)
        other.__dict__["_today_tails"] = self._today_tails.of_nodes(own)
        other.seen = None  # no more is asked of it than the tails
        if self._like is not None and self._today_like is not None:
            like, (_, rule, solved) = self._like.of_world(world, many), self._today_like
            each = tuple(fitted.of_world(world, many) for fitted in solved)
            other._like, other._today_like = like, (like, rule, each)
        return other

    def follows(self, prices: Prices) -> tuple[Renewal, Fitted]:
        """What follows a replacement later and one today, at the expected prices; those asked for
        last are kept."""
        means, known, before = prices.means(), self._known, self._today_like
        if known is None or not np.array_equal(known[0], means):
            renewal = self._like = self.solve(prices, self._like)
            now = self.fitted_today(renewal, prices)
            if known is not None and before is not None and self._today_like is not None:
                # the same by the same rule
                now = known[2] if self._today_like[2][-1] is before[2][-1] else now
            self._known = known = means, renewal, now
        return known[1:]

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
        known = every[:, :OF_NEW]
        costs = np.einsum("e,lek->lk", price, known)
        tails = self._grid_tails
        urgently = self._urgently(self.left)
        urgent_cost = urgently.of(costs)
        right = (1 - self.faults)[:, None]
        choices = Choices(self._rule, price, tails, self.repair, costs, costs, urgent_cost)
        lattice = np.arange(1, points)
        jobs = urgently.before(lattice, n)
        choices.tell(0 if like is None else slice(None))

        def best(start: int) -> Ints:
            some = lattice[start:]
            return choices.best(some - 1, some, some, n)

        def follow(start: int) -> None:
            nonlocal every, lasts
            if like is not None and every is like.counts:
                every, lasts = every.copy(), lasts.copy()
            counts, new = every[:, :OF_NEW], slice(start + 1, None)
            stays = self._stay.by(rule[start:], tails.since(start), jobs[start:])
            counts[new] = stays.counts
            urgent = urgently.of(counts), urgently.of(lasts)
            for k, i in enumerate(lattice[start:].tolist()):
                # left over after a failure at each cell edge; the first is the unknown itself
                visited = slice(i - n, 0, -n)  # usage left at the services
                mended = self._follow(stays, k, counts[i], counts[i::-1], urgent, visited)
                if by := int(rule[i - 1]):
                    counts[i] += stays.replaced[k] * counts[i - by * n]
                    mended += stays.alive[k] * lasts[i - by * n]
                if self.repair:
                    counts[i] /= 1 - stays.own[k]
                lasts[i] = right * mended + stays.lasts[k]
                urgently.anew(i, urgent[0], counts)
                urgently.anew(i, urgent[1], lasts)
            costs[new] = np.einsum("e,lek->lk", price, counts[new])
            urgent_cost[:] = urgently.of(costs)
            choices.tell(new)

        rule = service[1:].copy()
        settle(rule, best, follow, 0 if like is None else len(rule))
        if like is not None and every is like.counts:
            return like
        service = np.concatenate([service[:1], rule])
        return Renewal(self.left, self.step, self.timing.interval, every, lasts, service)

    def fitted_today(self, renewal: Renewal, prices: Prices) -> Fitted:
        """A part fitted today. Keep-until is not on the grid, so a failure leaves the grid's
        J, interpolated, but each planned replacement along the way exactly what follows."""
        price = prices.means()[:OF_NEW]
        counts = renewal.counts[:, :OF_NEW]
        costs = np.einsum("e,lek->lk", price, counts)
        (left, lattice), tails = self._today, self._today_tails
        right = (1 - self.faults)[:, None]
        urgently = self._urgently(left[lattice])
        urgent_cost = urgently.of(costs)
        each = np.arange(len(lattice))
        if self._today_like is not None and self._today_like[0] is renewal:
            # as far up as the rule is the one found for the same renewal, so is what follows
            rule, solved = self._today_like[1].copy(), list(self._today_like[2])
            known = len(solved)
        else:
            nearest = renewal.service[place(self.left, left[lattice])[0]]
            rule, solved, known = np.minimum(nearest, each), [], 0
        planned = np.zeros((len(lattice), len(self.weight)))  # what those cost
        after_cost = read(costs, *place(self.left, left))
        choices = Choices(self._rule, price, tails, self.repair, after_cost, planned, urgent_cost)
        choices.tell_after(slice(None))

        def tell(start: int) -> None:
            for i in range(start, len(solved)):
                planned[i] = price @ solved[i].counts
            choices.tell_planned(slice(start, None))

        def best(start: int) -> Ints:
            return choices.best(each[start:], lattice[start:], each[start:], 1)

        def follow(start: int) -> None:
            after = read(counts, *place(self.left, left))
            urgent = urgently.of(counts), urgently.of(renewal.lasts)
            jobs = urgently.before(each[start:], 1)
            stays = self._stay.by(rule[start:], tails.since(start), jobs)
            del solved[start:]
            for k, point in enumerate(lattice[start:].tolist()):
                i, found = start + k, stays.counts[k]
                visited = slice(i - 1, None, -1)
                mended = self._follow(stays, k, found, after[point::-1], urgent, visited)
                if self.repair:
                    found += stays.own[k] * after[point]
                if by := int(rule[i]):
                    found += stays.replaced[k] * solved[i - by].counts
                    mended += stays.alive[k] * solved[i - by].lasts
                solved.append(Fitted(found, right * mended + stays.lasts[k]))
            tell(start)

        tell(0)
        settle(rule, best, follow, known)
        self._today_like = renewal, rule, tuple(solved)
        every = np.zeros((len(EVENTS), len(self.weight)))
        every[:OF_NEW] = solved[-1].counts
        return Fitted(every, solved[-1].lasts)

    def _follow(
        self,
        stays: Stays,
        k: int,
        counts: Floats,
        after: Floats,
        urgent: tuple[Floats, Floats],
        visited: slice,
    ) -> Floats:
        """Add to `counts` (events, nodes) of place `k` what follows a failure, as `after` (edges,
        events, nodes) has it, and urgent replacements, whose counts and lasts `urgent` are those of
        the places `visited`; the chance of one after which all goes well, (faults, nodes)."""
        if self.repair:
            whole = int(stays.whole[k])
            if whole:
                counts += np.einsum("lk,lek->ek", self._stay.between[: whole - 1], after[1:whole])
                counts += stays.at_end[k] * after[whole]
            if not stays.service[k]:
                counts += stays.beyond[k] * after[whole + 1]
        jobs = int(stays.jobs[k])
        if not jobs:
            return np.zeros((len(self.faults), counts.shape[1]))
        then, lasts = (each[visited][:jobs] for each in urgent)
        counts += following(self.visits.urgent[:jobs], then)
        return following(self.visits.urgent_chance[:jobs], lasts)

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
