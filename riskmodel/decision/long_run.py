"""Age replacement over the long run: the age that costs least per unit of usage.

The rule is the textbook one (Barlow & Hunter 1960, Operations Research 8, 90-100; Barlow & Proschan
1965): a part is replaced when it fails or at age T, whichever comes first, by a new one of the
same life, for ever, nothing discounted. Over one part's time

    C(T) = [Cp S(T) + w W(T) + Cf (1 - S(T))] / integral of S from 0 to T

with S(T) the chance to reach T, Cp all that a planned replacement costs (the job and what a fitting
fault costs on average), Cf all that a failure costs (its consequences included, the planned price
not on top), and w what it costs more where the part proves worn, W(T) the chance that it reaches
T and does. Where w = 0, at the best age C(T) = (Cf - Cp) h(T), h the hazard. Samples, oil changes
and the worth at sale are left out: they are the same at every age, or not part of this rule.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar

from riskmodel.decision.lives import VISIBLE_LEAD_POINTS, join
from riskmodel.decision.payments import World
from riskmodel.decision.possible import drawn
from riskmodel.decision.prepared import Prepared
from riskmodel.decision.prices import FAILURE, FITTING, FOUND_WORN
from riskmodel.decision.results import Interval, LongRun
from riskmodel.life.in_service import LONGEST, InService, worn_out
from riskmodel.life.weibull import survival
from riskmodel.records.quantity import Quantity
from riskmodel.risk.forecast import TAIL

Floats = NDArray[np.float64]

MORE_SCALES = 6
"""Scales more than plans need: a rate bends more sharply with the life."""
WITHIN = 0.05
"""Ages that cost no more than this share above the least are as good (judgement)."""
NEVER = 1e-9
"""An age that saves no more than this share of the cost of never replacing saves nothing."""
DRAWS = 512
"""Of the draws of what is not known, those that the intervals here are over."""
SCAN = 48
"""Ages, evenly spread in the log, among which a least is sought."""
CLOSE = 1.02
"""A hollow of the scan within so much of its least may hold the least itself."""
DECADES = 4.0
CLOSER = 0.2
"""How far down that reaches from the end of a life, in powers of ten; and how much closer the
second search lies."""
FARTHEST = 1e3
"""No age beyond so many lives is looked at: it is never."""
CURVE_POINTS = 49
BLOCK = 1 << 13
"""Ages by nodes worked on at once, each at all points over the visible lead: they stay in the
processor's cache."""


