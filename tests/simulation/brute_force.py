"""Brute-force Monte Carlo of the model of plans, without oil samples, for an exactly known life.

    python -m tests.simulation.brute_force CASE.json [--lives 1000000] [--seed 1] [--json]

Every life is played through event by event: the present part, its oil changes, its failure or its
planned replacement, fitting faults, and all parts fitted afterwards, until keep-until. The only
thing computed rather than simulated is the policy that newly fitted parts follow, see
:mod:`renewal_policy`. Nothing is imported from the package that this checks.

What happens (time is usage from now, 0 to keep-until; v(t) = (1 + rate)^-(t / usage_per_year)):

* The present part's failure age T is Weibull(shape, scale) given T > age. Oil changes fall at
  next_change_in and every interval after it, strictly before keep-until (nearer to it than 1e-9 of
  it counts as at it). A plan replaces now (before any service), at one of them, or never.
* A planned replacement pays `planned`; `found_worn` more if the visible lead V, drawn for each
  part, exceeds T less the part's age; and with probability `install_fault` the price
  `install_fault_price` (left out: failure and consequences). A fitting fault counts as a failure,
  and the part fitted after it has none. The clock starts again.
* A failure pays `failure` and all `consequences`. "repair": a new part without a fitting fault.
  "stop": nothing more is owned, paid or received. A fitting fault is put right in either case.
* A new part lives k times Weibull(shape, scale), k = `new_part_life`, one k for all parts of a
  life. Its services come every interval after its fitting. It follows the policy that is best on
  the mean over k for the usage left (`replace_new_parts = false`: never replaced).
* Each service that happens and does not replace pays `oil_change`.
* `sale_credit` comes in at keep-until if the present part was replaced before it failed and the
  engine is still owned.

The case is one JSON object. A quantity is a number or [low, high], the central 90 % of a
lognormal. `visible_lead` varies from part to part; prices and `new_part_life` are not known: one
draw for a whole life.

    shape, scale, age                     the curve and today's age (numbers)
    interval, next_change_in              oil changes, in usage
    usage_per_year, keep_years | keep_usage
    planned, failure                      prices (quantities)
    consequences = {}                     {name: quantity}, added to each failure
    found_worn = 0, visible_lead          quantities; the lead is needed if found_worn is given
    install_fault = 0                     a share (number)
    install_fault_price                   quantity; default as above
    rate = 0                              a year's discount rate
    oil_change = 0, sale_credit = 0       quantities
    new_part_life = 1                     quantity
    after_failure = "repair" | "stop"
    replace_new_parts = true
    ahead = []                            usages at which the risk of the present part is told
    unit, currency, name                  text

What is told, each with its standard error: the chance of at least one failure or fitting fault
within keep-until; the chance that the present part fails within keep-until under the plan;
the expected cost, at mean prices; the bad case, the 95th percentile of what is paid less what is
received, discounted, once with prices drawn from their ranges and once at their means. `counts`
(in --json) are the expected discounted numbers of each thing paid for. The present parts, and k
and prices, are the same under all plans; the new parts are drawn afresh for each.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from .case import Case, Quantity, read_case
from .renewal_policy import NEVER, Policy, choices, policy_rows, solve_policy

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

COUNTED = ("planned", "found_worn", "failure", "install_fault", "oil_change", "sale_credit")
PLANNED, WORN, FAILURE, FAULT, OIL, CREDIT = range(6)
BAD_CASE = 0.95
BLOCK = 100_000  # lives played at once: keeps the arrays in the processor's cache


@dataclass(frozen=True)
class Estimate:
    """A simulated mean or quantile and its standard error."""

    value: float
    error: float


@dataclass(frozen=True)
class PlanResult:
    """What one plan leads to. ``at`` in usage from now, ``None`` for never."""

    name: str
    at: float | None
    failure_probability: Estimate
    present_part_failure_probability: Estimate
    expected_cost: Estimate
    bad_case: Estimate
    bad_case_at_mean_prices: Estimate
    counts: dict[str, Estimate]


@dataclass(frozen=True)
class Risk:
    """Chance that the present part fails within ``ahead``: simulated, and in closed form."""

    ahead: float
    probability: Estimate
    exact: float


@dataclass(frozen=True)
class Result:
    """The outcome of one run, with the policy of newly fitted parts."""

    lives: int
    seed: int
    plans: list[PlanResult]
    risk: list[Risk]
    policy: Policy


@dataclass(frozen=True)
class Worlds:
    """What all plans share, one row per life: usage left to the present part ``life`` (n,), its
    ``visible`` lead (n,), the factor ``k`` (n,) on new parts' lives, and ``prices`` (6, n)."""

    life: Floats
    visible: Floats
    k: Floats
    prices: Floats


