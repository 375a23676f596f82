"""The plans for the part that is in the engine now, as discounted counts of events."""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.cells import cells, cells_per_interval, edges_of
from riskmodel.decision.lives import VISIBLE_LEAD_POINTS, Joined
from riskmodel.decision.present_world import PresentWorld, SampleVisits, Segments
from riskmodel.decision.prices import (
    EVENTS,
    FAILURE,
    FITTING,
    FOUND_WORN,
    IN_PLACE,
    INVESTIGATION,
    OF_NEW,
    OIL_CHANGE,
    OPENED,
    SALE,
    SAMPLE,
    TOGETHER,
    URGENT,
    Prices,
)
from riskmodel.decision.renewal import NewPart
from riskmodel.decision.renewed import Fitted, Renewal
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.timing import AT_THE_END, Timing
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
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import (
    conditional_survival,
    density_ahead,
    remaining_quantile,
)
from riskmodel.records.quantity import Quantity

if TYPE_CHECKING:
    from riskmodel.decision.abreast import Abreast
    from riskmodel.decision.means import Given

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class PlanCounts:
    """All plans over all nodes, or over some; plans are: now, at each stop (the services, and what
    other times were asked for), never.

    Nodes are worlds by the pairs of `Joined`, pairs running fastest. `at` (plans,) is the
    usage from now (inf: never); `counts` (plans, events, nodes) are discounted counts; `lasts`
    (plans, faults, nodes) the chance of no failure and no faulty fitting at each of the chances
    `faults` (faults,) of a fault. Over all nodes always: `fails` (plans, nodes) the chance that the
    present part fails by wear before it is replaced, `alarm` (plans, nodes) that an alarm leads to
    its urgent replacement.
    """

    at: Floats
    counts: Floats
    fails: Floats
    alarm: Floats
    lasts: Floats
    faults: Floats


