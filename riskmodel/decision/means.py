"""Mean counts of every plan: what a comparison needs that asks for no interval.

A plan's mean count is linear in what follows a replacement, J. So each chance of the present
part is turned once into weights of J's own nodes, and at any prices only J is solved again;
`PresentPart.evaluate` gives the same means node by node.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

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
from riskmodel.decision.renewal import Fitted, Renewal
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
    """One world's chances, each as weights (.., nodes) with which what follows it counts: `now`
    a part fitted today, `planned` (stops, nodes) one at a stop, `lost` by segment one after a
    failure, at points of the grid of usage left from the first told on (.., nodes), `urgent`
    (services, nodes) one after an alarm. `failed`
    (segments,) discounted failures, `alive`, `worn` and `visits` (urgent, urgent_worn, alarms)
    means as in `PresentWorld`, `whole` the world's own weight.
    """

    now: Floats
    planned: Floats
    lost: list[tuple[int, Floats]]
    urgent: Floats | None
    failed: Floats
    alive: Floats
    worn: Floats
    whole: float
    visits: tuple[Floats, Floats, Floats] | None


class Means:
    """The weighted means of what `PresentPart.evaluate` works out for every node, much sooner."""

    def __init__(self, present: PresentPart) -> None:
        self._present = present
        if not present.given:
            present.given.extend(_weights(present))
        self._given = present.given

    def at(self, prices: Prices) -> MeanCounts:
        """The means at given prices, what follows a replacement being best at their means."""
        present = self._present
        renewal, now = present.new_part.follows(prices)
        many, plans = present.new_part.worlds, len(present.stops) + 2
        counts = np.zeros((plans, len(EVENTS)))
        lasts, soon = np.zeros((plans, len(present.new_part.faults))), np.zeros(len(EVENTS))
        for w, given in enumerate(self._given):
            of_world = renewal.of_world(w, many), now.of_world(w, many)
            soon += self._add(counts, lasts, given, *of_world)
        return MeanCounts(np.concatenate([[0.0], present.stops, [np.inf]]), counts, lasts, soon)

    def failing_now(self, prices: Prices) -> Floats:
        """The mean counts where the part fails today; (events,)."""
        new, counts = self._present.new_part, np.zeros(len(EVENTS))
        if new.repair:
            _, now = new.follows(prices)
            for w, given in enumerate(self._given):
                counts += now.of_world(w, new.worlds).counts @ given.now
            counts[SALE] = 0.0
        counts[FAILURE] += 1
        return counts

    def _add(
        self, counts: Floats, lasts: Floats, given: Given, renewal: Renewal, now: Fitted
    ) -> Floats:
        """Add one world's means to `counts` (plans, events) and `lasts` (plans, faults); its share
        of `soon`, (events,)."""
        present, timing = self._present, self._present.timing
        stops, breaks = present.stops, present.breaks.tolist()
        discount = timing.discount(present.edges[breaks])
        right = 1 - present.new_part.faults
        counts[0] += now.counts @ given.now
        counts[0, [FITTING, OPENED]] += given.whole
        counts[0, FOUND_WORN] += given.worn[0]
        lasts[0] += right * (now.lasts @ given.now)
        visits, urgent, mended = self._visits(given, renewal)
        then, then_lasts = (
            f(timing.keep - stops) for f in (renewal.counts_from, renewal.lasts_from)
        )
        spent, soon = np.zeros((2, len(EVENTS)))
        held = given.whole * in_place(present.ends, given.alive * discount / given.whole)
        for i in range(len(breaks)):
            if present.new_part.repair:
                first, lost = given.lost[i]
                spent += np.einsum("lek,lk->e", renewal.counts[first : first + len(lost)], lost)
                spent[SALE] = 0.0  # the worth at sale is for a part replaced before it failed
            spent[FAILURE] += given.failed[i]
            if i == present.first:
                soon = spent.copy()
            n, m = int(present.visited[i]), int(present.mended[i])
            counts[i + 1] += spent + visits[n] + urgent[m]
            counts[i + 1, IN_PLACE] += held[i]
            lasts[i + 1] += mended[m]
            if i == len(stops):
                lasts[-1] += given.alive[-1]
                break
            counts[i + 1] += discount[i] * (then[i] @ given.planned[i])
            counts[i + 1, [FITTING, OPENED]] += given.alive[i] * discount[i]
            counts[i + 1, TOGETHER] += given.alive[i] * discount[i] * present.together[i]
            counts[i + 1, FOUND_WORN] += given.worn[i + 1] * discount[i]
            lasts[i + 1] += right * (then_lasts[i] @ given.planned[i])
        return soon

    def _visits(self, given: Given, renewal: Renewal) -> tuple[Floats, Floats, Floats]:
        """Totals over the services before the j-th: counts of the visits, of urgent jobs and what
        follows them (services + 1, events), and the chance that all goes well after those
        (services + 1, faults)."""
        present, timing = self._present, self._present.timing
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


def _weights(present: PresentPart) -> list[Given]:
    """Each world's chances as weights of what follows: they hang on no price."""
    joined, found = present.joined, []
    segments = list(pairwise([0, *present.breaks.tolist()]))
    left = present.timing.keep - present.edges
    for w, world in enumerate(present.worlds):
        weight = (present.believed[w][:, None] * joined.share).reshape(-1)
        share = world.share * present.believed[w]
        visits = world.visits
        found.append(
            Given(
                now=joined.to_nodes(weight),
                planned=joined.to_nodes(world.alive[:-1] * weight),
                lost=[
                    on_grid(
                        present.new_part.left,
                        left[a : b + 1],
                        joined.curves_to_nodes(share[i, a : b + 1]),
                    )
                    for i, (a, b) in enumerate(segments)
                ],
                urgent=None if visits is None else joined.to_nodes(visits.urgent * weight),
                failed=share.sum(axis=(1, 2)),
                alive=world.alive @ weight,
                worn=world.worn @ weight,
                whole=float(weight.sum()),
                visits=None
                if visits is None
                else (
                    visits.urgent @ weight,
                    visits.urgent_worn @ weight,
                    visits.alarms @ weight,
                ),
            )
        )
    return found


def on_grid(grid: Floats, at: Floats, weights: Floats) -> tuple[int, Floats]:
    """Weights (places, nodes) of what is read at `at` (places,) between the points of `grid`, as
    weights of the points themselves: the first told, and (points, nodes) from there on."""
    below, share = place(grid, at)
    first, last = int(below.min()), int(below.max()) + 1
    shared, place_of = np.zeros((last - first + 1, len(at))), np.arange(len(at))
    shared[below - first, place_of] = 1 - share
    shared[below - first + 1, place_of] = share
    return first, shared @ weights
