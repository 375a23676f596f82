"""What plans cost and how often something fails where everything is known: the truth that the
intervals of `weigh` are to hold.

Worked out by a recursion of its own, written from the model's text: nothing but dataclasses comes
from the package. Ages, keep-until and all times of plans are whole numbers of a sixteenth of the
oil interval, so that nothing falls between the points of its grid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.simulation.case import Case as Played
from tests.simulation.case import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
CELLS = 16
"""Steps of the grid in one oil interval."""
LEADS = 24


@dataclass(frozen=True)
class Truth:
    """One engine of which all is known, in usage from now: the part's `age` on a Weibull curve of
    `shape` and `scale`, new parts' lives `new_life` times as long, prices, the chance of a fitting
    fault; `visible` is the range of the visible lead."""

    shape: float
    scale: float
    age: float
    new_life: float
    planned: float
    failure: float
    found_worn: float
    oil_change: float
    fault: float
    fault_price: float
    sale: float
    visible: tuple[float, float]
    interval: float
    first: float
    keep: float
    per_year: float
    rate: float

    @property
    def step(self) -> float:
        return self.interval / CELLS

    def discount(self, usage: Floats) -> Floats:
        return np.asarray((1 + self.rate) ** (-usage / self.per_year))

    def worn(self, age: Floats, scale: float) -> Floats:
        """Chance to reach each age (n,) and then to show distress, E[S(age) - S(age + V)]."""
        z, w = np.polynomial.hermite_e.hermegauss(LEADS)
        lead = Quantity.between(*self.visible).at(z)
        later = (w / w.sum()) @ self.alive(age + lead[:, None], scale)
        return np.asarray(self.alive(age, scale) - later)

    def alive(self, age: Floats, scale: float) -> Floats:
        return np.asarray(np.exp(-((np.maximum(age, 0.0) / scale) ** self.shape)))

    def played(self) -> Played:
        """The same as the brute-force simulation takes it."""
        exact = Quantity.exact
        return Played(
            shape=self.shape,
            scale=self.scale,
            age=self.age,
            interval=self.interval,
            next_change_in=self.first,
            usage_per_year=self.per_year,
            keep_usage=self.keep,
            planned=exact(self.planned),
            failure=exact(self.failure),
            found_worn=exact(self.found_worn),
            visible_lead=Quantity.between(*self.visible),
            install_fault=self.fault,
            install_fault_price=exact(self.fault_price),
            rate=self.rate,
            oil_change=exact(self.oil_change),
            sale_credit=exact(self.sale),
            new_part_life=exact(self.new_life),
        )


@dataclass(frozen=True, eq=False)
class Rule:
    """When newly fitted parts are replaced: at the `service` (points,) of the nearest of the
    usages `left` (points,); 0: never. Stands for the simulation's `Policy` too."""

    left: Floats
    service: Ints
    interval: float

    def service_at(self, left: Floats, tolerance: float) -> Ints:
        middle = (self.left[1:] + self.left[:-1]) / 2
        found = self.service[np.searchsorted(middle, np.asarray(left) - tolerance)]
        return np.where(found * self.interval < left - tolerance, found, 0)


@dataclass(frozen=True)
class Known:
    """Of each plan (plans,): expected discounted cost, and the chance of any failure."""

    cost: Floats
    failure: Floats


def _shares(alive: Floats, middle: Floats) -> tuple[Floats, Floats]:
    """The chance of failing in each cell, shared out to its ends by its mean place (Simpson)."""
    start, end = alive[:-1], alive[1:]
    late = np.clip((start + 4 * middle + end) / 6 - end, 0.0, start - end)
    return start - end - late, late


def known(truth: Truth, rule: Rule, at: Floats) -> Known:
    """What the plans that replace at usages `at` (plans,) from now (inf: never) come to, if new
    parts follow `rule`."""
    step, points = truth.step, round(truth.keep / truth.step)
    usage = step * np.arange(points + 1)
    then, lasts = _fitted(truth, rule, usage)
    worth, keep = truth.discount(usage), truth.discount(np.array(truth.keep))
    given = truth.alive(np.array(truth.age), truth.scale)
    alive = truth.alive(truth.age + usage, truth.scale) / given
    middle = truth.alive(truth.age + usage[:-1] + step / 2, truth.scale) / given
    early, late = _shares(alive, middle)
    after = truth.failure + then[::-1]  # at each usage from now: what is left then
    lost = early * worth[:-1] * after[:-1] + late * worth[1:] * after[1:]
    spent = np.concatenate([[0.0], np.cumsum(lost)])
    service = round(truth.first / step) + CELLS * np.arange(points // CELLS + 1)
    oil = np.zeros(points + 1)
    held = service[service < points]
    oil[held] = alive[held] * worth[held] * truth.oil_change
    oil = np.concatenate([[0.0], np.cumsum(oil)])  # before each point
    worn = truth.worn(truth.age + usage, truth.scale) / given
    job = truth.planned + truth.fault * truth.fault_price
    cost = spent + oil[:-1] + worth * (alive * (job + then[::-1]) + worn * truth.found_worn)
    cost = cost - alive * keep * truth.sale
    failure = 1 - alive * (1 - truth.fault) * lasts[::-1]
    cost[points], failure[points] = spent[points] + oil[points], 1 - alive[points]
    where = np.minimum(np.rint(np.minimum(at, truth.keep) / step), points).astype(np.int64)
    return Known(cost[where], failure[where])


def _fitted(truth: Truth, rule: Rule, usage: Floats) -> tuple[Floats, Floats]:
    """What is paid from a fitting on, and the chance that nothing fails, with each usage left
    (points,); the fitting itself left out."""
    step, scale = truth.step, truth.scale * truth.new_life
    alive, worth = truth.alive(usage, scale), truth.discount(usage)
    early, late = _shares(alive, truth.alive(usage[:-1] + step / 2, scale))
    early, late = early * worth[:-1], late * worth[1:]
    worn = truth.worn(usage, scale)
    visit = np.cumsum((alive * worth * truth.oil_change)[CELLS::CELLS])
    visit = np.concatenate([[0.0], visit])  # cost of so many oil changes
    job = truth.planned + truth.fault * truth.fault_price
    services = rule.service_at(usage, 1e-9 * truth.keep)
    paid, lasts = np.zeros(len(usage)), np.ones(len(usage))
    for i in range(1, len(usage)):
        number = int(services[i])
        due = number * CELLS if number else i
        most = number - 1 if number else (i - 1) // CELLS
        after = truth.failure + paid[i - due : i + 1][::-1]
        found = early[:due] @ after[:-1] + late[:due] @ after[1:] + visit[most]
        lasts[i] = alive[due]
        if number:
            found += worth[due] * (
                alive[due] * (job + paid[i - due]) + worn[due] * truth.found_worn
            )
            lasts[i] *= (1 - truth.fault) * lasts[i - due]
        paid[i] = found / (1 - early[0])  # a failure at once leaves the same again
    return paid, lasts
