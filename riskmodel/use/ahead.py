"""Changed habits: the same engine under other use from now on, side by side.

Each alternative keeps the past and the nodes of what is not known, so that a difference between
two of them is told node by node: what makes the past harsh makes a change worth more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.case import Case
from riskmodel.use.aged import EACH, AgedCurves, aged_curves, with_habits
from riskmodel.use.effective_age import TAIL, Use, use_of
from riskmodel.use.kinds import FULL_LOAD, UNWARMED, like
from riskmodel.use.mix import Mix

Floats = NDArray[np.float64]

AS_NOW, WARM_UP, NO_COMPETITION, HALF_USAGE = (
    "as_now",
    "warm_up",
    "no_competition",
    "half_usage",
)

GIVEN_UP: Final = {WARM_UP: UNWARMED, NO_COMPETITION: FULL_LOAD}
"""The standard kind of use that a change of habit does away with. Warming up spares the load on
cold oil, not the cold starts and short trips themselves."""


@dataclass(frozen=True, eq=False)
class Alternative:
    """One way to go on: the case and the use as they would then be."""

    key: str
    case: Case
    use: Use


@dataclass(frozen=True, slots=True)
class Chance:
    """A posterior mean and its 90 % credible interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class HabitChance:
    """The chance of failure within `usage` from now under one alternative, and how much less that
    is than under the first."""

    key: str
    usage: float
    chance: Chance
    less: Chance


def alternatives(case: Case, use: Use | None = None) -> tuple[Alternative, ...]:
    """As now, and each change of habit that would change anything.

    A kind of use is given up where it may occur ahead and its name tells what it is
    (`kinds.like`); half the yearly usage applies where the machine is kept for a time, not for a
    given usage.
    """
    now = use_of(case) if use is None else use
    found = [Alternative(AS_NOW, case, now)]
    for key, kind in GIVEN_UP.items():
        names = _given_up(case, now, kind)
        if names:
            mix = now.mix_ahead.without(names)
            found.append(Alternative(key, _with_ahead(case, mix), now.with_ahead(mix)))
    if case.plan.keep_years is not None:
        found.append(Alternative(HALF_USAGE, half_usage(case), now))
    return tuple(found)


def half_usage(case: Case) -> Case:
    """The case with half the usage in a year, kept for as many years.

    Where oil is changed by the calendar, less usage then lies between changes: the next one comes
    no later than that, and a sample's turnaround stays shorter than it.
    """
    machine = replace(case.machine, usage_per_year=case.machine.usage_per_year / 2)
    halved = replace(case, machine=machine, plan=replace(case.plan, keep_usage=None))
    interval, oil = halved.interval, case.oil
    soon = oil.next_change_in
    turnaround = oil.turnaround if oil.turnaround < interval else interval / 2
    next_change = None if soon is None else min(soon, interval)
    return replace(halved, oil=replace(oil, next_change_in=next_change, turnaround=turnaround))


def compare_habits(
    curves: Curves,
    options: Sequence[Alternative],
    known_survival: tuple[float, float] | None,
    years: float,
    each: int | None = EACH,
) -> tuple[HabitChance, ...]:
    """The chance of failure within so many years under each of `options`, the first being what the
    others are compared with; see `aged_curves` for the rest."""
    first = options[0]
    aged = aged_curves(curves, first.use, known_survival, each)
    base = np.empty(0)
    found = []
    for option in options:
        usage = option.case.machine.usage_per_year * years
        there = with_habits(aged, first.use, option.use)
        chance = conditional_failure(there.age, usage, there.shape, there.scale)
        base = chance if option is first else base
        found.append(
            HabitChance(option.key, usage, _told(chance, aged), _told(base - chance, aged))
        )
    return tuple(found)


def _told(values: Floats, aged: AgedCurves) -> Chance:
    low, high = weighted_quantile(values, aged.weight, [TAIL, 1 - TAIL])
    return Chance(float(values @ aged.weight), float(low), float(high))


def _given_up(case: Case, use: Use, kind: str) -> list[str]:
    """Names of the case's kinds that are `kind` and may occur ahead."""
    mix = use.mix_ahead

    def occurs(name: str, population_share: float) -> bool:
        return mix.shares.get(name, population_share if mix.unknown else 0.0) > 0

    return [
        each.name
        for each in use.kinds
        if like(each.name, case.machine.unit) == kind and occurs(each.name, each.population_share)
    ]


def _with_ahead(case: Case, mix: Mix) -> Case:
    """The case with these habits ahead, as far as a case can tell them: shares known in part
    leave the case as it was."""
    if mix.unknown:
        return case
    ahead = replace(case.use, ahead=dict(mix.shares))
    return replace(case, use=ahead, stated=case.stated | {"use.ahead"})