def _share(happened: Bools) -> Estimate:
    """A chance. Its error adds one life of each kind, so that it is not 0 where all lives or none
    are hit."""
    lives, hit = happened.size, int(np.count_nonzero(happened))
    added = (hit + 1) / (lives + 2)
    return Estimate(hit / lives, math.sqrt(added * (1 - added) / lives))


def _mean(values: Floats) -> Estimate:
    return Estimate(float(np.mean(values)), float(np.std(values)) / math.sqrt(values.size))


def _quantile(values: Floats, level: float) -> Estimate:
    """A quantile; its error is half the span of the order statistics one binomial standard
    deviation below and above."""
    step = math.sqrt(level * (1 - level) / values.size)
    low, middle, high = np.quantile(values, [level - step, level, min(level + step, 1.0)])
    return Estimate(float(middle), float(high - low) / 2)


def mean_prices(case: Case) -> Floats:
    """Mean prices (6,) in the order of ``COUNTED``; the sale credit is negative."""
    return np.array(
        [
            case.planned.mean,
            case.found_worn.mean,
            case.failure_mean,
            case.fault_mean,
            case.oil_change.mean,
            -case.sale_credit.mean,
        ]
    )


def draw_worlds(case: Case, lives: int, seed: int) -> Worlds:
    """Draw everything that all plans share."""
    rng = np.random.default_rng([seed, 0])
    used = (case.age / case.scale) ** case.shape
    total = used + rng.standard_exponential(lives)
    life = case.scale * total ** (1 / case.shape) - case.age

    def draw(quantity: Quantity) -> Floats:
        if quantity.sigma == 0:
            return np.full(lives, quantity.mean)
        return np.asarray(quantity.at(rng.standard_normal(lives)), dtype=np.float64)

    visible = np.zeros(lives) if case.visible_lead is None else draw(case.visible_lead)
    k = draw(case.new_part_life)
    failure = draw(case.failure)
    for _, amount in case.consequences:
        failure = failure + draw(amount)
    fault = failure if case.install_fault_price is None else draw(case.install_fault_price)
    others = [draw(q) for q in (case.planned, case.found_worn, case.oil_change, case.sale_credit)]
    prices = np.array([others[0], others[1], failure, fault, others[2], -others[3]])
    return Worlds(life, visible, k, prices)