@dataclass(frozen=True, eq=False)
class Replaced:
    """Parts of known life curves, each replaced for ever by its like; arrays (nodes,), or one
    number for all.

    `shape` and `scale` are Weibull, `other` the constant rate of failures of other causes, per
    usage; `planned`, `failure` and `worn` the costs Cp, Cf and w of the module; `visible_lead` how
    long before failure a look shows distress.
    """

    shape: Floats
    scale: Floats
    planned: Floats | float
    failure: Floats | float
    worn: Floats | float = 0.0
    other: Floats | float = 0.0
    visible_lead: Quantity | None = None

    def reaches(self, age: Floats | float) -> Floats:
        """S, the chance to last to `age` (..., nodes), whatever would end it."""
        alive = survival(age, self.shape, self.scale)
        return np.asarray(alive * self._spared(age))

    def in_service(self, age: Floats | float) -> Floats:
        """Mean usage until the part is replaced at `age` (..., nodes) or fails; `age` may be
        infinite."""
        if not np.any(self.other):
            return worn_out(age, self.shape, self.scale)
        return self._time.until(age)

    @cached_property
    def _time(self) -> InService:
        return InService(self.shape, self.scale, self.other)

    def cost(self, age: Floats | float) -> Floats:
        """C, the cost per unit of usage of replacing at `age` (..., nodes)."""
        alive = self.reaches(age)
        spent = self.planned * alive + self.failure * (1 - alive)
        if np.any(self.worn) and self.visible_lead is not None:
            spent = spent + self.worn * self._found_worn(age, alive, self.visible_lead)
        return np.asarray(spent / self.in_service(age))

    def never(self) -> Floats:
        """C where only failures end a part's time; (nodes,)."""
        return np.asarray(self.failure / self.in_service(np.inf))

    def _found_worn(self, age: Floats | float, alive: Floats, visible: Quantity) -> Floats:
        """W: the chance to last to `age` and to fail by wear within the visible lead of it."""
        lead, share = visible.points(VISIBLE_LEAD_POINTS)
        at = np.asarray(age) + lead.reshape(-1, *[1] * max(np.ndim(age), 1))
        later = np.tensordot(share, survival(at, self.shape, self.scale), 1)
        return np.asarray(np.clip(alive - later * self._spared(age), 0.0, None))

    def _spared(self, age: Floats | float) -> Floats | float:
        """The chance of no failure of another cause by `age`."""
        return np.exp(-np.asarray(self.other) * age) if np.any(self.other) else 1.0

    def best_ages(self) -> Floats:
        """For each node the age that costs least, infinite where none costs less than never.

        The least of `SCAN` ages, then twice that of a parabola, through it and its neighbours and
        through ages closer by: to better than a thousandth, where the curve matters far more.
        """
        step = DECADES * np.log(10.0) / (SCAN - 1)
        end = np.log(self.scale) + np.log(LONGEST) / self.shape
        log_age = end - step * np.arange(SCAN)[::-1, None]
        cost = self.cost(np.exp(log_age))
        best = np.clip(np.argmin(cost, axis=0), 1, SCAN - 2)
        node = np.arange(len(self.shape))
        near = np.stack([cost[best + i, node] for i in (-1, 0, 1)])
        found = log_age[best, node] + _vertex(near, step)
        around = CLOSER * step * np.array([[-1.0], [0.0], [1.0]])
        near = self.cost(np.exp(found + around))
        found = found + _vertex(near, CLOSER * step)
        gains = np.minimum(near.min(axis=0), cost.min(axis=0)) < self.never() * (1 - NEVER)
        return np.asarray(np.where(gains, np.exp(found), np.inf))


def _vertex(cost: Floats, step: float) -> Floats:
    """Where, from the middle one, the parabola through `cost` (3, nodes) at three places `step`
    apart is least; not beyond the outer ones."""
    left, middle, right = cost
    bend = left - 2 * middle + right
    with np.errstate(divide="ignore", invalid="ignore"):
        off = np.where(bend > 0, np.clip((left - right) / (2 * bend), -1.0, 1.0), 0.0)
    return np.asarray(step * off)


@dataclass(frozen=True, slots=True)
class Least:
    """The best age (infinite: never) and its cost rate, that of never, and the ages between which
    the rate is within `WITHIN` of the least (the upper infinite where never is)."""

    age: float
    cost: float
    never: float
    low: float
    high: float


def least(
    cost: Callable[[float], float],
    never: float,
    start: float,
    end: float,
    costs: Callable[[Floats], Floats] | None = None,
) -> Least:
    """The least of a cost rate against age, sought between the ages `start` and `end`, beyond
    which it is as good as `never`; to a thousandth where curves lie so far apart that two hollows
    fall between neighbouring ages of the scan. `costs` is `cost` at many ages at once, if that is
    at hand."""
    log_ages = np.linspace(np.log(start), np.log(end), SCAN)
    ages = np.exp(log_ages)
    rates = np.array([cost(age) for age in ages.tolist()]) if costs is None else costs(ages)
    # curves far apart may make two hollows: each that comes close is followed down
    around = np.concatenate([[np.inf], rates, [np.inf]])
    hollow = (rates <= around[:-2]) & (rates <= around[2:]) & (rates <= CLOSE * rates.min())
    found = (
        minimize_scalar(
            lambda at: cost(float(np.exp(at))),
            bounds=(log_ages[max(i - 1, 0)], log_ages[min(i + 1, SCAN - 1)]),
            method="bounded",
            options={"xatol": 1e-9},
        )
        for i in np.flatnonzero(hollow).tolist()
    )
    rate, at = min((float(each.fun), float(each.x)) for each in found)
    if not rate < never * (1 - NEVER):
        at, rate = np.inf, never
    limit = rate * (1 + WITHIN)

    def crosses(a: float, b: float) -> float:
        return float(np.exp(brentq(lambda x: cost(float(np.exp(x))) - limit, a, b, xtol=1e-12)))

    above = rates > limit
    low, high = start, np.inf
    before, after = (np.flatnonzero(above & side) for side in (log_ages < at, log_ages > at))
    if len(before) and before[-1] == SCAN - 1:
        low = end  # nothing looked at comes close to never
    elif len(before):
        low = crosses(log_ages[before[-1]], min(log_ages[before[-1] + 1], at))
    if len(after):
        high = crosses(max(log_ages[after[0] - 1], at), log_ages[after[0]])
    return Least(float(np.exp(at)), rate, never, low, high)


