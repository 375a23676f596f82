"""All of an answer that no price enters: worked out once, it serves while prices move."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.occasions import occasions
from riskmodel.decision.prepared import (
    Grounds,
    Prepared,
    grounds,
    prepared,
    regrounded,
    repriced,
)
from riskmodel.decision.results import Ahead, Chance, Interval
from riskmodel.decision.timing import Timing, timing_of
from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.later import is_later
from riskmodel.risk.with_oil import told_with_oil

Floats = NDArray[np.float64]

AHEAD_POINTS = 41


@dataclass(frozen=True, slots=True, eq=False)
class Basis:
    """What an answer stands on: its grounds, the plans' chances before prices (`ready`), and the
    chances ahead with the part left in, by the times that people ask for and all along. `bare`
    are the plans' chances with no samples to come; None where none are planned."""

    found: Grounds
    ready: Prepared
    bare: Prepared | None
    risk: tuple[Chance, ...]
    ahead: Ahead


def basis(case: Case, curves: Curves | None = None) -> Basis:
    """That of `case`; `curves` stands in for the life curves of its own records. Raises
    `CannotAnswer` where records and beliefs together do not settle a life curve."""
    return _of(grounds(case, curves))


def rebased(base: Basis, case: Case) -> Basis:
    """The same for a case that differs in its prices and plans alone; what a plan's time or the
    discount rate touches is worked out again, and all of it where the life of new parts is the
    present one's."""
    if is_later(case) and case.plan.new_part_life != base.found.new_part_life:
        return basis(case)
    found = regrounded(base.found, case)
    timing, now, before = timing_of(found.case), found.case, base.ready.case
    if timing != base.ready.timing:
        return _of(found)
    sampling = found.sampling
    same = (
        now.plan.new_part_life == before.plan.new_part_life
        and now.cost.install_fault == before.cost.install_fault
        and occasions(now, timing) == base.ready.occasions
        and (sampling is None or sampling.serves(now, found.taken))
        and now.sampled == before.sampled
    )
    if not same:
        return Basis(found, prepared(found), _bare(found), base.risk, base.ahead)
    bare = None if base.bare is None else repriced(base.bare, unsampled(now))
    return Basis(found, repriced(base.ready, now), bare, base.risk, base.ahead)


def _of(found: Grounds) -> Basis:
    ready = prepared(found)
    return Basis(found, ready, _bare(found), *_chances(found, ready.timing))


def unsampled(case: Case) -> Case:
    """The same with no samples at the oil changes to come."""
    return replace(case, plan=replace(case.plan, sample=False))


def _bare(found: Grounds) -> Prepared | None:
    return prepared(found, unsampled(found.case)) if found.case.sampled else None


def _chances(found: Grounds, timing: Timing) -> tuple[tuple[Chance, ...], Ahead]:
    """The chance of failing by each of the times that people ask for, and all along."""
    curves, ages, taken = found.curves, found.ages, found.taken
    horizons = {
        "next_oil_change": min(timing.first, timing.keep),
        "one_year": timing.per_year,
        "keep_until": timing.keep,
    }
    at, usage = np.array(list(horizons.values())), np.linspace(0.0, timing.keep, AHEAD_POINTS)
    if taken is None:
        told, all_along = (chance_ahead(curves, ages, each) for each in (at, usage))
        risk = (
            Chance(what, float(at[i]), Interval(*_at(told, i))) for i, what in enumerate(horizons)
        )
        return tuple(risk), Ahead(usage, *all_along)
    plain = chance_ahead(curves, ages, at)
    with_oil, _ = told_with_oil(curves, taken, np.concatenate([at, usage]), ages)
    whole = with_oil.value, with_oil.low, with_oil.high
    first = tuple(each[: len(at)] for each in whole)
    risk = (
        Chance(
            what,
            float(at[i]),
            Interval(*_at(first, i)),
            Interval(*_at(plain, i)),
            float(first[0][i] / plain[0][i]) if plain[0][i] > 0 else 1.0,
        )
        for i, what in enumerate(horizons)
    )
    return tuple(risk), Ahead(usage, *(each[len(at) :] for each in whole))


def _at(told: Sequence[Floats], i: int) -> tuple[float, float, float]:
    value, low, high = (float(each[i]) for each in told)
    return value, low, high