def play(
    case: Case,
    policy: Policy,
    at: float | None,
    life: Floats,
    visible: Floats,
    k: Floats,
    rng: np.random.Generator,
) -> tuple[Floats, Bools, Bools]:
    """Play one plan through a block of lives.

    Returns the discounted counts (6, n) of what is paid for, whether anything failed (n,), fitting
    faults included, and whether the present part did (n,).
    """
    n, horizon, d = life.size, case.keep_usage, case.interval
    counts = np.zeros((len(COUNTED), n))

    def v(t: Floats | float) -> Floats:
        return np.exp(-case.discount * np.asarray(t, dtype=np.float64))

    # The present part.
    end = horizon if at is None else at
    services = np.array([t for t in case.services() if t < end])
    paid = np.concatenate([[0.0], np.cumsum(v(services))])
    present_failed = life < end
    counts[OIL] = paid[np.searchsorted(services, life)]
    counts[FAILURE] = np.where(present_failed, v(life), 0.0)
    failed = present_failed.copy()
    replaced = ~present_failed if at is not None else np.zeros(n, dtype=np.bool_)
    if at is not None:
        counts[PLANNED, replaced] = v(at)
        counts[WORN, replaced & (visible > life - at)] = v(at)
        fault = replaced & (rng.random(n) < case.install_fault)
        counts[FAULT, fault] = v(at)
        failed |= fault
    owned = np.ones(n, dtype=np.bool_) if case.repair else ~present_failed

    # The parts fitted after it, one generation at a time.
    going = replaced | (present_failed if case.repair else False)
    who = np.flatnonzero(going)
    fitted = np.where(replaced, end, life)[who]
    most = math.ceil(horizon / d) + 1
    paid = np.concatenate([[0.0], np.cumsum(v(d * np.arange(1.0, most + 1)))])
    while who.size:
        left = horizon - fitted
        planned_service = policy.service_at(left, case.tolerance)
        planned = planned_service != NEVER
        due = np.where(planned, planned_service * d, left)
        drawn = rng.standard_exponential(who.size) ** (1 / case.shape)
        new_life = k[who] * case.scale * drawn
        fails = new_life < due
        all_services = np.maximum(np.ceil((left - case.tolerance) / d) - 1, 0)
        oil = np.where(planned, planned_service - 1, all_services)
        oil = np.where(fails, np.minimum(np.floor(new_life / d), oil), oil)
        counts[OIL, who] += v(fitted) * paid[oil.astype(np.int64)]

        over = fitted + np.where(fails, new_life, due)
        counts[FAILURE, who] += np.where(fails, v(over), 0.0)
        failed[who] |= fails
        if not case.repair:
            owned[who] &= ~fails

        renew = ~fails & planned
        job = who[renew]
        when = v(over[renew])
        counts[PLANNED, job] += when
        if case.visible_lead is not None:
            lead = case.visible_lead.at(rng.standard_normal(job.size))
            counts[WORN, job] += np.where(lead > (new_life - due)[renew], when, 0.0)
        fault = rng.random(job.size) < case.install_fault
        counts[FAULT, job] += np.where(fault, when, 0.0)
        failed[job] |= fault

        going = renew | fails if case.repair else renew
        who, fitted = who[going], over[going]

    counts[CREDIT] = np.where(replaced & owned, v(horizon), 0.0)
    return counts, failed, present_failed


def simulate_plan(
    case: Case, policy: Policy, worlds: Worlds, name: str, at: float | None, seed: list[int]
) -> PlanResult:
    """Play one plan through all lives, block by block."""
    lives = worlds.life.size
    means = mean_prices(case)
    cost, drawn = np.empty(lives), np.empty(lives)
    failed, present = np.empty(lives, dtype=np.bool_), np.empty(lives, dtype=np.bool_)
    sums, squares = np.zeros(len(COUNTED)), np.zeros(len(COUNTED))
    for first in range(0, lives, BLOCK):
        rows = slice(first, min(first + BLOCK, lives))
        rng = np.random.default_rng([*seed, first])
        counts, failed[rows], present[rows] = play(
            case, policy, at, worlds.life[rows], worlds.visible[rows], worlds.k[rows], rng
        )
        cost[rows] = means @ counts
        drawn[rows] = np.einsum("ij,ij->j", worlds.prices[:, rows], counts)
        sums += counts.sum(axis=1)
        squares += (counts**2).sum(axis=1)
    mean = sums / lives
    errors = np.sqrt(np.maximum(squares / lives - mean**2, 0.0) / lives)
    return PlanResult(
        name=name,
        at=at,
        failure_probability=_share(failed),
        present_part_failure_probability=_share(present),
        expected_cost=_mean(cost),
        bad_case=_quantile(drawn, BAD_CASE),
        bad_case_at_mean_prices=_quantile(cost, BAD_CASE),
        counts={
            name: Estimate(float(m), float(e))
            for name, m, e in zip(COUNTED, mean, errors, strict=True)
        },
    )


