"""The plans for the part that is in the engine now, as discounted counts of events."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.lives import VISIBLE_LEAD_POINTS, Joined
from riskmodel.decision.prices import (
    EVENTS,
    FAILURE,
    FITTING,
    FOUND_WORN,
    OIL_CHANGE,
    SALE,
    Prices,
)
from riskmodel.decision.renewal import NewPart, Renewal, cells
from riskmodel.decision.timing import AT_THE_END, Timing
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_survival
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlanCounts:
    """All plans over all nodes; plans are: now, at each service, never.

    `at` (plans,) is the usage from now (inf: never); `counts` (plans, events, nodes) are
    discounted counts; `fails` (plans, nodes) the chance that the present part fails by wear
    before it is replaced; `lasts` (plans, nodes) the chance of no failure at all when no fitting is
    faulty, and `fittings` (plans,) the fittings along that way. `soon` (events, nodes) is
    the part of the counts of every plan but "now" that comes from a failure before the
    first service, `soon_fails` (nodes,) the chance of that. Nodes are the pairs of `Joined`.
    """

    at: Floats
    counts: Floats
    fails: Floats
    lasts: Floats
    fittings: NDArray[np.int64]
    soon: Floats
    soon_fails: Floats

    def failure(self, fault: float) -> Floats:
        """Chance of at least one failure or fitting fault, a fitting being faulty with chance
        `fault`; (plans, nodes)."""
        return np.asarray(1 - self.lasts * (1 - fault) ** self.fittings[:, None])


class PresentPart:
    """Everything about the part in the engine now that prices do not touch."""

    def __init__(
        self,
        age: float,
        curves: Curves,
        joined: Joined,
        timing: Timing,
        visible_lead: Quantity,
        repair: bool,
    ) -> None:
        self.joined, self.timing = joined, timing
        self.new_part = NewPart(joined.lives, timing, visible_lead, repair)
        self.edges, middles, self.breaks = _edges(timing, self.new_part.step)

        def lasts(ahead: Floats) -> Floats:
            return conditional_survival(age, ahead[:, None], curves.shape, curves.scale)

        def spared(ahead: Floats) -> Floats:
            return np.asarray(np.exp(-joined.lives.other * ahead)[:, None])

        edges = lasts(self.edges) * spared(self.edges)
        discount = timing.discount(self.edges)
        early, late = cells(edges[:-1], lasts(middles) * spared(middles), edges[1:])
        # (segments, edges, curves): discounted chance of a failure, taken at each cell's edges
        self.share = np.zeros((len(self.breaks), *edges.shape))
        for i, (a, b) in enumerate(pairwise([0, *self.breaks.tolist()])):
            self.share[i, a:b] += early[a:b] * discount[a:b, None]
            self.share[i, a + 1 : b + 1] += late[a:b] * discount[a + 1 : b + 1, None]
        self.alive = joined.of_curves(edges[self.breaks])
        self.discount = discount[self.breaks]
        self.wear = joined.of_curves(1 - lasts(self.edges[self.breaks]))
        lead, weight = visible_lead.points(VISIBLE_LEAD_POINTS)
        at = np.concatenate([[0.0], timing.services])
        later = sum(w * lasts(at + v) for v, w in zip(lead, weight, strict=True))
        self.worn = joined.of_curves(np.clip(lasts(at) - later, 0.0, None) * spared(at))

    def evaluate(self, prices: Prices) -> tuple[PlanCounts, Renewal]:
        """Counts of every plan, what follows a replacement being best at the mean prices."""
        renewal = self.new_part.solve(prices)
        services, alive = self.timing.services, self.alive
        points = [renewal.point(self.timing.keep - service) for service in services]
        after = self.joined.to_pairs(renewal.counts[points])
        after_lasts = np.clip(self.joined.to_pairs(renewal.lasts[points]), 0.0, 1.0)
        now = self.new_part.fitted_today(renewal, prices)

        plans, pairs = len(services) + 2, len(self.joined.weight)
        counts = np.zeros((plans, len(EVENTS), pairs))
        fails = np.zeros((plans, pairs))
        lasts = np.ones((plans, pairs))
        fittings = np.ones(plans, dtype=np.int64)

        counts[0] = self.joined.to_pairs(now.counts)
        counts[0, FITTING] += 1
        counts[0, FOUND_WORN] += self.worn[0]
        lasts[0] = np.clip(self.joined.to_pairs(now.lasts), 0.0, 1.0)
        fittings[0] += now.fittings

        lost = self._lost(renewal)
        spent = np.cumsum(lost, axis=0)
        oil = np.zeros(pairs)
        for j in range(len(services)):
            kept = alive[j] * self.discount[j]
            counts[j + 1] = spent[j] + kept * after[j]
            counts[j + 1, FITTING] += kept
            counts[j + 1, FOUND_WORN] += self.worn[j + 1] * self.discount[j]
            counts[j + 1, OIL_CHANGE] += oil
            fails[j + 1] = self.wear[j]
            lasts[j + 1] = alive[j] * after_lasts[j]
            fittings[j + 1] += renewal.fittings[points[j]]
            oil = oil + kept
        counts[-1] = spent[-1]
        counts[-1, OIL_CHANGE] += oil
        fails[-1] = self.wear[-1]
        lasts[-1] = alive[-1]
        fittings[-1] = 0
        at = np.concatenate([[0.0], services, [np.inf]])
        return PlanCounts(at, counts, fails, lasts, fittings, lost[0], 1 - alive[0]), renewal

    def _lost(self, renewal: Renewal) -> Floats:
        """Counts that come from a failure of the present part between one service and the
        next; (segments, events, pairs)."""
        joined, events = self.joined, len(EVENTS)
        failed = joined.of_curves(self.share.sum(axis=1))
        if not self.new_part.repair:
            lost = np.zeros((len(failed), events, failed.shape[1]))
            lost[:, FAILURE] = failed
            return lost
        after = renewal.counts_at(self.timing.keep - self.edges)
        after[:, SALE] = 0.0  # the worth at sale is for a part replaced before it failed
        after = after.reshape(len(self.edges), events, -1, joined.scales)
        by_curve = np.empty((len(failed), events, len(joined.row), joined.scales))
        for row in range(after.shape[2]):  # curves of one shape share what follows
            curves = np.flatnonzero(joined.row == row)
            then = after[:, :, row].reshape(len(self.edges), -1)
            lost = self.share[:, :, curves].swapaxes(1, 2) @ then
            by_curve[:, :, curves] = lost.reshape(*lost.shape[:2], events, -1).swapaxes(1, 2)
        lost = joined.blend_rows(by_curve)
        lost[:, FAILURE] += failed
        return lost


def _edges(timing: Timing, step: float) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Cell edges from now to keep-until, the cells' middles, and which edges end a segment
    (each service, then keep-until)."""
    marks = np.concatenate([[0.0], timing.services, [timing.keep]])
    edges, breaks = [0.0], []
    for start, end in pairwise(marks):
        # From a service on, cells of the grid's own step: the usage left falls on its points.
        inner = start + step * np.arange(1, int(np.ceil((end - start) / step - AT_THE_END)))
        edges.extend(inner.tolist())
        edges.append(float(end))
        breaks.append(len(edges) - 1)
    at = np.array(edges)
    return at, (at[:-1] + at[1:]) / 2, np.array(breaks)
