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
from riskmodel.decision.renewal import Renewal
from riskmodel.decision.timing import AT_THE_END, Timing
from riskmodel.life.weibull import quantile, remaining_quantile
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

SEED = 20240229
MOST_FITTINGS = 400


@dataclass(frozen=True, slots=True)
class World:
    """One possible truth per draw: the curve, the new part's curve, the rate of failures of
    other causes, the prices; (draws,)."""

    shape: Floats
    scale: Floats
    new_scale: Floats
    other: Floats
    prices: PriceDraws
    visible_lead: Quantity


class Payments:
    """Lives played out under each plan."""

    def __init__(
        self, age: float, timing: Timing, renewal: Renewal, repair: bool, world: World
    ) -> None:
        self.age, self.timing, self.renewal = age, timing, renewal
        self.repair, self.world = repair, world
        self.draws = len(world.shape)
        random = np.random.default_rng(SEED)
        # The present part's luck is spread evenly, the rest drawn.
        luck = (random.permutation(self.draws) + 0.5) / self.draws
        self.worn_out = remaining_quantile(luck, age, world.shape, world.scale)
        self.fails_at = np.minimum(self.worn_out, self._other_cause(random))
        self.random_state = random.bit_generator.state

    def bad_case(self, at: Sequence[float], level: float = 0.95) -> Floats:
        """The `level` percentile of what each plan pays, discounted; shape (plans,)."""
        return np.array([np.quantile(self.paid(float(usage)), level) for usage in at])

    def paid(self, at: float) -> Floats:
        """What the plan that replaces at usage `at` (inf: never) pays in each draw; (draws,)."""
        timing, world, prices = self.timing, self.world, self.world.prices
        random = np.random.default_rng()
        random.bit_generator.state = self.random_state
        end = min(at, timing.keep)
        failed = self.fails_at < end
        stays = np.where(failed, self.fails_at, end)
        paid = prices.oil_change * self._oil(timing.first, np.zeros(self.draws), stays)
        discount = timing.discount(stays)
        paid += np.where(failed, prices.failure * discount, 0.0)
        replaced = ~failed & (at < timing.keep)
        now = stays
        fitted = replaced.copy()
        paid += self._fitting(fitted, now, self.worn_out - stays, random)
        running = replaced | (failed & self.repair)
        for _ in range(MOST_FITTINGS):
            who = np.flatnonzero(running)
            if not len(who):
                break
            wear = quantile(random.random(self.draws), world.shape, world.new_scale)[who]
            life = np.minimum(wear, self._other_cause(random)[who])
            left = timing.keep - now[who]
            rule = self.renewal.service[self._points(left)]
            planned = np.where(rule > 0, rule * timing.interval, np.inf)
            stop = np.minimum(planned, left)
            broke = life < stop
            stays_for = np.where(broke, life, stop)
            paid[who] += prices.oil_change[who] * self._oil(timing.interval, now[who], stays_for)
            now[who] += stays_for
            paid[who] += np.where(broke, prices.failure[who] * timing.discount(now[who]), 0.0)
            again = ~broke & (planned < left)
            fitted = np.zeros(self.draws, dtype=bool)
            fitted[who] = again
            beyond = np.zeros(self.draws)
            beyond[who] = wear - stays_for
            paid += self._fitting(fitted, now, beyond, random)
            running = np.zeros(self.draws, dtype=bool)
            running[who] = again | (broke & self.repair)
            if not self.repair:
                replaced[who[broke]] = False  # given up: nothing left to sell
        return paid - np.where(replaced, prices.sale * timing.discount(timing.keep), 0.0)

    def _other_cause(self, random: np.random.Generator) -> Floats:
        """Usage to the next failure of another cause, infinite where there are none; (draws,)."""
        with np.errstate(divide="ignore"):
            return np.asarray(random.standard_exponential(self.draws) / self.world.other)

    def _fitting(
        self, fitted: NDArray[np.bool_], now: Floats, beyond: Floats, random: np.random.Generator
    ) -> Floats:
        """Price of a planned replacement where `fitted`, its surprises included; (draws,)."""
        prices = self.world.prices
        lead = self.world.visible_lead.quantile(random.standard_normal(self.draws))
        faulty = random.random(self.draws) < prices.fault
        whole = (
            prices.planned
            + np.where(lead > beyond, prices.found_worn, 0.0)
            + np.where(faulty, prices.fault_price, 0.0)
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
