"""What the simulation with oil samples tells: weighted estimates, tables and JSON."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

import numpy as np

from .brute_force import Estimate
from .renewal_policy import Policy, choices, policy_rows
from .sampled_case import Floats, SampledCase
from .sampled_oil import Bools


@dataclass(frozen=True)
class SampledPlan:
    """What one plan leads to. ``at`` in usage from now, ``None`` for never."""

    name: str
    at: float | None
    failure_probability: Estimate
    present_part_failure_probability: Estimate
    alarm_probability: Estimate
    caught: Estimate
    expected_cost: Estimate
    bad_case: Estimate
    bad_case_at_mean_prices: Estimate
    counts: dict[str, Estimate]


@dataclass(frozen=True)
class SampledRisk:
    """Chance that the present part, not replaced, fails within ``ahead``."""

    ahead: float
    probability: Estimate


@dataclass(frozen=True)
class SampledResult:
    """The outcome of one run, with the policy of newly fitted parts."""

    lives: int
    effective_lives: float
    seed: int
    plans: list[SampledPlan]
    risk: list[SampledRisk]
    policy: Policy


def mean(values: Floats | Bools, weight: Floats) -> Estimate:
    """A weighted mean and its error. A chance's error adds one life of each kind, so that it is
    not 0 where all lives or none are hit."""
    total = weight.sum()
    mean = float(weight @ values / total)
    if values.dtype == np.bool_:
        n = float(total**2 / (weight @ weight))
        floor = np.sqrt((n * mean + 1) / (n + 2) * (n - n * mean + 1) / (n + 2) / n)
        if np.all(weight == weight[0]):
            return Estimate(mean, float(floor))
        spread = float(np.sqrt(np.sum((weight * (values - mean)) ** 2)) / total)
        return Estimate(mean, max(spread, 1 / n if mean in (0.0, 1.0) else 0.0))
    return Estimate(mean, float(np.sqrt(np.sum((weight * (values - mean)) ** 2)) / total))


def quantile(values: Floats, level: float, weight: Floats) -> Estimate:
    """A weighted quantile; its error is half the span of the quantiles one standard error of the
    chance below and above."""
    order = np.argsort(values)
    ranked, w = values[order], weight[order]
    passed = (np.cumsum(w) - w / 2) / w.sum()

    def at(p: float) -> float:
        return float(np.interp(p, passed, ranked))

    middle = at(level)
    step = float(np.sqrt(np.sum((w * ((ranked > middle) - (1 - level))) ** 2)) / w.sum())
    step = max(step, float(np.sqrt(level * (1 - level) / values.size)))
    return Estimate(middle, (at(min(level + step, 1.0)) - at(level - step)) / 2)


def as_text(case: SampledCase, result: SampledResult) -> str:
    """The tables that a person reads."""
    lines = [f"{case.base.name}: {result.lives} lives for each plan, random seed {result.seed}"]
    lines += [f"effective lives {result.effective_lives:.0f}", "", "Present part, not replaced:"]
    for r in result.risk:
        e = r.probability
        lines.append(f"fails within {r.ahead:g} {case.base.unit}: {e.value:.5f} +- {e.error:.5f}")
    lines += ["", "Newly fitted parts, by usage left: above, up to, replaced at"]
    lines += [f"{a:12.2f}{b:12.2f}  {what}" for a, b, what in policy_rows(result.policy)]
    lines += ["", f"Plans (times in {case.base.unit}; +- one standard error)"]
    heads = ("any failure", "present part", "alarm", "caught", "expected cost", "bad case")
    lines.append(f"{'plan':14}" + "".join(f"{h:>20}" for h in heads))
    for plan in result.plans:
        own = (plan.present_part_failure_probability, plan.alarm_probability, plan.caught)
        chances = (plan.failure_probability, *own)
        cells = [f"{e.value:.5f} +- {e.error:.5f}" for e in chances]
        cells += [f"{e.value:.2f} +- {e.error:.2f}" for e in (plan.expected_cost, plan.bad_case)]
        lines.append(f"{plan.name:14}" + "".join(f"{c:>20}" for c in cells))
        told = (f"{key} {e.value:.5f}" for key, e in plan.counts.items())
        lines.append("    " + ", ".join(told))
    return "\n".join(lines)


def as_json(case: SampledCase, result: SampledResult, given: bool) -> str:
    """The same as one JSON object. ``choices`` only where the policy was computed here."""
    rows = [{"above": a, "up_to": b, "replaced_at": j} for a, b, j in policy_rows(result.policy)]
    return json.dumps(
        {
            "lives": result.lives,
            "effective_lives": result.effective_lives,
            "seed": result.seed,
            "risk": [asdict(r) for r in result.risk],
            "policy": rows,
            "choices": [] if given else [asdict(c) for c in choices(case.base, result.policy)],
            "plans": [asdict(p) for p in result.plans],
        },
        indent=1,
    )
