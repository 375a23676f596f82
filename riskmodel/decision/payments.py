"""What is actually paid: the bad case of each plan.

Expected cost is a sum over the density of life, but a percentile of what is paid is not, so
here lives are played out: a fixed set of draws, the same for every plan and at every call,
so that plans are compared on the same luck and nothing jitters under a slider.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.prices import PriceDraws
from riskmodel.decision.renewed import Renewal
from riskmodel.decision.sample_table import Table
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.timing import AT_THE_END, Timing
from riskmodel.life.weibull import quantile, remaining_quantile
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

SEED = 20240229
MOST_FITTINGS = 400


@dataclass(frozen=True, slots=True)
class World:
    """One possible truth per draw: the part's age today on the curve, the curve, the new
    part's curve, the rate of failures of other causes, the prices; (draws,)."""

    age: Floats
    shape: Floats
    scale: Floats
    new_scale: Floats
    other: Floats
    prices: PriceDraws
    visible_lead: Quantity
    index: NDArray[np.int64]
    """Which of the worlds of sampling each draw lies in; all 0 without samples."""


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """What samples show of parts in place, at their services counted from 0: the one at which
    distress is `found` (n,), their number where at none, and whether one alarms without it,
    `false` (n, services)."""

    found: NDArray[np.int64]
    false: NDArray[np.bool_]

    def of(self, who: NDArray[np.int64]) -> Heard:
        """Of some of the draws."""
        return Heard(self.found[who], self.false[who])


@dataclass(frozen=True, slots=True, eq=False)
class Fitting:
    """The luck of one fitting and of the part then fitted, (draws,): how long before failure the
    old part shows distress, whether the job is faulty, usage to wear and to failure of any cause,
    and what its samples show."""

    lead: Floats
    faulty: NDArray[np.bool_]
    wear: Floats
    life: Floats
    heard: Heard | None