class PresentPart:
    """Everything about the part in the engine now that prices do not touch.

    `weight` (nodes,) is how far each node is believed once the samples taken so far are in, and
    `likely` (worlds, curves) how likely these are over no distress. `fitted` is the newly fitted
    part of a case that differs in no more than what is known of the present one.
    """

    def __init__(
        self,
        age: float | Floats,
        curves: Curves,
        joined: Joined,
        timing: Timing,
        visible_lead: Quantity,
        repair: bool,
        faults: Floats,
        watch: Sampling | Abreast | None = None,
        others: Floats | None = None,
        together: float | None = None,
        fitted: NewPart | None = None,
    ) -> None:
        self.joined, self.timing = joined, timing
        self.watch = watch if isinstance(watch, Sampling) else None
        self.given: list[Given] = []  # kept by `Means`, and shared where failures are put right
        step = timing.interval / cells_per_interval(timing)
        services = timing.services
        self.stops = np.sort(np.concatenate([services, [] if others is None else others]))
        self.together = np.full(len(self.stops), False)
        if together is not None:  # the stop that is another job's; not the service it may fall on
            self.together = self.stops == together
        self.edges, middles, self.breaks = edges_of(timing, step, self.stops)
        self.segments = Segments(self.breaks)
        # the stop at the first service; keep-until where none comes before
        self.first = int(np.searchsorted(self.stops, services[0] if len(services) else np.inf))
        # services before each stop, and before keep-until; of those, urgent jobs done by then
        self.visited = np.searchsorted(services, np.append(self.stops, np.inf))
        turnaround = 0.0 if watch is None else watch.turnaround
        near = AT_THE_END * timing.keep
        done = np.searchsorted(services + turnaround, np.append(self.stops, np.inf) + near)
        self.mended = np.minimum(done, self.visited)

        def lasts(ahead: Floats) -> Floats:
            return conditional_survival(age, ahead[:, None], curves.shape, curves.scale)

        def spared(ahead: Floats) -> Floats:
            return np.asarray(np.exp(-joined.lives.other * ahead)[:, None])

        lasting = lasts(self.edges)
        edges = lasting * spared(self.edges)
        early, late = cells(edges[:-1], lasts(middles) * spared(middles), edges[1:])
        at = np.concatenate([[0.0], self.stops])
        lead, chance = visible_lead.points(VISIBLE_LEAD_POINTS)
        later = sum(w * lasts(at + v) for v, w in zip(lead, chance, strict=True))
        worn = np.clip(lasts(at) - later, 0.0, None)

        believed, seen = curves.weight[None], None
        self.likely = np.ones((1, len(curves)))
        if watch is not None:
            seen = self._watched(age, curves, services, visible_lead, watch)
            self.likely = evidence = 1 - seen.in_place(np.zeros(1))[0]
            believed = watch.weight[:, None] * curves.weight * evidence
            believed = believed / believed.sum()
        worlds = len(believed)
        self.believed = believed
        self.weight = (believed[:, :, None] * joined.share).reshape(-1)
        tells = watch is not None and watch.sampled
        told = believed if tells else believed.sum(axis=0)[None]  # worlds tell new parts apart
        weight = np.concatenate([joined.believed(each) for each in told])
        self.new_part = (
            NewPart(
                joined.lives, timing, visible_lead, repair, faults, weight, watch if tells else None
            )
            if fitted is None
            else fitted.repairing(repair).believing(weight)
        )
        self.worlds: list[PresentWorld] = []
        ends, still = self.ends, lasting[self.breaks]
        if seen is None or watch is None:
            alive, found = edges[self.breaks], worn * spared(at)
            self.worlds.append(self._world(early, late, alive, 1 - still, found, None))
            return
        less = seen.between(self.edges[:-1], self.edges[1:])  # all by world from here on
        early, late = (
            (x[:, None] - y) / evidence for x, y in zip((early, late), less, strict=True)
        )
        still = (still[:, None] - seen.in_place(ends)) / evidence
        alive = still * spared(ends)[:, None]
        after, urgent = services + watch.turnaround, seen.urgent / evidence
        happens = after < timing.keep * (1 - AT_THE_END)
        gone = np.tensordot((happens & (after <= ends[:, None])) / spared(after).T, urgent, 1)
        wear = 1 - still - gone
        found = np.maximum((worn[:, None] - seen.worn) / evidence, 0.0) * spared(at)[:, None]
        visits = SampleVisits(urgent, seen.urgent_worn / evidence, seen.alarms / evidence, happens)
        for w in range(worlds):
            of = itemgetter(np.s_[:, w])
            chances = of(early), of(late), of(alive), of(wear), of(found)
            self.worlds.append(self._world(*chances, visits.map(of)))

    def repairing(self, repair: bool) -> PresentPart:
        """The same where a failure is put right, or where nothing is owned after it: no chance of
        the present part hangs on that."""
        if repair == self.new_part.repair:
            return self
        other = copy(self)
        other.new_part = self.new_part.repairing(repair)
        return other

    def of_world(self, world: int, watch: Sampling) -> PresentPart:
        """The same where that world is the truth, whose samples tell what `watch` does."""
        other = copy(self)
        believed = self.believed[world] / self.believed[world].sum()
        other.watch, other.worlds, other.given = watch, [self.worlds[world]], []
        other.likely, other.believed = self.likely[[world]], believed[None]
        other.weight = (believed[:, None] * self.joined.share).ravel()
        new = self.new_part if self.new_part.worlds == 1 else self.new_part.of_world(world)
        other.new_part = new.believing(self.joined.believed(believed))
        return other

    @property
    def ends(self) -> Floats:
        """When each segment ends: the stops, then keep-until."""
        return self.edges[self.breaks]

    def _watched(
        self,
        age: float | Floats,
        curves: Curves,
        services: Floats,
        visible_lead: Quantity,
        watch: Watch,
    ) -> Watched:
        ends = np.concatenate([self.edges, services + watch.turnaround])
        shape, scale, some = curves.shape, curves.scale, curves.weight > BELIEVED
        lasting = remaining_quantile(-np.expm1(-GONE), age, shape, scale)[some].max()
        nodes = FEW_NODES if self.timing.coarse else NODES
        panels = Panels(ends, watch.reach, float(lasting), nodes)
        ahead = panels.at[:, None]
        return watched(
            panels,
            density_ahead(age, ahead, shape, scale),
            conditional_survival(age, services[:, None], shape, scale),
            services,
            watch.turnaround,
            watch.false_alarm,
            watch.of_present_part(services, panels.at),
            visible_lead,
            self.joined.lives.other,
            self.stops,
        )

    def _world(
        self,
        early: Floats,
        late: Floats,
        alive: Floats,
        wear: Floats,
        worn: Floats,
        visits: SampleVisits | None,
    ) -> PresentWorld:
        """Chances in one world, over curves."""
        discount = self.timing.discount(self.edges)[:, None]
        share = self.segments.share(early * discount[:-1], late * discount[1:])
        return PresentWorld(share, alive, wear, worn, visits, len(self.joined.share))

    def evaluate(
        self, prices: Prices, only: Iterable[int] | None = None, nodes: Ints | None = None
    ) -> tuple[PlanCounts, Renewal]:
        """Counts of every plan, or of those numbered in `only`, in order of time, at every node, or
        at some `nodes` in rising order; what follows a replacement is best at the mean prices."""
        plans = np.arange(len(self.stops) + 2) if only is None else np.unique(list(only))
        renewal, now = self.new_part.follows(prices)
        many = self.new_part.worlds
        size = len(self.weight) if nodes is None else len(nodes)
        counts = np.empty((len(plans), len(EVENTS), size))
        lasts, done = np.empty((len(plans), len(self.new_part.faults), size)), 0
        for w, (world, joined) in enumerate(self.at_nodes(nodes)):
            some = slice(done, done := done + len(joined.weight))
            follows = renewal.of_world(w, many), now.of_world(w, many)
            counts[..., some], lasts[..., some] = self._evaluate(world, joined, *follows, plans)
        at = np.concatenate([[0.0], self.stops, [np.inf]])[plans]
        own = (self._own(world, plans) for world in self.worlds)
        fails, alarm = (np.concatenate(each, axis=-1) for each in zip(*own, strict=True))
        return PlanCounts(at, counts, fails, alarm, lasts, self.new_part.faults), renewal

    @property
    def soon(self) -> Floats:
        """The chance that the part, left in, fails before the first service; (nodes,)."""
        # a part replaced on the spot for what its sample shows has not failed
        lasts = np.concatenate([1 - world.failed[self.first] for world in self.worlds])
        spared = np.exp(-self.joined.lives.other * self.ends[self.first])
        return 1 - self.joined.of_curves(lasts * spared)

    def failing_now(self, prices: Prices, nodes: Ints) -> Floats:
        """Counts where the part fails today, at some `nodes` in rising order; (events, nodes)."""
        counts = np.zeros((len(EVENTS), len(nodes)))
        if self.new_part.repair:
            _, now = self.new_part.follows(prices)
            many = self.new_part.worlds
            found = [
                joined.to_pairs(now.of_world(w, many).counts)
                for w, (_, joined) in enumerate(self.at_nodes(nodes))
            ]
            counts = np.concatenate(found, axis=-1)
            counts[SALE] = 0.0  # the worth at sale is for a part replaced before it failed
        counts[FAILURE] += 1
        return counts

    def at_nodes(self, nodes: Ints | None) -> Iterable[tuple[PresentWorld, Joined]]:
        """Each world with its pairs, or with those of `nodes` alone."""
        size = len(self.joined.weight)
        for w, world in enumerate(self.worlds):
            if nodes is None:
                yield world.over_pairs(), self.joined
            else:
                pairs = nodes[(nodes >= w * size) & (nodes < (w + 1) * size)] - w * size
                yield world.only(pairs), self.joined.only(pairs)

    def _own(self, world: PresentWorld, chosen: Ints) -> tuple[Floats, Floats]:
        """In one world: fails and alarm of the plans `chosen`; (plans, pairs) each."""
        fails, alarm = np.zeros((2, len(chosen), world.failed.shape[1]))
        for p, i in enumerate((chosen - 1).tolist()):
            if i >= 0:
                fails[p] = world.failed[i]
            if i >= 0 and world.visits is not None:
                done = np.flatnonzero(world.visits.happens[: self.mended[i]])
                alarm[p] = world.visits.urgent[done].sum(axis=0)
        return self.joined.of_curves(fails), self.joined.of_curves(alarm)

    def _evaluate(
        self, world: PresentWorld, joined: Joined, renewal: Renewal, now: Fitted, chosen: Ints
    ) -> tuple[Floats, Floats]:
        """In one world: counts and lasts of the plans `chosen`."""
        renewal = replace(renewal, counts=renewal.counts[:, :OF_NEW])  # no others follow
        timing, alive = self.timing, world.alive
        stops, discount = self.stops, timing.discount(self.edges[self.breaks])
        # the segment that a plan other than "now" ends with, and the stop it then replaces at
        ends = chosen[chosen > 0] - 1
        left = timing.keep - stops[ends[ends < len(stops)]]
        after = joined.to_pairs(renewal.counts_from(left))
        right = (1 - self.new_part.faults)[:, None]

        def to_last(values: Floats) -> Floats:
            return np.clip(joined.to_pairs(values), 0.0, 1.0) * right

        after_lasts = to_last(renewal.lasts_from(left))
        plans, pairs = len(chosen), len(joined.weight)
        counts = np.zeros((plans, len(EVENTS), pairs))
        lasts = np.ones((plans, len(right), pairs))

        if len(ends) < plans:
            counts[0] = joined.to_pairs(now.counts)
            counts[0, FITTING] += 1
            counts[0, OPENED] = 1
            counts[0, FOUND_WORN] += world.worn[0]
            lasts[0] = to_last(now.lasts)

        services = timing.services
        spent = np.cumsum(self._lost(world.share, joined, renewal, ends), axis=0)
        at_services = alive[np.searchsorted(stops, services)] * timing.discount(services)[:, None]
        visits = _Visited(len(services), len(right), pairs)
        for j in range(len(services)):
            visits.add(j, at_services[j], world.visits, float(timing.discount(services[j])))
        if world.visits is not None and self.watch is not None:
            rest = np.maximum(timing.keep - services - self.watch.turnaround, 0.0)
            then = joined.to_pairs(renewal.counts_from(rest)), to_last(renewal.lasts_from(rest))
            paid = timing.discount(services + self.watch.turnaround)
            for j in range(len(services)):
                visits.add_urgent(j, world.visits, float(paid[j]), then[0][j], then[1][j])
        held = in_place(self.ends, alive * discount[:, None])
        for k, i in enumerate(ends.tolist()):
            p, n, m = k + plans - len(ends), int(self.visited[i]), int(self.mended[i])
            counts[p] = visits.counts[n] + visits.urgent[m]
            counts[p, :OF_NEW] += spent[k]
            counts[p, IN_PLACE] = held[i]
            lasts[p] = visits.lasts[m]
            if i == len(stops):
                lasts[p] += alive[-1]
                break
            kept = alive[i] * discount[i]
            counts[p, :OF_NEW] += kept * after[k]
            counts[p, FITTING] += kept
            counts[p, OPENED] += kept
            counts[p, TOGETHER] = kept * self.together[i]
            counts[p, FOUND_WORN] += world.worn[i + 1] * discount[i]
            lasts[p] += alive[i] * after_lasts[k]
        return counts, lasts

    def _lost(self, share: Floats, joined: Joined, renewal: Renewal, until: Ints) -> Floats:
        """Counts that come from a failure of the present part from the end of one of the segments
        `until` to the end of the next; (until, events of new parts, pairs)."""
        events = OF_NEW
        if not len(until):
            return np.zeros((0, events, len(joined.weight)))
        ends = self.segments.end[until]
        starts = np.concatenate([[0], ends[:-1]])
        failed = joined.of_curves(np.add.reduceat(share[: ends[-1]], starts, axis=0))
        if not self.new_part.repair:
            lost = np.zeros((len(failed), events, failed.shape[1]))
            lost[:, FAILURE] = failed
            return lost
        after = renewal.counts_at(self.timing.keep - self.edges)
        after[:, SALE] = 0.0  # the worth at sale is for a part replaced before it failed
        after = after[self.segments.edge].reshape(len(share), events, -1, joined.scales)
        lost = np.empty((len(failed), events, len(joined.row), joined.blend.shape[1]))
        spans = list(zip(starts.tolist(), ends.tolist(), strict=True))
        for shape, curves in joined.by_shape:  # curves of one shape share what follows
            failing, then = share[:, curves].T, after[:, :, shape].reshape(len(share), -1)
            at_scales = np.stack([failing[:, a:b] @ then[a:b] for a, b in spans], axis=1)
            at_scales = at_scales.reshape(len(curves), -1, joined.scales)
            own = at_scales @ joined.blend[curves].swapaxes(1, 2)
            own = own.reshape(len(curves), len(spans), events, -1)
            lost[:, :, curves] = own.transpose(1, 2, 0, 3)
        lost = lost.reshape(*lost.shape[:2], -1)
        lost[:, FAILURE] += failed
        return lost


