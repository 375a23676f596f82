"""What to do after reading the verdict."""

from __future__ import annotations

from riskmodel.decision.results import PlanResult, Weighing
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.cautions import STOP_AT_ONCE
from riskmodel.words.plan_names import keeping
from riskmodel.words.sheet_dates import meter_at

WEEKS_PER_YEAR = 365.25 / 7


def next_steps(w: Weighing) -> list[str]:
    """What to do now, in order; with symptoms, nothing beyond the stop text."""
    i = w.recommended
    if i is None:
        return []
    case, plan = w.case, w.plans[i]
    booked = [] if w.sells else _book(w, plan)
    steps = [_talk(case), *_sell(w), *_first_step(w), *booked, *_meanwhile(w, plan)]
    held = plan.service == 1 and not w.sells and not w.first_step
    return [*steps, _look_again(case, held), _tell(case)]


def questions(case: Case) -> list[str]:
    """What to ask the workshop before booking."""
    part = case.part.name
    asked = [
        f"Is the price for the {part} fixed, and what does it cost more if the old part turns out "
        "worn?",
        "What will be looked at while the engine is open, and will I get the old parts and photos?",
        "Which bolts and seals may be used once only, and are new ones in the price?",
        "Who stands for a fitting fault, and for how long?",
        "How is it run in afterwards, and when is the first oil change?",
    ]
    jobs = [line.job for line in case.cost.while_open if not line.one_time_use]
    if jobs:
        asked.append(f"What do these cost in the same visit: {'; '.join(jobs)}?")
    return asked


def _talk(case: Case) -> str:
    return (
        "Show this to a qualified mechanic who knows the engine, with your figures, before you act "
        "on it."
    )


def _sell(w: Weighing) -> list[str]:
    if not w.sells:
        return []
    return [
        "Before you offer it: write down for the buyer what you know of the part, its age, the "
        "samples and this estimate, and ask two dealers or buyers what it fetches so. If the "
        f"offers fall short, the plan that keeps it is: {keeping(w)}."
    ]


def _first_step(w: Weighing) -> list[str]:
    if w.first_step == "inspection":
        return [
            "Have the part looked at before you decide: ask what the look costs, whether it shows "
            "all shells, and that what is seen is photographed. If it shows distress, don't drive "
            "on. What follows is the plan without it."
        ]
    if w.first_step != "retest":
        return []
    at, unit = w.case.oil.retest_in, w.case.machine.unit
    ahead, meter = formats.usage(at, unit), formats.usage(w.case.machine.reading + at, unit)
    return [
        f"Draw a second sample in {ahead}, at about {meter} on the meter, hot and in a new bottle, "
        "and have it read at once; load the engine as little as you can until then. What follows "
        "is the plan without it: ask for a date now, so that a surge does not find you without one."
    ]


def _book(w: Weighing, plan: PlanResult) -> list[str]:
    case = w.case
    weeks = case.plan.booking_weeks
    unit, per_week = case.machine.unit, case.machine.usage_per_year / WEEKS_PER_YEAR
    wait = ""
    if weeks:
        many = f"{formats.exact(weeks)}{formats.NBSP}week{'' if weeks == 1 else 's'}"
        wait = (
            f" The workshop is booked {many} ahead: at your rate that is about "
            f"{formats.usage(_round(weeks * per_week), unit)} more; use it less until then."
        )
    if plan.service == 0:
        return [f"Ask for a firm price and a date.{wait}"]
    if plan.at is None:
        return ["Put the price of a failure aside: it is the risk that you choose to carry."]
    meter = meter_at(w, plan.at)
    if plan.occasion is not None and plan.occasion.kind == "booking":
        return [
            f"Ask for a firm price and take the first date, at about {meter} on the meter.{wait}"
        ]
    start = ""
    if weeks:
        early = formats.usage(_round(max(0.0, plan.at - weeks * per_week)), unit)
        many = f"{formats.exact(weeks)}{formats.NBSP}week{'' if weeks == 1 else 's'}"
        start = f" The workshop is booked {many} ahead: ask for the date in about {early} from now."
    where = f"the oil change at about {meter} on the meter"
    if plan.occasion is not None:
        where = f"about {meter} on the meter"
        if plan.occasion.date is not None:
            where = f"the lay-up on {formats.day(plan.occasion.date)}, at {where}"
    return [f"Plan the job for {where}.{start}"]


def _meanwhile(w: Weighing, plan: PlanResult) -> list[str]:
    start = "Meanwhile" if plan.at is None else "Until then"
    steps = [
        f"{start}: let it warm up before asking much of it, don't labour it at low speed, keep to "
        "the oil the maker names and check its level. (Common practice; no measured effect is "
        "claimed.)",
        STOP_AT_ONCE,
    ]
    if plan.service == 1:
        steps.append(
            "At that oil change cut the filter open first: if it holds metal, the engine is not "
            "started again. The job does not wait for a laboratory. If you want one to look at "
            "the oil, draw the sample some weeks before and have it weighed again with its result; "
            "one drawn that day comes too late to decide by."
        )
    elif len(w.services) and plan.service != 0:
        steps.append(
            "At the next oil change cut the filter open and look for metal; have a sample of the "
            "used oil looked at by a laboratory."
        )
    return steps


def _look_again(case: Case, held: bool) -> str:
    """When to weigh again; `held`: at the next oil change the job is done, and not weighed."""
    dated = f"This answer is of {formats.day(case.machine.date)}. " if case.machine.date else ""
    if held:
        return (
            f"{dated}Have the job done at that oil change; have it weighed again only if it was "
            "not, when a price or your plans change, when new records come in, and at once when "
            "something is noticed."
        )
    return (
        f"{dated}Look again at the next oil change, when a price or your plans change, when new "
        "records come in, and at once when something is noticed."
    )


def _tell(case: Case) -> str:
    return (
        "When the part comes out, have it looked at and write down what was found, at what age: "
        "the next owner's answer will be better for it."
    )


def _round(value: float) -> float:
    """To two significant figures below 1,000, else to hundreds: no false exactness."""
    step = 100.0 if value >= 1000 else 10.0 if value >= 100 else 1.0
    return round(value / step) * step