def simulate(
    case: Case, lives: int = 1_000_000, seed: int = 1, policy: Policy | None = None
) -> Result:
    """Simulate every plan of a case. A given ``policy`` for new parts replaces the best one."""
    policy = policy or solve_policy(case)
    worlds = draw_worlds(case, lives, seed)
    plans = [
        simulate_plan(case, policy, worlds, name, at, [seed, 1 + number])
        for number, (name, at) in enumerate(case.plans())
    ]
    risk = [
        Risk(ahead, _share(worlds.life <= ahead), conditional_risk(case, ahead))
        for ahead in case.ahead
    ]
    return Result(lives, seed, plans, risk, policy)


def conditional_risk(case: Case, ahead: float) -> float:
    """P(T <= age + ahead | T > age), in closed form."""
    then = ((case.age + ahead) / case.scale) ** case.shape
    return -math.expm1((case.age / case.scale) ** case.shape - then)


def as_text(case: Case, result: Result) -> str:
    """The tables that a person reads."""
    lines = [f"{case.name}: {result.lives} lives for each plan, random seed {result.seed}", ""]
    lines.append(f"Present part, chance of failing within so many {case.unit} (and closed form)")
    lines += [
        f"{r.ahead:12g}  {r.probability.value:.5f} +- {r.probability.error:.5f}  ({r.exact:.5f})"
        for r in result.risk
    ]
    lines += ["", f"Newly fitted parts, by usage left ({case.unit}): above, up to, replaced at"]
    lines += [f"{a:12.2f}{b:12.2f}  {what}" for a, b, what in policy_rows(result.policy)]
    lines += ["", "At the usage left after planned replacements: service (0 never), cost to come,"]
    lines.append("next best service, and what it would cost more")
    for c in choices(case, result.policy):
        other = "" if c.margin is None else f"{c.second:6d}{c.margin:12.4f}"
        lines.append(f"{c.left:12.2f}{c.service:6d}{c.cost:14.4f}{other}")
    lines += ["", f"Plans (times in {case.unit}; costs in {case.currency or 'money'}; +- one SE)"]
    heads = ("any failure", "present part", "expected cost", "bad case", "bad, mean prices")
    lines.append(f"{'plan':16}" + "".join(f"{h:>22}" for h in heads))
    for p in result.plans:
        chances = (p.failure_probability, p.present_part_failure_probability)
        costs = (p.expected_cost, p.bad_case, p.bad_case_at_mean_prices)
        cells = [f"{e.value:.5f} +- {e.error:.5f}" for e in chances]
        cells += [f"{e.value:.2f} +- {e.error:.2f}" for e in costs]
        lines.append(f"{p.name:16}" + "".join(f"{c:>22}" for c in cells))
    return "\n".join(lines)


def as_json(case: Case, result: Result) -> str:
    """The same, and the counts, as one JSON object."""
    told = {
        "lives": result.lives,
        "seed": result.seed,
        "risk": [asdict(r) for r in result.risk],
        "policy": [
            {"above": a, "up_to": b, "replaced_at": what}
            for a, b, what in policy_rows(result.policy)
        ],
        "choices": [asdict(c) for c in choices(case, result.policy)],
        "plans": [asdict(p) for p in result.plans],
    }
    return json.dumps(told, indent=1)


def main(arguments: list[str] | None = None) -> int:
    """Run one case from the command line."""
    parser = argparse.ArgumentParser(description="Simulate every plan of one exact-life case.")
    parser.add_argument("case", type=Path)
    parser.add_argument("--lives", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    options = parser.parse_args(arguments)
    try:
        case = read_case(options.case)
    except (OSError, ValueError) as error:
        print(error, file=sys.stderr)
        return 2
    start = time.perf_counter()
    result = simulate(case, options.lives, options.seed)
    if options.json:
        print(as_json(case, result))
    else:
        print(as_text(case, result))
        print(f"\n{time.perf_counter() - start:.1f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
