"""All of an answer that no price enters: worked out once, it serves while prices move."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

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

AHEAD_POINTS = 25


@dataclass(frozen=True, eq=False)
class Basis:
    """What an answer stands on: its grounds, and the plans' chances before prices (`ready`). The
    rest is worked out when first asked for. `like` is a basis whose chances are the same."""

    found: Grounds
    ready: Prepared
    like: Basis | None = None

    @cached_property
    def risk(self) -> tuple[Chance, ...]:
        """The chances ahead with the part left in, by the times that people ask for."""
        if self.like is not None:
            return self.like.risk
        if "_all" in self.__dict__:
            return self._all[0]
        return _chances(self.found, self.ready.timing, np.empty(0))[0]

    @cached_property
    def ahead(self) -> Ahead:
        """The same all along, until keep-until."""
        return self._all[1] if self.like is None else self.like.ahead

    @cached_property
    def _all(self) -> tuple[tuple[Chance, ...], Ahead]:
        timing = self.ready.timing
        return _chances(self.found, timing, np.linspace(0.0, timing.keep, AHEAD_POINTS))

    @cached_property
    def bare(self) -> Prepared | None:
        """The plans' chances with no samples to come; None where none are planned."""
        case = unsampled(self.found.case)
        if not self.found.case.sampled:
            return None
        if self.like is not None and _alike(self.like, self):
            kept = self.like.bare
            return None if kept is None else repriced(kept, case)
        found, told = self.found, self.found.sampling
        if told is not None:  # means alone are asked for
            found = replace(found, sampling=told.on_average())
        return prepared(found, case)


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
    if timing_of(found.case) != base.ready.timing:
        return _of(found)
    like = base if base.like is None else base.like
    if _serves(base.ready, found):
        return Basis(found, repriced(base.ready, found.case), like)
    return Basis(found, prepared(found), like)


def _serves(ready: Prepared, found: Grounds) -> bool:
    """Whether `found` has the chances of `ready`, and differs in its prices alone."""
    now, before, sampling = found.case, ready.case, found.sampling
    return (
        now.plan.new_part_life == before.plan.new_part_life
        and now.cost.install_fault == before.cost.install_fault
        and occasions(now, ready.timing) == ready.occasions
        and (sampling is None or sampling.serves(now, found.taken))
        and now.sampled == before.sampled
    )


def _alike(one: Basis, other: Basis) -> bool:
    return one.found.case.sampled and _serves(one.ready, other.found)


def _of(found: Grounds) -> Basis:
    return Basis(found, prepared(found))


def unsampled(case: Case) -> Case:
    """The same with no samples at the oil changes to come."""
    return replace(case, plan=replace(case.plan, sample=False))


def _chances(found: Grounds, timing: Timing, usage: Floats) -> tuple[tuple[Chance, ...], Ahead]:
    """The chance of failing by each of the times that people ask for, and within each `usage`."""
    curves, ages, taken = found.curves, found.ages, found.taken
    horizons = {
        "next_oil_change": min(timing.first, timing.keep),
        "one_year": timing.per_year,
        "keep_until": timing.keep,
    }
    at = np.array(list(horizons.values()))
    if taken is None:
        told, all_along = (chance_ahead(curves, ages, each) for each in (at, usage))
        risk = (
            Chance(what, float(at[i]), Interval(*_at(told, i))) for i, what in enumerate(horizons)
        )
        return tuple(risk), Ahead(usage, *all_along)
    plain = chance_ahead(curves, ages, at)
    with_oil, _ = told_with_oil(curves, taken, np.concatenate([at, usage]), ages, len(at))
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
