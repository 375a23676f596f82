"""Mean counts of every plan: what a comparison needs that asks for no interval.

A plan's mean count is linear in what follows a replacement, J. So each chance of the present
part is turned once into weights of J's own nodes, and at any prices only J is solved again;
`PresentPart.evaluate` gives the same means node by node.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.plans import PresentPart, in_place
from riskmodel.decision.prices import (
    EVENTS,
    FAILURE,
    FITTING,
    FOUND_WORN,
    IN_PLACE,
    INVESTIGATION,
    OIL_CHANGE,
    OPENED,
    SALE,
    SAMPLE,
    TOGETHER,
    URGENT,
    Prices,
)
from riskmodel.decision.renewed import Fitted, Renewal
from riskmodel.decision.visits import place

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MeanCounts:
    """Means over all nodes: `counts` (plans, events), `lasts` (plans, faults); see `PlanCounts`.
    `soon` (events,) is the part of the counts of every plan but "now" that comes from a failure
    before the first service."""

    at: Floats
    counts: Floats
    lasts: Floats
    soon: Floats


@dataclass(frozen=True, slots=True)
class Given:
    """The chances of all worlds, each as weights (.., nodes) with which what follows it counts:
    `now` a part fitted today, `planned` (stops, nodes) one at a stop, `lost` by segment one after
    a failure, at points of the grid of usage left from the first told on (.., nodes), `urgent`
    (services, nodes) one after an alarm. `failed` (segments,) discounted failures, `alive`, `worn`
    and `visits` (urgent, urgent_worn, alarms) means as in `PresentWorld`.
    """

    now: Floats
    planned: Floats
    lost: list[tuple[int, Floats]]
    urgent: Floats | None
    failed: Floats
    alive: Floats
    worn: Floats
    visits: tuple[Floats, Floats, Floats] | None


class Means:
    """The weighted means of what `PresentPart.evaluate` works out for every node, much sooner."""

    def __init__(self, present: PresentPart) -> None:
        self._present = present
        if not present.given:
            present.given.append(_weights(present))
        self._given = present.given[0]
        self._last: tuple[Renewal, Fitted, MeanCounts] | None = None

    def at(self, prices: Prices) -> MeanCounts:
        """The means at given prices, what follows a replacement being best at their means."""
        present, timing, given = self._present, self._present.timing, self._given
        renewal, now = present.new_part.follows(prices)
        if self._last is not None and self._last[0] is renewal and self._last[1] is now:
            return self._last[2]  # no price enters but by the rule
        stops, breaks = present.stops, present.breaks.tolist()
        counts = np.zeros((len(stops) + 2, len(EVENTS)))
        lasts = np.zeros((len(stops) + 2, len(present.new_part.faults)))
        discount = timing.discount(present.ends)
        right = 1 - present.new_part.faults
        counts[0] = now.counts @ given.now
        counts[0, [FITTING, OPENED]] += 1
        counts[0, FOUND_WORN] += given.worn[0]
        lasts[0] = right * (now.lasts @ given.now)
        visits, urgent, mended = self._visits(renewal)
        then, then_lasts = (
            f(timing.keep - stops) for f in (renewal.counts_from, renewal.lasts_from)
        )
        spent, soon = np.zeros((2, len(EVENTS)))
        held = in_place(present.ends, given.alive * discount)
        for i in range(len(breaks)):
            if present.new_part.repair:
                first, lost = given.lost[i]
                spent += np.einsum("lek,lk->e", renewal.counts[first : first + len(lost)], lost)
                spent[SALE] = 0.0  # the worth at sale is for a part replaced before it failed
            spent[FAILURE] += given.failed[i]
            if i == present.first:
                soon = spent.copy()
            n, m = int(present.visited[i]), int(present.mended[i])
            counts[i + 1] = spent + visits[n] + urgent[m]
            counts[i + 1, IN_PLACE] += held[i]
            lasts[i + 1] = mended[m]
            if i == len(stops):
                lasts[-1] += given.alive[-1]
                break
            counts[i + 1] += discount[i] * (then[i] @ given.planned[i])
            counts[i + 1, [FITTING, OPENED]] += given.alive[i] * discount[i]
            counts[i + 1, TOGETHER] += given.alive[i] * discount[i] * present.together[i]
            counts[i + 1, FOUND_WORN] += given.worn[i + 1] * discount[i]
            lasts[i + 1] += right * (then_lasts[i] @ given.planned[i])
        at = np.concatenate([[0.0], stops, [np.inf]])
        self._last = renewal, now, MeanCounts(at, counts, lasts, soon)
        return self._last[2]

    def failing_now(self, prices: Prices) -> Floats:
        """The mean counts where the part fails today; (events,)."""
        new, counts = self._present.new_part, np.zeros(len(EVENTS))
        if new.repair:
            _, now = new.follows(prices)
            counts += now.counts @ self._given.now
            counts[SALE] = 0.0
        counts[FAILURE] += 1
        return counts

    def _visits(self, renewal: Renewal) -> tuple[Floats, Floats, Floats]:
        """Totals over the services before the j-th: counts of the visits, of urgent jobs and what
        follows them (services + 1, events), and the chance that all goes well after those
        (services + 1, faults)."""
        present, timing, given = self._present, self._present.timing, self._given
        services, right = timing.services, 1 - present.new_part.faults
        visits, urgent = np.zeros((2, len(services) + 1, len(EVENTS)))
        mended = np.zeros((len(services) + 1, len(right)))
        kept = given.alive[np.searchsorted(present.stops, services)] * timing.discount(services)
        visits[1:, OIL_CHANGE] = kept
        sampled = present.worlds[0].visits
        if given.visits is not None and given.urgent is not None and sampled is not None:
            turnaround = 0.0 if present.watch is None else present.watch.turnaround
            rest = np.maximum(timing.keep - services - turnaround, 0.0)
            then, then_lasts = renewal.counts_from(rest), renewal.lasts_from(rest)
            paid = timing.discount(services + turnaround) * sampled.happens
            taken, worn, alarms = given.visits
            visits[1:, SAMPLE] = kept
            visits[1:, INVESTIGATION] = alarms * timing.discount(services)
            urgent[1:] = paid[:, None] * np.einsum("jek,jk->je", then, given.urgent)
            urgent[1:, [URGENT, OPENED]] += (taken * paid)[:, None]
            urgent[1:, FOUND_WORN] += worn * paid
            mended[1:] = right * np.einsum("jfk,jk->jf", then_lasts, given.urgent)
            mended[1:] *= sampled.happens[:, None]
        return tuple(np.cumsum(each, axis=0) for each in (visits, urgent, mended))  # type: ignore[return-value]


def _weights(present: PresentPart) -> Given:
    """The chances of all worlds as weights of what follows: they hang on no price."""
    joined, segments, new = present.joined, present.segments, present.new_part
    worlds, believed = present.worlds, present.believed
    sampled = [w.visits for w in worlds if w.visits is not None]

    def follows(chances: Iterable[Floats]) -> Floats:
        each = [chance * weight for chance, weight in zip(chances, believed, strict=True)]
        if new.worlds == 1:
            return joined.curves_to_nodes(np.sum(each, axis=0))
        # by world where its new parts are its own
        found = joined.curves_to_nodes(np.concatenate(each))
        return np.concatenate(np.split(found, len(each)), axis=1)

    def mean(values: Iterable[Floats]) -> Floats:
        each = zip(values, believed, strict=True)
        return np.asarray(np.sum([value @ weight for value, weight in each], axis=0))

    lost = follows(w.share for w in worlds)
    left = present.timing.keep - present.edges[segments.edge]
    rows = [slice(a, b) for a, b in zip(segments.first, segments.end, strict=True)]
    return Given(
        now=new.weight,
        planned=follows(w.alive[:-1] for w in worlds),
        lost=[on_grid(new.left, left[each], lost[each]) for each in rows],
        urgent=follows(v.urgent for v in sampled) if sampled else None,
        failed=np.add.reduceat(mean(w.share for w in worlds), segments.first),
        alive=mean(w.alive for w in worlds),
        worn=mean(w.worn for w in worlds),
        visits=(
            mean(v.urgent for v in sampled),
            mean(v.urgent_worn for v in sampled),
            mean(v.alarms for v in sampled),
        )
        if sampled
        else None,
    )


def on_grid(grid: Floats, at: Floats, weights: Floats) -> tuple[int, Floats]:
    """Weights (places, nodes) of what is read at `at` (places,) between the points of `grid`, as
    weights of the points themselves: the first told, and (points, nodes) from there on."""
    below, share = place(grid, at)
    first, last = int(below.min()), int(below.max()) + 1
    shared, place_of = np.zeros((last - first + 1, len(at))), np.arange(len(at))
    shared[below - first, place_of] = 1 - share
    shared[below - first + 1, place_of] = share
    return first, shared @ weights