class Payments:
    """Lives played out under each plan."""

    def __init__(
        self,
        timing: Timing,
        renewal: Renewal,
        repair: bool,
        world: World,
        sampling: Sampling | None = None,
        new_services: Floats | None = None,
        together: float | None = None,
    ) -> None:
        self.together = together
        self.timing, self.renewal = timing, renewal
        self.repair, self.world = repair, world
        self.draws = len(world.shape)
        random = np.random.default_rng(SEED)
        # The present part's luck is spread evenly, the rest drawn.
        luck = (random.permutation(self.draws) + 0.5) / self.draws
        self.sampling = sampling
        self.present: Table | None = None
        self.new: Table | None = None
        self.worn_out = remaining_quantile(luck, world.age, world.shape, world.scale)
        if sampling is not None:
            self.present = sampling.table_of_present_part(timing.services)
            self.worn_out = self.present.lives(
                luck, world.age, world.shape, world.scale, world.index
            )
        self.fails_at = np.minimum(self.worn_out, self._other_cause(random))
        sample_luck = random.random((2, self.draws, max(1, len(timing.services))))
        self.heard = self._heard(self.present, self.worn_out, sample_luck)
        if sampling is not None and new_services is not None:
            self.new = sampling.table_of_new_part(new_services)
        self._random = random
        self._fittings: list[Fitting] = []

    def all_paid(self, at: Sequence[float]) -> Floats:
        """What each plan pays in each draw, discounted; (plans, draws)."""
        return np.array([self.paid(float(usage)) for usage in at])

    def paid(self, at: float) -> Floats:
        """What the plan that replaces at usage `at` (inf: never) pays in each draw; (draws,)."""
        timing, prices = self.timing, self.world.prices
        end = min(at, timing.keep)
        everyone, start = np.arange(self.draws), np.zeros(self.draws)
        urgent, looks = self._sampled(
            self.heard, everyone, timing.first, np.minimum(self.fails_at, end), start
        )
        failed = self.fails_at < np.minimum(end, urgent)
        stays = np.where(failed, self.fails_at, np.minimum(end, urgent))
        paid = self._service(everyone) * self._oil(timing.first, start, stays) + looks
        discount = timing.discount(stays)
        paid += np.where(failed, prices.failure * discount, 0.0)
        paid += prices.jobs_alone * stays * timing.discount(stays / 2)
        alarmed = ~failed & (urgent < np.minimum(end, timing.keep))
        replaced = alarmed | (~failed & (at < timing.keep))
        paid += np.where(replaced, prices.jobs * discount, 0.0)
        if at == self.together:
            paid -= np.where(replaced & ~alarmed, prices.together * discount, 0.0)
        now = stays
        fitted = replaced.copy()
        paid += self._fitted(fitted, alarmed, now, self.worn_out - stays, 0)
        running = replaced | (failed & self.repair)
        for number in range(MOST_FITTINGS):
            who = np.flatnonzero(running)
            if not len(who):
                break
            luck = self._fitting(number)
            wear, life = luck.wear[who], luck.life[who]
            heard = None if luck.heard is None else luck.heard.of(who)
            left = timing.keep - now[who]
            rule = self.renewal.service[self._points(left)]
            planned = np.where(rule > 0, rule * timing.interval, np.inf)
            stop = np.minimum(planned, left)
            urgent, looks = self._sampled(
                heard, who, timing.interval, np.minimum(life, stop), now[who]
            )
            broke = life < np.minimum(stop, urgent)
            stays_for = np.where(broke, life, np.minimum(stop, urgent))
            services = self._oil(timing.interval, now[who], stays_for)
            paid[who] += self._service(who) * services + looks
            now[who] += stays_for
            paid[who] += np.where(broke, prices.failure[who] * timing.discount(now[who]), 0.0)
            soon = ~broke & (urgent < stop)
            again = soon | (~broke & (planned < left))
            fitted = np.zeros(self.draws, dtype=bool)
            fitted[who] = again
            alarmed = np.zeros(self.draws, dtype=bool)
            alarmed[who] = soon
            beyond = np.zeros(self.draws)
            beyond[who] = wear - stays_for
            paid += self._fitted(fitted, alarmed, now, beyond, number + 1)
            running = np.zeros(self.draws, dtype=bool)
            running[who] = again | (broke & self.repair)
            if not self.repair:
                replaced[who[broke]] = False  # given up: nothing left to sell
        return paid - np.where(replaced, prices.sale * timing.discount(timing.keep), 0.0)

    def _fitting(self, number: int) -> Fitting:
        """The luck of the fitting that is `number` from now, counted from 0: alike under every
        plan."""
        random, world = self._random, self.world
        while number >= len(self._fittings):
            lead = world.visible_lead.quantile(random.standard_normal(self.draws))
            faulty = random.random(self.draws) < world.prices.fault
            wear = quantile(random.random(self.draws), world.shape, world.new_scale)
            life = np.minimum(wear, self._other_cause(random))
            heard = None
            if self.new is not None:
                luck = random.random((2, self.draws, self.new.seen.shape[1]))
                heard = self._heard(self.new, wear, luck)
            self._fittings.append(Fitting(lead, faulty, wear, life, heard))
        return self._fittings[number]

    def _other_cause(self, random: np.random.Generator) -> Floats:
        """Usage to the next failure of another cause, infinite where there are none; (draws,)."""
        with np.errstate(divide="ignore"):
            return np.asarray(random.standard_exponential(self.draws) / self.world.other)

    def _service(self, who: NDArray[np.int64]) -> Floats:
        """Price of a service that does not replace, of the draws `who`."""
        prices = self.world.prices
        return np.asarray(prices.oil_change[who] + prices.sample[who])

    def _heard(self, table: Table | None, wear: Floats, luck: Floats) -> Heard | None:
        """What samples show of parts that wear out at `wear` (draws,), if they are in place; None
        where none are taken. `luck` (2, draws, services) are even draws."""
        if table is None or self.sampling is None or table.seen.shape[1] == 0:
            return None
        by, alarm = table.of_draws(self.world.index, wear)
        seen = by > luck[0, :, :1]
        found = np.where(seen.any(axis=1), np.argmax(seen, axis=1), seen.shape[1])
        return Heard(found, luck[1] < alarm)

    def _sampled(
        self,
        heard: Heard | None,
        who: NDArray[np.int64],
        first: float,
        end: Floats,
        start: Floats,
    ) -> tuple[Floats, Floats]:
        """When samples lead to an urgent replacement, in usage from `start` (infinite: never
        before `end`), and what investigations cost; (len(who),) each."""
        if heard is None or self.sampling is None:
            return np.full(len(who), np.inf), np.zeros(len(who))
        timing, found = self.timing, heard.found
        which = np.arange(heard.false.shape[1])
        services = first + timing.interval * which.astype(np.float64)
        held = services < end[:, None] - AT_THE_END * timing.keep
        caught = (which == found[:, None]) & held
        there = held & (which <= found[:, None])
        alarmed = caught | (there & ~caught & heard.false)
        worth = timing.discount(start) * (alarmed @ timing.discount(services))
        looks = self.world.prices.investigation[who] * worth
        at = np.where(caught.any(axis=1), services[np.minimum(found, len(services) - 1)], np.inf)
        at = at + self.sampling.turnaround
        left = timing.keep - start
        return np.where((at < end) & (at < left), at, np.inf), looks

    def _fitted(
        self,
        fitted: NDArray[np.bool_],
        alarmed: NDArray[np.bool_],
        now: Floats,
        beyond: Floats,
        number: int,
    ) -> Floats:
        """Price of a replacement where `fitted`, at short notice where `alarmed`, its surprises
        included; (draws,)."""
        if not fitted.any():
            return np.zeros(self.draws)
        prices, luck = self.world.prices, self._fitting(number)
        lead = luck.lead
        whole = (
            np.where(alarmed, prices.urgent, prices.planned)
            + prices.hardware
            + np.where(lead > beyond, prices.found_worn, 0.0)
            + np.where(luck.faulty, prices.fault_price, 0.0)
        )
        return np.where(fitted, whole * self.timing.discount(now), 0.0)

    def _oil(self, first: float, start: Floats, stays: Floats) -> Floats:
        """Discounted count of oil changes held at first, first + interval, ... before `stays`."""
        interval = self.timing.interval
        end = stays - AT_THE_END * self.timing.keep
        held = np.maximum(0, np.ceil((end - first) / interval))
        ratio = float(self.timing.discount(interval))
        total = held if ratio == 1.0 else (1 - ratio**held) / (1 - ratio)
        return np.asarray(total * self.timing.discount(start + first))

    def _points(self, left: Floats) -> NDArray[np.int64]:
        grid = self.renewal.left
        above = np.clip(np.searchsorted(grid, left), 1, len(grid) - 1)
        nearer = left - grid[above - 1] < grid[above] - left
        return np.asarray(np.where(nearer, above - 1, above))
