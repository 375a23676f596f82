"""The day and the meter reading of a plan, for what is written into a calendar."""

from __future__ import annotations

import datetime

from riskmodel.decision.results import PlanResult, Weighing
from riskmodel.words import formats

DAYS_PER_YEAR = 365.25
NOTHING_TO_BOOK = {
    "alarm": "No date to book: keep the workshop's number at hand for an alarm.",
    "never": "No date to book: look at this again at every oil change.",
}
MOST_DAYS = 36_500
"""Further ahead no day is named."""


def meter_at(w: Weighing, at: float) -> str:
    """The meter reading at a usage from now, to about a hundredth of a year's use."""
    step = 100.0 if w.case.machine.usage_per_year >= 5000 else 10.0
    reading = round((w.case.machine.reading + at) / step) * step
    return formats.usage(reading, w.case.machine.unit)


def booking_sentence(w: Weighing) -> str:
    """By when to ask for a date, at the use that was entered."""
    plan, case = w.best, w.case
    if plan is None:
        return ""
    if plan.at is None:
        return NOTHING_TO_BOOK["alarm" if case.sampled else "never"]
    weeks = case.plan.booking_weeks
    days = plan.at / case.machine.usage_per_year * DAYS_PER_YEAR
    ring = days - 7 * weeks
    ahead = ""
    if weeks:
        many = f"{formats.exact(weeks)}{formats.NBSP}week{'' if weeks == 1 else 's'}"
        ahead = f" (it is booked {many} ahead)"
    today = _today(case.machine.date)
    if today is None or days > MOST_DAYS:
        when = formats.duration(max(ring, 0.0) / DAYS_PER_YEAR)
        soon = "now" if ring < 7 else f"in {when}"
        return f"Ask the workshop for a date {soon}{ahead}."
    job = formats.day((today + datetime.timedelta(days=round(days))).isoformat())
    if plan.service == 0:
        return f"Ask the workshop for the first date{ahead}."
    call = "now"
    if not weeks:
        call = "now, before the days that suit you are taken"
    elif ring >= 7:
        day = today + datetime.timedelta(days=round(ring))
        call = f"by {formats.day(day.isoformat())}"
    return (
        f"About {job} at your rate of use, at about {meter_at(w, plan.at)} on the meter. "
        f"Ask the workshop for a date {call}{ahead}."
    )


def by_then(w: Weighing, plan: PlanResult) -> str:
    """When a plan comes due: "about 15 April 2027, at about 129,200 km on the meter"; the meter
    alone where the day is not known."""
    assert plan.at is not None
    meter = f"at about {meter_at(w, plan.at)} on the meter"
    days = plan.at / w.case.machine.usage_per_year * DAYS_PER_YEAR
    today = _today(w.case.machine.date)
    if today is None or days > MOST_DAYS:
        return meter
    day = today + datetime.timedelta(days=round(days))
    return f"about {formats.day(day.isoformat())}, {meter}"


def _today(date: str | None) -> datetime.date | None:
    """The day of the case; None where it is not known, or too near the calendar's end."""
    if date is None:
        return None
    today = datetime.date.fromisoformat(date)
    return today if today.year + MOST_DAYS // 365 < datetime.MAXYEAR else None