class _Visited:
    """What the services visited so far have led to, those before the j-th at index j: `counts` of
    the visits, of `urgent` jobs and what follows them (services + 1, events, pairs), and the
    chance of such a job and that all goes well after it, `lasts` (.., faults, pairs)."""

    def __init__(self, services: int, faults: int, pairs: int) -> None:
        self.counts, self.urgent = np.zeros((2, services + 1, len(EVENTS), pairs))
        self.lasts = np.zeros((services + 1, faults, pairs))

    def add(self, j: int, kept: Floats, visits: SampleVisits | None, paid: float) -> None:
        """The visit at service `j` of parts in place, `kept` (pairs,) discounted."""
        self.counts[j + 1] = self.counts[j]
        self.counts[j + 1, OIL_CHANGE] += kept
        if visits is not None:
            self.counts[j + 1, SAMPLE] += kept
            self.counts[j + 1, INVESTIGATION] += visits.alarms[j] * paid

    def add_urgent(
        self, j: int, visits: SampleVisits, paid: float, after: Floats, after_lasts: Floats
    ) -> None:
        """The urgent job that the sample at service `j` leads to."""
        for total in (self.urgent, self.lasts):
            total[j + 1] = total[j]
        if visits.happens[j]:
            self.urgent[j + 1, [URGENT, OPENED]] += visits.urgent[j] * paid
            self.urgent[j + 1, FOUND_WORN] += visits.urgent_worn[j] * paid
            self.urgent[j + 1, :OF_NEW] += visits.urgent[j] * paid * after
            self.lasts[j + 1] += visits.urgent[j] * after_lasts


def in_place(ends: Floats, alive: Floats) -> Floats:
    """Usage in place up to each of `ends` (segments,), discounted, from the discounted chance
    `alive` (segments, ...) to be in place there; a straight line in each segment."""
    before = np.concatenate([np.ones_like(alive[:1]), alive[:-1]])
    width = np.diff(ends, prepend=0.0).reshape(-1, *[1] * (alive.ndim - 1))
    return np.asarray(np.cumsum(width * (before + alive) / 2, axis=0))
