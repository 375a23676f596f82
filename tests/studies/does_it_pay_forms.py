"""Do the forms of the verdict that the study uses agree with the whole `weigh`?

Without samples the study asks for the expected costs that `weigh` is made of; with samples for
those of the ranking's quick form. Both are compared with `weigh` on decisions of the study itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.decision.rank_quick import Quick, quick
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.weigh import recommended, weigh
from riskmodel.records.case import Case
from tests.studies.owners import (
    AS_MODELLED,
    TURNAROUND,
    at_usage,
    case_of,
    draw_owner,
    stream,
)
from tests.studies.owners_club import club
from tests.studies.owners_life import NEAR, Luck
from tests.studies.owners_oil import Oil
from tests.studies.owners_verdict import verdict

RECORDS = 150


@dataclass(frozen=True)
class Pair:
    """One decision: whether the whole `weigh` and the other form say to replace before the next
    oil change or at it, what the other form's plan costs more by `weigh`'s figures, in parts of
    its least cost, and the greatest difference of a plan's cost in the same parts (the latter
    only for the quick form)."""

    weigh: bool
    other: bool
    dearer: float
    apart: float


def decision(number: int, sampled: bool) -> Case:
    """A case that some owner asks about, today or at some oil change."""
    owner = draw_owner(number)
    data = club(stream(number, 1), RECORDS, owner.shape, owner.scale)
    luck = Luck(owner, AS_MODELLED, 1)
    after = TURNAROUND if sampled else 0.0
    asked = [0.0, *(owner.services + after)]
    lasts = [each for each in asked if each < min(luck.first.life[0], owner.keep - NEAR)]
    since = float(stream(number, 9).choice(lasts))
    case = at_usage(case_of(owner, data, sampled), owner, since)
    return replace(case, samples=Oil(owner, luck).samples(0, since)) if sampled else case


def pair(number: int, sampled: bool) -> Pair:
    case = decision(number, sampled)
    told = weigh(case, retest=False)
    assert told.recommended is not None
    at = np.array([np.inf if plan.at is None else plan.at for plan in told.plans])
    cost = np.array([plan.cost.value for plan in told.plans])
    soon = case.next_change_in + NEAR
    least, apart = float(cost[told.recommended]), 0.0
    if sampled:
        (found,) = quick([case], [False], Shared())
        assert isinstance(found, Quick)
        chosen = recommended(case, found.at, found.cost, found.failure)
        apart = float(np.abs(found.cost - cost).max()) / least
    else:
        when = verdict(case, Shared())
        chosen = int(np.flatnonzero(at == when)[0])
    dearer = float(cost[chosen]) / least - 1
    return Pair(bool(at[told.recommended] <= soon), bool(at[chosen] <= soon), dearer, apart)


def compare(owners: int) -> str:
    lines = [
        "| form | decisions | replace by the next oil change, else wait: differs "
        "| dearer by weigh's own figures: mean | worst | a plan's cost apart: median | worst |",
        "|---|---|---|---|---|---|---|",
    ]
    for sampled, name in ((False, "expected costs, no samples"), (True, "quick, with samples")):
        pairs = [pair(n, sampled) for n in range(owners)]
        differ = sum(p.weigh != p.other for p in pairs)
        dearer, apart = (
            100 * np.array([getattr(p, k) for p in pairs]) for k in ("dearer", "apart")
        )
        cells = f"{differ} | {dearer.mean():.3f} % | {dearer.max():.2f} %"
        told = f"{np.median(apart):.2f} % | {apart.max():.2f} %" if sampled else "0 | 0"
        lines.append(f"| {name} | {len(pairs)} | {cells} | {told} |")
    return "\n".join(lines)
