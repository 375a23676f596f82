"""What plans come to where everything is known, by lives played out with the samples taken.

The lives, alarms and payments are those of the simulation in `tests/simulation/` (`sampled_oil`,
`sampled_play`); what a second sample and a look show is written here from the model's text. None
shares code with the core. To need fewer lives, a part's life is spread evenly over its chances,
half of the lives fail within keep-until and each is weighed by how likely it is; and lives are
played after either outcome, weighed by the outcome's chance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import ndtr

from tests.simulation.sampled import sampled_mean_prices
from tests.simulation.sampled_case import SampledCase
from tests.simulation.sampled_oil import (
    Watch,
    draw_alarms,
    evidence,
    level_spread,
    noise_cdf,
    rise_mean,
    watch,
)
from tests.simulation.sampled_play import play
from tests.studies.intervals_coverage_truth import Rule

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Parts:
    """Present parts, one a row (n,): usage left `life`, age at `onset`, score of the rise, visible
    lead, whether `silent`, when it is replaced after an alarm; `alarms` (services, n). `weight`
    (n,) adds up to 1."""

    life: Floats
    onset: Floats
    score: Floats
    visible: Floats
    silent: Bools
    urgent_at: Floats
    alarms: Bools
    weight: Floats

    def mean(self, values: Floats | Bools) -> float:
        return float(self.weight @ values)

    def given(self, values: Floats | Bools, chance: Floats) -> float:
        """The mean where something came about that does with `chance` (n,)."""
        return float((self.weight * chance) @ values / (self.weight @ chance))


def draw_parts(case: SampledCase, lives: int, rng: np.random.Generator) -> Parts:
    """Parts of a case of which everything but the part itself is known exactly."""
    base, n = case.base, lives // 2
    used = (base.age / base.scale) ** base.shape
    soon = -math.expm1(used - ((base.age + base.keep_usage) / base.scale) ** base.shape)
    even = (np.arange(n) + rng.uniform(size=(2, n))) / n
    luck = np.concatenate([soon * even[0], soon + (1 - soon) * even[1]])
    life = base.scale * (used - np.log1p(-luck)) ** (1 / base.shape) - base.age
    weight = np.repeat([soon, 1 - soon], n)
    lead = case.lead.at(rng.standard_normal(2 * n)) * case.lead_factor.mean
    score, silent = rng.standard_normal(2 * n), rng.random(2 * n) < case.silent.at(0.0)
    onset = np.maximum(base.age + life - lead, 0.0)
    loud = np.flatnonzero(~silent)
    weight[loud] *= evidence(case, base.age + life[loud], onset[loud], score[loud])
    assert base.visible_lead is not None
    visible = base.visible_lead.at(rng.standard_normal(2 * n))
    alarms = np.zeros((len(base.services()), 2 * n), dtype=np.bool_)
    urgent_at = np.full(2 * n, np.inf)
    for number, t in enumerate(base.services()):
        i = np.flatnonzero((life > t) & np.isinf(urgent_at))
        part = (base.age + life[i], onset[i], score[i], silent[i])
        judged = watch(case, number, history=True)
        alarms[number, i], seen = draw_alarms(case, judged, part, base.age + t, rng)
        then = t + case.turnaround
        if then < base.keep_usage - base.tolerance:
            urgent_at[i[seen & (life[i] > then)]] = then
    return Parts(life, onset, score, visible, silent, urgent_at, alarms, weight / weight.sum())


@dataclass(frozen=True)
class Played:
    """What lives under one plan come to, (n,): paid, whether anything failed, whether the present
    part did and whether an alarm had it replaced."""

    paid: Floats
    failed: Bools
    present: Bools
    urgent: Bools


class Truth:
    """The plans of one world; new parts follow `rule`, the same luck under every plan."""

    def __init__(self, case: SampledCase, rule: Rule, lives: int, rng: np.random.Generator) -> None:
        self.case, self.rule = case, rule
        self.parts = draw_parts(case, lives, rng)
        self.seed = int(rng.integers(2**32))
        self._done: dict[float, Played] = {}

    def plan(self, at: float | None) -> Played:
        """Replaced at usage `at` from now (None: never)."""
        end = np.inf if at is None else at
        if end not in self._done:
            base, parts, n = self.case.base, self.parts, len(self.parts.life)
            world = (
                np.full(n, base.new_part_life.mean),
                np.full(n, self.case.lead_factor.mean),
                np.full(n, float(self.case.silent.at(0.0))),
            )
            part = (parts.life, parts.visible, parts.urgent_at)
            rng = np.random.default_rng(self.seed)
            counts, failed, present = play(
                self.case,
                self.rule,  # type: ignore[arg-type]
                None if np.isinf(end) else at,
                part,
                parts.alarms,
                world,
                rng,
            )
            urgent = parts.urgent_at < min(end, base.keep_usage)
            paid = sampled_mean_prices(self.case) @ counts
            self._done[end] = Played(paid, failed, present, urgent)
        return self._done[end]

    def either(self, chance: Floats, then: float | None, other: float | None) -> Played:
        """Plan `then` where something comes about that does with `chance` (n,), else `other`: the
        means of each life over whether it does."""
        first, second = self.plan(then), self.plan(other)

        def mixed(name: str) -> Floats:
            a, b = (np.asarray(getattr(each, name), dtype=float) for each in (first, second))
            return np.asarray(chance * a + (1 - chance) * b)

        return Played(*(mixed(name) for name in ("paid", "failed", "present", "urgent")))  # type: ignore[arg-type]

    def surge(self, at: float, false_alarm: float) -> Floats:
        """The chance of each part (n,) that a retest at usage `at` shows another surge:
        y = asinh(s C / a) / s, weights as the median rise lifts y, every y scattering as t4."""
        case, parts, base = self.case, self.parts, self.case.base
        age, oil_age = base.age + at, max(base.interval - base.next_change_in, 0.0) + at
        life = np.maximum(base.age + parts.life, age + 1e-6)
        begun = np.flatnonzero((parts.onset < age) & ~parts.silent)
        shifts, weights = [], []
        for e in case.elements:
            n = sum(e.symbol in s.readings for s in case.history)
            s = math.sqrt(math.log(e.scatter) ** 2 + level_spread(e, n, oil_age, False))
            a, usual = math.sqrt(e.noise**2 + 1 / 12), math.exp(e.typical.mu) * oil_age / 1000
            m = rise_mean(
                e.rise.at(parts.score[begun]), life[begun], parts.onset[begun], age, oil_age
            )
            idle = float(np.arcsinh(s * usual / a) / s)
            shifts.append(np.arcsinh(s * usual * m / a) / s - idle)
            weights.append(float(np.arcsinh(s * usual * math.exp(e.rise.mu) / a) / s) - idle)
        w = np.array(weights) / math.hypot(*weights)
        limit = brentq(lambda x: 1 - noise_cdf(w, np.array([x]))[0] - false_alarm, -60, 60)
        chance = np.full(len(parts.life), false_alarm)
        chance[begun] = Watch(w, w, limit).chance(w @ np.array(shifts))
        return chance * (parts.life > at)

    def retested(self, at: float, paid: float) -> float:
        """What a second sample at usage `at` costs, on average, at a price of `paid`."""
        return (
            paid * math.exp(-self.case.base.discount * at) * self.parts.mean(self.parts.life > at)
        )

    def seen(self, sees: float) -> Floats:
        """The chance of each part (n,) that a look today sees its distress; what a job finds later
        is drawn apart."""
        lead = self.case.base.visible_lead
        assert lead is not None
        return np.asarray(sees * ndtr((lead.mu - np.log(self.parts.life)) / lead.sigma))

    def damaged(self) -> float:
        """What it costs where the part is destroyed today and a new one fitted."""
        base, now = self.case.base, self.plan(0.0)
        fault = base.install_fault * base.fault_mean
        job = base.planned.mean + fault
        return base.failure_mean + self.parts.mean(now.paid) - job
