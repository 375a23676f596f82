"""Brute-force Monte Carlo of the model of plans with oil samples, for an exactly known life.

    python -m tests.simulation.sampled CASE.json [--lives 1000000] [--seed 1] [--json]
        [--policy POLICY.json]

What :mod:`brute_force` says holds here too; without ``elements`` this is the same simulation.
Every life is played through event by event, every sample drawn. Only the policy of newly fitted
parts is computed, see :mod:`sampled_policy`, unless it is given: a list of [usage left, service
(0: never)], each row good for a usage left up to and including its own. Nothing is imported from
the package that this checks.

Beside T each part has a warning lead H, ``lead`` times ``lead_factor``; distress begins at
u = max(T - H, 0), and its fraction at age s is c(s) = clip((s - u) / (T - u), 0, 1). A part is
silent with probability ``silent``. Each service before the planned replacement takes a sample, of
oil as old as the interval, without top-up, and pays ``sample`` and ``oil_change``. With

    C = median typical x interval / 1000            the usual concentration
    sigma'^2 = ln(scatter)^2 + (noise / C)^2 + v    v = s^2 ln(scatter)^2 / (ln(scatter)^2 + n s^2)
    w in proportion to ln(median rise) / sigma', sum w^2 = 1
    m = mean of rise^c(s) over the fill

(s the deviation of ln typical, n the samples before it: the past ones and this plan's for the
present part, its own from 0 for a new one) its score is sum w t4, the t4 plain independent Student
t with 4 degrees of freedom, and sum w ln(m) / sigma' more once distress has begun in a part that is
not silent. It alarms above the limit that a score without distress passes with probability
``false_alarm``. Each alarm pays ``investigation``, at the sample. Where distress has begun in a
part that is not silent it is seen with probability ``investigation_sees`` and the part replaced at
``urgent`` (in place of `planned`) after ``turnaround``, unless it fails first or keep-until comes
first; in every other case the plan goes on. An urgent replacement can have a fitting fault, can
find visible distress (`found_worn`), starts the clock again and earns the sale credit, as a
planned one does.

Past samples weigh the lives by their likelihood L, given T, H, rise and silent, with the own level
of each element integrated out over ``typical``: ln r = level + ln m + sigma t4, sigma^2 =
ln(scatter)^2 + (noise / C)^2, over the interval of the reading's ``resolution`` carried through the
mass balance; at most one sample misleads, with probability ``misleading`` for each.

Keys of the case beside those of :mod:`brute_force`; lead and rise vary from part to part, the
others with a range are not known and drawn once for a whole life:

    elements = [{symbol, typical, scatter, rise, noise = 0, from_part = true}]
    lead, lead_factor = 1                 quantities
    silent = 0                            a share, or [low, high] of a logit-normal
    false_alarm = 0.02, investigation_sees = 0.8, turnaround = 0
    urgent, investigation = 0, sample = 0 prices (quantities)
    history = [{age, oil_age, top_up = 0, readings = {symbol: number | "<n" | null}}]
    sump, carry_over = 0.1, resolution = 1, misleading = 0.02
    noise_in_level = false                true: sigma instead of ln(scatter) in v

Told beside what :mod:`brute_force` tells: the chance that an alarm leads to the present part's
urgent replacement; the share of the present parts that would have failed before the plan's end
that it saves (``caught``); ``effective_lives``, how many equally weighted lives the past samples
leave. The alarms of the present part are the same under all plans.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from .brute_force import BAD_CASE, COUNTED, Estimate, Worlds, draw_worlds, mean_prices
from .renewal_policy import Policy
from .sampled_case import Floats, SampledCase, read_sampled_case
from .sampled_oil import Bools, draw_alarms, evidence, watch
from .sampled_play import play
from .sampled_policy import read_policy, solve_sampled_policy
from .sampled_report import (
    SampledPlan,
    SampledResult,
    SampledRisk,
    as_json,
    as_text,
    mean,
    quantile,
)

NAMES = (*COUNTED, "urgent", "sample", "investigation")
BLOCK = 100_000  # lives played at once


@dataclass(frozen=True)
class SampledWorlds:
    """What all plans share, one row per life: ``base`` as without oil; ``factor`` on leads and
    ``silent_share`` (n,); ``prices`` (9, n); the present part's ``alarms`` (services, n), and when
    it is replaced after one, ``urgent_at`` (n,), in usage from now, infinite for never; ``weight``
    (n,) by the past samples, of mean 1."""

    base: Worlds
    factor: Floats
    silent_share: Floats
    prices: Floats
    alarms: Bools
    urgent_at: Floats
    weight: Floats


def draw_sampled_worlds(case: SampledCase, lives: int, seed: int) -> SampledWorlds:
    """Draw everything that all plans share."""
    base = draw_worlds(case.base, lives, seed)
    rng = np.random.default_rng([seed, 1_000_000])
    factor = np.asarray(case.lead_factor.at(rng.standard_normal(lives)), dtype=np.float64)
    silent_share = np.asarray(case.silent.at(rng.standard_normal(lives)), dtype=np.float64)
    lead = case.lead.at(rng.standard_normal(lives)) * factor
    score, silent = rng.standard_normal(lives), rng.random(lives) < silent_share
    extra = [
        q.at(rng.standard_normal(lives)) for q in (case.urgent, case.sample, case.investigation)
    ]
    life = case.base.age + base.life
    onset = np.maximum(life - lead, 0.0)
    weight = np.ones(lives)
    weight[~silent] = evidence(case, life[~silent], onset[~silent], score[~silent])

    times = case.base.services()
    alarms: NDArray[np.bool_] = np.zeros((len(times), lives), dtype=np.bool_)
    urgent_at = np.full(lives, np.inf)
    last = case.base.keep_usage - case.base.tolerance
    for number, t in enumerate(times if case.elements else []):
        i = np.flatnonzero((base.life > t) & (urgent_at == np.inf))
        part = (life[i], onset[i], score[i], silent[i])
        judged = watch(case, number, history=True)
        alarms[number, i], seen = draw_alarms(case, judged, part, case.base.age + t, rng)
        then = t + case.turnaround
        hit = i[seen & (base.life[i] > then)]
        urgent_at[hit if then < last else hit[:0]] = then
    prices = np.vstack([base.prices, np.array(extra)])
    weight = weight / weight.mean()
    return SampledWorlds(base, factor, silent_share, prices, alarms, urgent_at, weight)


def sampled_mean_prices(case: SampledCase) -> Floats:
    """Mean prices (9,) in the order of ``NAMES``; the sale credit is negative."""
    others = [case.urgent.mean, case.sample.mean, case.investigation.mean]
    return np.concatenate([mean_prices(case.base), others])


def simulate_sampled_plan(
    case: SampledCase,
    policy: Policy,
    worlds: SampledWorlds,
    name: str,
    at: float | None,
    seed: list[int],
) -> SampledPlan:
    """Play one plan through all lives, block by block."""
    base, lives = worlds.base, worlds.base.life.size
    means = sampled_mean_prices(case)
    counts = np.empty((len(NAMES), lives))
    failed, present = np.empty(lives, dtype=np.bool_), np.empty(lives, dtype=np.bool_)
    end = case.base.keep_usage if at is None else at
    for first in range(0, lives, BLOCK):
        rows = slice(first, min(first + BLOCK, lives))
        rng = np.random.default_rng([*seed, first])
        part = (base.life[rows], base.visible[rows], worlds.urgent_at[rows])
        world = (base.k[rows], worlds.factor[rows], worlds.silent_share[rows])
        alarms = worlds.alarms[:, rows]
        counts[:, rows], failed[rows], present[rows] = play(
            case, policy, at, part, alarms, world, rng
        )
    w = worlds.weight
    cost = means @ counts
    drawn = np.einsum("ij,ij->j", worlds.prices, counts)
    urgent = worlds.urgent_at < end
    doomed = base.life < end
    none = Estimate(0.0, 0.0)
    return SampledPlan(
        name=name,
        at=at,
        failure_probability=mean(failed, w),
        present_part_failure_probability=mean(present, w),
        alarm_probability=mean(urgent, w),
        caught=mean(urgent[doomed], w[doomed]) if doomed.any() else none,
        expected_cost=mean(cost, w),
        bad_case=quantile(drawn, BAD_CASE, w),
        bad_case_at_mean_prices=quantile(cost, BAD_CASE, w),
        counts={name: mean(row, w) for name, row in zip(NAMES, counts, strict=True)},
    )


def simulate_sampled(
    case: SampledCase, lives: int = 1_000_000, seed: int = 1, policy: Policy | None = None
) -> SampledResult:
    """Simulate every plan of a case. A given ``policy`` for new parts replaces the best one."""
    policy = policy or solve_sampled_policy(case)
    worlds = draw_sampled_worlds(case, lives, seed)
    plans = [
        simulate_sampled_plan(case, policy, worlds, name, at, [seed, 1 + number])
        for number, (name, at) in enumerate(case.base.plans())
    ]
    w = worlds.weight
    risk = [SampledRisk(a, mean(worlds.base.life <= a, w)) for a in case.base.ahead]
    return SampledResult(lives, float(w.sum() ** 2 / (w @ w)), seed, plans, risk, policy)


def main(arguments: list[str] | None = None) -> int:
    """Run one case from the command line."""
    parser = argparse.ArgumentParser(description="Simulate every plan of one sampled case.")
    parser.add_argument("case", type=Path)
    parser.add_argument("--lives", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--policy", type=Path, help="JSON list of [usage left, service]")
    options = parser.parse_args(arguments)
    try:
        case = read_sampled_case(options.case)
        policy = read_policy(options.policy, case) if options.policy else None
    except (OSError, ValueError) as error:
        print(error, file=sys.stderr)
        return 2
    start = time.perf_counter()
    result = simulate_sampled(case, options.lives, options.seed, policy)
    if options.json:
        print(as_json(case, result, policy is not None))
    else:
        print(as_text(case, result))
        print(f"\n{time.perf_counter() - start:.1f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