def long_run_of(ready: Prepared, world: World) -> LongRun:
    """The long run of `ready`, for parts as long-lived as its new ones.

    One age for all that is not known: the least of the mean rate over the curves, as the samples
    weigh them, and the factor on a new part's life, at mean prices. The intervals are over the
    first `DRAWS` of what is not known (`world`), prices included.
    """
    life, other = ready.case.plan.new_part_life, ready.joined.lives.other
    joined = join(ready.curves, life, other, MORE_SCALES)
    lives, weight = joined.lives, joined.believed(ready.present.believed.sum(axis=0))
    price, lead = ready.prices.means(), ready.case.warning.visible_lead
    nodes = Replaced(
        lives.shape,
        lives.scale,
        float(price[FITTING]),
        float(price[FAILURE]),
        float(price[FOUND_WORN]),
        lives.other,
        lead,
    )

    def mean(age: float) -> float:
        return float(nodes.cost(age) @ weight)

    def means(ages: Floats) -> Floats:
        size = max(1, BLOCK // len(weight))
        parts = (ages[first : first + size, None] for first in range(0, len(ages), size))
        return np.concatenate([nodes.cost(part) @ weight for part in parts])

    some = weight > 1e-9
    end = float(np.max((lives.scale * LONGEST ** (1 / lives.shape))[some]))
    end = min(end, FARTHEST * float(weight @ lives.scale))
    start = 1e-3 * float(np.min(lives.scale[some]))
    found = least(mean, float(nodes.never() @ weight), start, end, means)

    draws = _drawn(world, lead)
    best = draws.best_ages()
    never = drawn(found.never, draws.never())
    at = _ages(found, float(weight @ lives.scale))
    rates = draws.cost(at[:, None])
    low, high = np.quantile(rates, [TAIL, 1 - TAIL], axis=1)
    age = None if np.isinf(found.age) else found.age
    costs = never.low, never.high
    fails = 1 - float(nodes.reaches(found.age) @ weight)
    if age is not None:
        costs = tuple(np.quantile(draws.cost(age), [TAIL, 1 - TAIL]).tolist())
    ages = np.quantile(best, [TAIL, 1 - TAIL], method="inverted_cdf")
    return LongRun(
        age=age,
        age_low=_finite(ages[0]),
        age_high=_finite(ages[1]),
        never_best=float(np.mean(np.isinf(best))),
        cost=Interval(found.cost, *costs),
        never=never,
        window=(found.low, _finite(found.high)),
        failure=drawn(fails, 1 - draws.reaches(found.age)),
        planned=float(price[FITTING]),
        failed=float(price[FAILURE]),
        at=at,
        rate=means(at),
        low=low,
        high=high,
    )


def _drawn(world: World, lead: Quantity) -> Replaced:
    events = world.prices.events()[:DRAWS]
    return Replaced(
        world.shape[:DRAWS],
        world.new_scale[:DRAWS],
        events[:, FITTING],
        events[:, FAILURE],
        events[:, FOUND_WORN],
        world.other[:DRAWS],
        lead,
    )


def _ages(found: Least, scale: float) -> Floats:
    """Ages to draw the rate at: well beyond the window, or of the life itself without one."""
    far = 1.6 * scale if np.isinf(found.age) else 2.5 * found.age
    if np.isfinite(found.high):
        far = max(far, 1.35 * found.high)
    near = min(0.4 * found.low, far / 20)
    return np.linspace(near, far, CURVE_POINTS)


def _finite(age: float) -> float | None:
    return None if np.isinf(age) else float(age)
