"""Age replacement over a finite horizon, solved plainly on a close even grid.

Written from the model's text alone, for one curve that is exactly known: J(m) is what a fitting
costs from then on with usage m left, the least over replacing at a service or never. Money is
discounted. No sampling, no spread, no shortcuts: time is cut into steps of `h`, a failure within a
step is half at its beginning and half at its end, and there are as many steps as it takes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class World:
    """`shape`, `scale` of the present part, `life` a new part's factor; `per_year` and `rate`;
    prices as in a case, `lead` the visible lead; `repair` whether an engine follows a failure."""

    shape: float
    scale: float
    interval: float
    per_year: float = 10.0
    rate: float = 0.0
    life: float = 1.0
    planned: float = 0.0
    failure: float = 0.0
    oil: float = 0.0
    worn: float = 0.0
    lead: float = 0.0
    fault: float = 0.0
    fault_price: float = 0.0
    sale: float = 0.0
    repair: bool = True

    def survival(self, age: Floats | float, scale: float | None = None) -> Floats:
        return np.exp(-((np.asarray(age) / (scale or self.scale)) ** self.shape))

    def worth(self, usage: Floats | float) -> Floats:
        return np.asarray((1 + self.rate) ** (-np.asarray(usage) / self.per_year))


@dataclass(frozen=True)
class Solved:
    """On the grid of usage left: the cost from a fitting on, and the chance that nothing fails."""

    h: float
    cost: Floats
    lasts: Floats

    def at(self, left: float) -> tuple[float, float]:
        place = left / self.h
        grid = np.arange(len(self.cost))
        return float(np.interp(place, grid, self.cost)), float(np.interp(place, grid, self.lasts))


def solved(world: World, keep: float, steps: int) -> Solved:
    """J up to `keep`, with `steps` in an interval; `keep` is a whole number of steps."""
    h = world.interval / steps
    count = round(keep / h)
    new = world.scale * world.life
    alive = world.survival(h * np.arange(count + 1), new)
    dies, worth = alive[:-1] - alive[1:], world.worth(h * np.arange(count + 1))
    cost, lasts = np.zeros(count + 1), np.ones(count + 1)
    cost[0] = -world.sale
    fits = world.planned + world.fault * world.fault_price
    for m in range(1, count + 1):
        begin, end = dies[:m] * worth[:m] / 2, dies[:m] * worth[1 : m + 1] / 2
        lost = (begin + end) * world.failure
        if world.repair:
            lost = lost + end * cost[m - 1 :: -1][:m]
            lost[1:] += begin[1:] * cost[m - 1 : 0 : -1]
        spent = np.concatenate([[0.0], np.cumsum(lost)])
        held = math.ceil(m / steps - 1e-9) - 1  # services strictly before keep-until
        oil = world.oil * np.cumsum([0.0, *(alive[j * steps] * worth[j * steps]
                                            for j in range(1, held + 1))])  # fmt: skip
        options = [spent[m] + oil[held] - world.sale * alive[m] * worth[m]]
        for j in range(1, held + 1):
            at = j * steps
            shows = alive[at] - world.survival(h * at + world.lead, new)
            options.append(
                spent[at]
                + oil[j - 1]
                + alive[at] * worth[at] * (fits + cost[m - at])
                + worth[at] * shows * world.worn
            )
        best = int(np.argmin(options))
        # a failure in the first half step leaves as much as was there: J on both sides
        own = dies[0] * worth[0] / 2 if world.repair else 0.0
        cost[m] = options[best] / (1 - own)
        lasts[m] = alive[m] if best == 0 else alive[best * steps] * (1 - world.fault) * (
            lasts[m - best * steps]
        )  # fmt: skip
    return Solved(h, cost, lasts)


def plan(
    world: World, found: Solved, age: float, keep: float, first: float, at: float
) -> tuple[float, float]:
    """Cost, and chance of any failure, of replacing the present part at `at` (inf: never)."""
    h = found.h
    count = round(min(at, keep) / h)
    edges = h * np.arange(count + 1)
    alive = world.survival(age + edges) / world.survival(age)
    dies, worth = alive[:-1] - alive[1:], world.worth(edges)
    left = np.array([found.at(keep - edge)[0] for edge in edges])
    left = left + world.sale * _still(world, found, keep, edges)  # none after a failure
    then = world.failure + (left if world.repair else 0.0 * left)
    cost = float((dies * (worth[:-1] * then[:-1] + worth[1:] * then[1:]) / 2).sum())
    services = np.arange(first, min(at, keep) - 1e-9, world.interval)
    kept = world.survival(age + services) / world.survival(age)
    cost += world.oil * float((kept * world.worth(services)).sum())
    lasts = float(alive[-1])
    if at < keep:
        shows = alive[-1] - float(world.survival(age + at + world.lead) / world.survival(age))
        after, well = found.at(keep - at)
        fits = world.planned + world.fault * world.fault_price
        cost += float(worth[-1]) * (lasts * (fits + after) + shows * world.worn)
        lasts *= (1 - world.fault) * well
    return cost, 1 - lasts


def _still(world: World, found: Solved, keep: float, edges: Floats) -> Floats:
    """What a worth at sale of 1 is worth within J, as J is in `found` without giving up."""
    if not world.repair or world.sale == 0:
        return np.zeros(len(edges))
    return np.asarray(world.worth(keep - edges))
