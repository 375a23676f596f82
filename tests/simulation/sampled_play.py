"""One plan, played through a block of lives with oil samples, event by event."""

from __future__ import annotations

import numpy as np

from .brute_force import COUNTED, CREDIT, FAILURE, FAULT, OIL, PLANNED, WORN
from .renewal_policy import NEVER, Policy
from .sampled_case import Floats, SampledCase
from .sampled_oil import Bools, draw_alarms, watch

URGENT, SAMPLE, LOOK = range(len(COUNTED), len(COUNTED) + 3)


def play(
    case: SampledCase,
    policy: Policy,
    at: float | None,
    part: tuple[Floats, Floats, Floats],
    alarms: Bools,
    world: tuple[Floats, Floats, Floats],
    rng: np.random.Generator,
) -> tuple[Floats, Bools, Bools]:
    """Play one plan through a block of lives.

    ``part``: the present part's usage left, visible lead, and time of an urgent replacement, each
    (n,); ``alarms`` (services, n); ``world``: the factors on new parts' lives and leads and the
    silent share, each (n,). Returns the discounted counts (9, n), whether anything failed (n,),
    fitting faults included, and whether the present part did (n,).
    """
    base, (life, visible, urgent_at) = case.base, part
    n, horizon = life.size, base.keep_usage
    counts = np.zeros((LOOK + 1, n))

    def v(t: Floats | float) -> Floats:
        return np.exp(-base.discount * np.asarray(t, dtype=np.float64))

    # The present part.
    end = horizon if at is None else at
    urgent = urgent_at < end
    over = np.where(urgent, urgent_at, np.minimum(life, end))
    for t, alarm in zip(base.services(), alarms, strict=True):
        if t >= end - base.tolerance:
            break
        happens = t < over
        counts[OIL, happens] += v(t)
        if case.elements:
            counts[SAMPLE, happens] += v(t)
            counts[LOOK, happens & alarm] += v(t)
    present_failed = ~urgent & (life < end)
    counts[FAILURE, present_failed] = v(life[present_failed])
    failed = present_failed.copy()
    planned = ~urgent & ~present_failed & (at is not None)
    replaced = urgent | planned
    counts[URGENT, urgent] = v(over[urgent])
    counts[PLANNED, planned] = v(over[planned])
    worn = replaced & (visible > life - over)
    counts[WORN, worn] = v(over[worn])
    fault = replaced & (rng.random(n) < base.install_fault)
    counts[FAULT, fault] = v(over[fault])
    failed |= fault
    owned = np.ones(n, dtype=np.bool_) if base.repair else ~present_failed

    # The parts fitted after it, one generation at a time.
    who = np.flatnonzero(replaced | (present_failed & base.repair))
    fitted = over[who]
    while who.size:
        who, fitted = _generation(case, policy, who, fitted, world, (counts, failed, owned), rng)
    counts[CREDIT] = np.where(replaced & owned, v(horizon), 0.0)
    return counts, failed, present_failed


def _generation(
    case: SampledCase,
    policy: Policy,
    who: np.ndarray[tuple[int], np.dtype[np.int64]],
    fitted: Floats,
    world: tuple[Floats, Floats, Floats],
    record: tuple[Floats, Bools, Bools],
    rng: np.random.Generator,
) -> tuple[np.ndarray[tuple[int], np.dtype[np.int64]], Floats]:
    """Play parts fitted at ``fitted`` (m,) into the lives ``who`` (m,) to their ends; enters what
    happens into ``record`` (counts, failed, owned). Returns who gets a further part, and when."""
    base, d, m = case.base, case.base.interval, who.size
    counts, failed, owned = record
    k, factor, silent_share = (each[who] for each in world)

    def v(t: Floats) -> Floats:
        return np.exp(-base.discount * t)

    left = base.keep_usage - fitted
    service = policy.service_at(left, base.tolerance)
    planned = (service != NEVER) & (service * d < left - base.tolerance)
    due = np.where(planned, service * d, left)
    life = k * base.scale * rng.standard_exponential(m) ** (1 / base.shape)
    urgent_at = np.full(m, np.inf)
    if case.elements:
        lead = case.lead.at(rng.standard_normal(m)) * factor
        onset = np.maximum(life - lead, 0.0)
        score, silent = rng.standard_normal(m), rng.random(m) < silent_share

    number = 0
    while True:
        age = (number + 1) * d
        i = np.flatnonzero((age < due - base.tolerance) & (age < life) & (urgent_at == np.inf))
        if not i.size:
            break
        now = v(fitted[i] + age)
        counts[OIL, who[i]] += now
        if case.elements:
            counts[SAMPLE, who[i]] += now
            judged = watch(case, number, history=False)
            parts = (life[i], onset[i], score[i], silent[i])
            alarm, seen = draw_alarms(case, judged, parts, age, rng)
            counts[LOOK, who[i[alarm]]] += now[alarm]
            then = age + case.turnaround
            hit = i[seen & (life[i] > then) & (left[i] - base.tolerance > then)]
            urgent_at[hit] = then
        number += 1

    urgent = urgent_at < np.inf
    over = np.where(urgent, urgent_at, np.minimum(life, due))
    fails = ~urgent & (life < due)
    when = v(fitted + over)
    counts[FAILURE, who] += np.where(fails, when, 0.0)
    failed[who] |= fails
    if not base.repair:
        owned[who] &= ~fails
    job = urgent | (planned & ~fails)
    counts[URGENT, who] += np.where(urgent, when, 0.0)
    counts[PLANNED, who] += np.where(job & ~urgent, when, 0.0)
    if base.visible_lead is not None:
        visible = base.visible_lead.at(rng.standard_normal(m))
        counts[WORN, who] += np.where(job & (visible > life - over), when, 0.0)
    fault = job & (rng.random(m) < base.install_fault)
    counts[FAULT, who] += np.where(fault, when, 0.0)
    failed[who] |= fault
    going = job | fails if base.repair else job
    return who[going], (fitted + over)[going]
