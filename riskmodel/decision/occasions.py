"""The times that people plan by, besides the oil changes: when the workshop has a slot, in a year,
at the yearly lay-up, at a round figure on the meter."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.timing import AT_THE_END, Timing
from riskmodel.records.case import Case
from riskmodel.records.inputs import Unit

Floats = NDArray[np.float64]

Kind = Literal["booking", "job", "year", "lay_up", "reading", "sale"]

ROUND: Final[dict[Unit, float]] = {"km": 50_000.0, "mi": 25_000.0, "h": 1_000.0}
"""Figures on the meter that people plan by are multiples of these (judgement)."""
APART = 0.02
"""An occasion this near to an oil change, in intervals, is that oil change."""
AT_THE_SAME = 1e-5
"""A job this near to an oil change, in intervals, comes with it."""
WEEKS_PER_YEAR, DAYS_PER_YEAR = 365.25 / 7, 365.25
MOST_LAY_UPS = 5


@dataclass(frozen=True, slots=True)
class Occasion:
    """A time to replace the part: `at`, in usage from now; `date` of a lay-up, `reading` of a
    round figure. A `sale` replaces nothing."""

    kind: Kind
    at: float
    date: str | None = None
    reading: float | None = None


def occasions(case: Case, timing: Timing) -> tuple[Occasion, ...]:
    """Those between now and keep-until, none at an oil change, in order of time."""
    found = [*_booking(case), *_with_job(case), Occasion("year", timing.per_year)]
    found += [*_lay_ups(case), *_round(case)]
    kept: list[Occasion] = []
    taken = timing.services
    for each in found:
        inside = AT_THE_END * timing.keep < each.at < timing.keep * (1 - AT_THE_END)
        if inside and (each.kind == "job" or not at_a_service(each.at, taken, timing.interval)):
            kept.append(each)
            taken = np.append(taken, each.at)
    return tuple(sorted(kept, key=lambda each: each.at))


def closed(case: Case, at: Floats) -> int:
    """How many of the first plans, `at` usages from now in order of time, cannot be had: the
    workshop has no slot before."""
    return before_slot(booked_until(case), at)


def before_slot(slot: float, at: Floats) -> int:
    """How many of plans `at` usages in order of time come before a slot in so much usage."""
    return int(np.searchsorted(at, slot * (1 - AT_THE_END))) if slot > 0 else 0


def at_a_service(usage: float, services: Floats, interval: float) -> bool:
    """Whether a time is so near to a service that it is that service."""
    return bool(np.any(np.abs(services - usage) < APART * interval))


def booked_until(case: Case) -> float:
    """Usage from now to the workshop's first slot."""
    return case.plan.booking_weeks / WEEKS_PER_YEAR * case.machine.usage_per_year


def _booking(case: Case) -> list[Occasion]:
    slot = booked_until(case)
    return [Occasion("booking", slot)] if slot > 0 else []


def _with_job(case: Case) -> list[Occasion]:
    """With another job that is due; at an oil change just before it, for what it saves."""
    at = case.plan.other_job_in
    if at is None:
        return []
    near = AT_THE_SAME * case.interval
    late = (at - case.next_change_in) % case.interval
    return [Occasion("job", at - near if min(late, case.interval - late) < near else at)]


def together(found: tuple[Occasion, ...]) -> float | None:
    """When the part is replaced together with another job; None where none is due."""
    return next((each.at for each in found if each.kind == "job"), None)


def _lay_ups(case: Case) -> list[Occasion]:
    """The yearly lay-up, from the day that the case calls today."""
    if case.plan.lay_up is None or case.machine.date is None:
        return []
    today = datetime.date.fromisoformat(case.machine.date)
    first = datetime.date.fromisoformat(case.plan.lay_up)
    found = []
    for year in range(MOST_LAY_UPS):
        day = _years_later(first, year)
        usage = (day - today).days / DAYS_PER_YEAR * case.machine.usage_per_year
        found.append(Occasion("lay_up", usage, date=day.isoformat()))
    return found


def _years_later(day: datetime.date, years: int) -> datetime.date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return day.replace(year=day.year + years, day=28)


def _round(case: Case) -> list[Occasion]:
    """The next round figure on the meter."""
    step, reading = ROUND[case.machine.unit], case.machine.reading
    figure = step * (np.floor(reading / step) + 1)
    return [Occasion("reading", float(figure - reading), reading=float(figure))]
