"""When a newly fitted part that is watched by oil samples is replaced in its turn.

As :mod:`renewal_policy`: dynamic programming over the usage left, on the same grid, one policy
chosen on the mean over all that is not known, here the factor on a new part's life, the factor on
the lead and the silent share. Past samples change how likely each pair of the last two is.

What an alarm does to a part does not hang on the usage left, so it is found first, once for each
node: the chance to be in service at each service, of an alarm, of an urgent replacement, of a
failure by each age. These are sums over cells of the part's life, quantiles of the lead and of the
rise. Where keep-until comes before an urgent replacement, nothing changes until then: the part
fails, or not, within the turnaround, as it does in those sums.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.special import ndtr, ndtri

from .case import Quantity
from .renewal_policy import NEVER, Ints, Policy, _grid, _intervals, quantity_nodes, solve_policy
from .sampled_case import Floats, SampledCase
from .sampled_oil import evidence, shift, watch


@dataclass(frozen=True)
class Story:
    """A new part that is sampled until it fails, per node (k, ...): ``failed`` (k, edges) by the
    ages ``edges``; at each service s: in ``service`` (k, s), ``alarm``, ``urgent``, and distress
    found by a ``planned_worn`` or an ``urgent_worn`` replacement."""

    edges: Floats
    failed: Floats
    service: Floats
    alarm: Floats
    urgent: Floats
    planned_worn: Floats
    urgent_worn: Floats


def _quantiles(count: int) -> Floats:
    return np.asarray(ndtri((np.arange(count) + 0.5) / count), dtype=np.float64)


def _story(
    case: SampledCase, k: float, factor: float, silent: bool, services: int, fine: int
) -> list[Floats]:
    """One node of a :class:`Story`, in the order of its fields, on ``fine`` cells a service."""
    base, d = case.base, case.base.interval
    inside = np.arange(services * fine + fine + 1) * d / fine
    turned = d * np.arange(1, services + 1) + case.turnaround
    edges = np.unique(np.concatenate([inside, turned]))
    hazard = (edges / (base.scale * k)) ** base.shape
    mass = -np.diff(np.exp(-hazard))
    middle = (edges[1:] + edges[:-1]) / 2
    # Beyond the last edge: equal chances, each at its middle.
    tail = hazard[-1] - np.log1p(-(np.arange(200) + 0.5) / 200)
    life = np.concatenate([middle, base.scale * k * tail ** (1 / base.shape)])
    mass = np.concatenate([mass, np.full(200, np.exp(-hazard[-1]) / 200)])

    leads, rises = (1, 1) if silent else ((2 * fine) // 3, 5)
    z, w = np.polynomial.hermite_e.hermegauss(rises)
    lead = factor * case.lead.at(_quantiles(leads))
    t, h, score = (a.ravel() for a in np.meshgrid(life, lead, z, indexing="ij"))
    weight = (mass[:, None, None] * np.full((1, leads, 1), 1 / leads) * (w / w.sum())).ravel()
    onset = np.maximum(t - h, 0.0)
    left = weight.copy()  # of it, not yet replaced after an alarm
    rows = np.zeros((5, services))
    for s in range(1, services + 1):
        at, judged = s * d, watch(case, s - 1, history=False)
        alive = np.flatnonzero(t > at)
        alarm = np.full(alive.size, case.false_alarm)
        seen = np.zeros(alive.size)
        if not silent:
            shown = np.flatnonzero(onset[alive] < at)
            i = alive[shown]
            alarm[shown] = judged.chance(shift(case, judged, t[i], onset[i], score[i], at))
            seen[shown] = case.investigation_sees * alarm[shown]
        seen[t[alive] <= at + case.turnaround] = 0.0
        here = left[alive]
        rows[0, s - 1], rows[1, s - 1] = here.sum(), here @ alarm
        urgent = here * seen
        rows[2, s - 1] = urgent.sum()
        if base.visible_lead is not None:
            v = base.visible_lead

            def worn(gap: Floats, v: Quantity = v) -> Floats:
                """P(V > gap)."""
                log = np.log(np.maximum(gap, 1e-300)) - v.mu
                return np.asarray(ndtr(-log / v.sigma) if v.sigma else log < 0, dtype=np.float64)

            rows[3, s - 1] = here @ worn(t[alive] - at)
            rows[4, s - 1] = urgent @ worn(t[alive] - at - case.turnaround)
        left[alive] -= urgent
    fails = left.reshape(life.size, -1).sum(axis=1)[: middle.size]
    failed = np.concatenate([[0.0], np.cumsum(fails)])
    return [edges, failed, *rows]


def _nodes(case: SampledCase, counts: tuple[int, int, int]) -> list[tuple[Floats, Floats]]:
    """Values and weights over the factors on life and on lead, and over the silent share; the
    last two weigh (lead, silent), today's past samples included."""
    k = quantity_nodes(case.base.new_part_life, counts[0])
    factor, prior = quantity_nodes(case.lead_factor, counts[1])
    z, silent_prior = (
        np.polynomial.hermite_e.hermegauss(counts[2])
        if case.silent.sigma
        else (np.zeros(1), np.ones(1))
    )
    silent = case.silent.at(z)
    silent_prior = silent_prior / silent_prior.sum()
    likelihood = np.ones(factor.size)
    if case.history:
        base, n = case.base, 100_000
        rng = np.random.default_rng(20)
        total = (base.age / base.scale) ** base.shape + rng.standard_exponential(n)
        life = base.scale * total ** (1 / base.shape)
        lead, score = case.lead.at(rng.standard_normal(n)), rng.standard_normal(n)
        for i, f in enumerate(factor):
            onset = np.maximum(life - f * lead, 0.0)
            likelihood[i] = evidence(case, life, onset, score).mean()
    joint = prior[:, None] * silent_prior * (silent + (1 - silent) * likelihood[:, None])
    return [k, (factor, silent), (joint / joint.sum(), prior)]


def _stories(
    case: SampledCase, services: int, counts: tuple[int, int, int], fine: int
) -> tuple[Story, Floats]:
    """The story at each node, and the nodes' weights."""
    (k, k_weight), (factor, silent), (joint, _) = _nodes(case, counts)
    rows: list[list[Floats]] = []
    weights: list[float] = []
    for a, k_one in enumerate(k):
        dumb = _story(case, float(k_one), 1.0, True, services, fine)
        for b, f in enumerate(factor):
            told = _story(case, float(k_one), float(f), False, services, fine)
            for c, p in enumerate(silent):
                rows.append([p * x + (1 - p) * y for x, y in zip(dumb, told, strict=True)])
                weights.append(float(k_weight[a] * joint[b, c]))
    fields = [np.array([row[i] for row in rows]) for i in range(7)]
    return Story(rows[0][0], *fields[1:]), np.array(weights)


def solve_sampled_policy(
    case: SampledCase, cells: int = 60, nodes: tuple[int, int, int] = (5, 5, 3), fine: int = 24
) -> Policy:
    """Find the policy for newly fitted parts; without elements, that of :mod:`renewal_policy`."""
    base, d = case.base, case.base.interval
    if not case.elements:
        return solve_policy(base)
    grid, block = _grid(base, cells)
    services = grid.size // block - 1
    story, weight = _stories(case, services, nodes, fine)
    horizon = base.keep_usage
    v = np.exp(-base.discount * (horizon - grid))
    credit = 0.0 if base.repair else base.sale_credit.mean
    at_end = -credit * np.exp(-base.discount * horizon)
    fault = base.install_fault * base.fault_mean
    job, rush = base.planned.mean + fault, case.urgent.mean + fault
    at_service = story.service * (base.oil_change.mean + case.sample.mean)
    at_service = at_service + story.alarm * case.investigation.mean
    gone = np.cumsum(story.urgent, axis=1)

    def failed_by(ages: Floats) -> Floats:
        low = np.clip(np.searchsorted(story.edges, ages) - 1, 0, story.edges.size - 2)
        ends = story.edges[[low, low + 1]] ** base.shape  # straight in t^b, as F nearly is
        part = (ages**base.shape - ends[0]) / (ends[1] - ends[0])
        table = story.failed
        return np.asarray(table[:, low] * (1 - part) + table[:, low + 1] * part)

    cost = np.zeros((weight.size, grid.size))  # from a fitting on, discounted to now
    paid = np.zeros((weight.size, grid.size))  # by a failure with this usage left, and after it
    candidates: list[Floats] = []

    def cost_at(left: float) -> Floats:
        """Cost to come (nodes,) with this usage left, between grid points of one block."""
        b = max(int(np.ceil((left - base.tolerance) / d)) - 1, 0)
        own = slice(b * block, (b + 1) * block)
        hi = int(np.clip(np.searchsorted(grid[own], left), 1, block - 1)) + b * block
        part = (left - grid[hi - 1]) / (grid[hi] - grid[hi - 1])
        return np.asarray(cost[:, hi - 1] * (1 - part) + cost[:, hi] * part)

    for i, left in enumerate(grid):
        n = i // block
        failed = failed_by(left - grid[i::-1])
        chance = np.diff(failed, axis=1)
        paid[:, i] = base.failure_mean * v[i]
        ends = paid[:, i::-1]
        integral = np.zeros((weight.size, i + 1))
        np.cumsum(chance * (ends[:, :-1] + ends[:, 1:]) / 2, axis=1, out=integral[:, 1:])
        total = np.empty((weight.size, n + 1))
        running = np.zeros(weight.size)  # services, alarms and urgent replacements so far
        replaced = np.zeros(weight.size)
        for j in range(1, n + 1):
            after = i - j * block
            total[:, j] = running + integral[:, j * block]
            total[:, j] += story.service[:, j - 1] * (v[after] * job + cost[:, after])
            total[:, j] += story.planned_worn[:, j - 1] * v[after] * base.found_worn.mean
            running = running + at_service[:, j - 1] * v[after]
            still = left - j * d - case.turnaround
            if still > base.tolerance:
                when = np.exp(-base.discount * (horizon - still))
                running += story.urgent[:, j - 1] * (when * rush + cost_at(still))
                running += story.urgent_worn[:, j - 1] * when * base.found_worn.mean
                replaced = gone[:, j - 1]
        if not base.replace_new_parts:
            total[:, 1:] = np.inf
        survive = 1 - failed[:, -1] - replaced
        total[:, NEVER] = running + integral[:, i] + survive * at_end
        if base.repair and i:  # a failure within the first cell leads back to this very cost
            total /= (1 - chance[:, 0] / 2)[:, None]
        mean = weight @ total
        candidates.append(mean)
        cost[:, i] = total[:, int(np.argmin(mean))]
        if base.repair:
            paid[:, i] += cost[:, i]

    breaks, service = _intervals(grid, block, candidates)
    ranked = [np.argsort(c, kind="stable")[:2] for c in candidates]
    second = np.array([r[-1] for r in ranked], dtype=np.int64)
    pairs = zip(candidates, ranked, strict=True)
    margin = np.array([c[r[1]] - c[r[0]] if r.size > 1 else np.inf for c, r in pairs])
    return Policy(breaks, service, grid, (weight @ cost) / v, second, margin / v)


def policy_from(rows: Any, case: SampledCase) -> Policy:
    """A policy from [usage left, service (0: never)] rows: each holds for a usage left up to and
    including its own, from that of the row below it on; the last for all above. Raises
    ``ValueError``."""
    try:
        table = sorted((float(left), int(service)) for left, service in rows)
        ok = all(left > 0 and service >= 0 for left, service in table)
    except (TypeError, ValueError):
        table, ok = [], False
    if not table or not ok:
        raise ValueError("policy: expected a list of [usage left, service], both not negative")
    left = np.array([0.0, *(m for m, _ in table)])
    left[-1] = max(left[-1], case.base.keep_usage)
    service: Ints = np.array([s for _, s in table], dtype=np.int64)
    nothing = np.full(left.size, np.nan)
    return Policy(left, service, left, nothing, np.zeros(left.size, np.int64), nothing)


def read_policy(path: Path, case: SampledCase) -> Policy:
    """A policy from a JSON file, see :func:`policy_from`."""
    return policy_from(json.loads(path.read_text(encoding="utf-8")), case)
