"""What plans are called, in full and in short, and what they cost beside each other."""

from __future__ import annotations

from dataclasses import dataclass

from riskmodel.decision.occasions import Occasion
from riskmodel.decision.results import Interval, PlanResult, Weighing
from riskmodel.records.case import Case
from riskmodel.records.inputs import Unit
from riskmodel.words import formats
from riskmodel.words.formats import NBSP


def plan_name(w: Weighing, i: int) -> str:
    """One of all plans in full: "Replace at the 3rd oil change (in 21,200 km, about 17 months)"."""
    plan = w.all_plans[i]
    if is_sale(plan):
        return SALE_NAME
    if plan.at is None:
        return NEVER_SAMPLED if w.case.sampled else NEVER
    return f"Replace {place(w, plan)}"


def plan_short(w: Weighing, i: int) -> str:
    """A plan in two or three words: "Now", "3rd oil change", "In a year", "On alarm only"."""
    plan = w.all_plans[i]
    service = plan.service
    if plan.occasion is not None:
        return _occasion_short(w.case, plan.occasion)
    if service is None:
        return "On alarm only" if w.case.sampled else "Never"
    return formats.sentence(service_name(service)) if service else "Now"


def retest_name(case: Case) -> str:
    """The plan to draw a second sample soon, in full."""
    return retest_named(case.oil.retest_in, case.machine.unit)


def retest_named(ahead: float, unit: Unit) -> str:
    """The same, drawn so much usage from now."""
    return f"Sample again in {formats.usage(ahead, unit)}, then decide"


@dataclass(frozen=True, slots=True)
class Advice:
    """What a verdict advises, in full, and the usage from now at which that replaces the part;
    None where it does not, or where it hangs on what is found out first."""

    name: str
    at: float | None


def advice(w: Weighing) -> Advice | None:
    """What the verdict advises: what to find out first, else the plan that it names; None with
    symptoms."""
    i = w.chosen
    if i is None:
        return None
    if w.first_step:
        return Advice(first_step_name(w), None)
    return Advice(plan_name(w, i), replaces_at(w, i))


def replaces_at(w: Weighing, i: int) -> float | None:
    """The usage from now at which one of all plans replaces the part; None where none does."""
    return None if is_sale(w.all_plans[i]) else w.all_plans[i].at


def first_step_failure(w: Weighing) -> Interval | None:
    """The chance of a failure under the plan to find out more first, where that costs least."""
    if w.first_step == "retest" and w.retest is not None:
        return w.retest.failure
    if w.first_step == "inspection" and w.information is not None:
        look = w.information.inspection
        return None if look is None else look.failure
    return None


NEVER, NEVER_SAMPLED = "Never replace while you keep it", "Replace only if a sample alarms"
"""The plan never to replace the part, without samples to come and with."""
SALE_NAME = "Sell it today, the buyer told"
"""The plan to sell the machine."""
INSPECTION_NAME = "Look at the part first, then decide"
"""The plan to inspect before anything else."""


def first_step_name(w: Weighing) -> str:
    """The plan to find out more first, where that costs least; else ""."""
    if w.first_step == "retest":
        return retest_name(w.case)
    return INSPECTION_NAME if w.first_step == "inspection" else ""


def first_step_cost(w: Weighing) -> Interval | None:
    """What that plan costs."""
    if w.first_step == "retest" and w.retest is not None:
        return w.retest.cost
    if w.first_step == "inspection" and w.information is not None:
        look = w.information.inspection
        return None if look is None else look.cost
    return None


def keep_phrase(case: Case) -> str:
    """How long the machine is kept: "the 3 years you keep it"."""
    if case.plan.keep_usage is None and case.plan.keep_years is not None:
        years = formats.exact(case.plan.keep_years)
        return "the year you keep it" if years == "1" else f"the {years}{NBSP}years you keep it"
    return f"the {formats.usage(case.keep, case.machine.unit)} you keep it"


def cheapest(w: Weighing) -> int:
    """Of all plans the one with the lowest expected cost that can be had."""
    had = range(w.open_plans[0], len(w.all_plans))
    return min(had, key=lambda i: w.all_plans[i].cost.value)


def without_first_step(w: Weighing) -> str:
    """Where the verdict is to find out more first: what a plan of replacing goes without."""
    steps = {"inspection": " without a look first", "retest": " without a second sample"}
    return steps.get(w.first_step or "", "")


def keeping(w: Weighing) -> str:
    """The best plan that keeps the machine, in full, for where selling is the verdict."""
    return "" if w.recommended is None else plan_name(w, w.recommended)


def is_sale(plan: PlanResult) -> bool:
    return plan.occasion is not None and plan.occasion.kind == "sale"


def in_all(w: Weighing, cost: float) -> str:
    """What a sale costs in all; it may leave something over."""
    amount = formats.money(abs(cost), w.case.cost.currency)
    return f"about {amount} in all" if cost >= 0 else f"about {amount} to the good"


def saving(w: Weighing, dear: int, cheap: int) -> str:
    """What one of all plans costs more than another, as the reader can check it in the table."""
    costs = [plan.cost.value for plan in w.all_plans]
    step = formats.money_step(costs[cheap])
    gap = formats.rounded_money(costs[dear], step) - formats.rounded_money(costs[cheap], step)
    if gap <= 0:
        return f"less than {formats.money(step, w.case.cost.currency, step)}"
    return f"about {formats.money(gap, w.case.cost.currency, step)}"


def lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]


def service_name(service: int) -> str:
    return "next oil change" if service == 1 else f"{formats.ordinal(service)} oil change"


def _when(case: Case, at: float) -> str:
    years = formats.duration(at / case.machine.usage_per_year)
    return f"{formats.usage(at, case.machine.unit)}, {years}"


def to_do(w: Weighing, i: int) -> str:
    plan = w.all_plans[i]
    if is_sale(plan):
        return "to sell it today, the buyer told of the part"
    if plan.at is None:
        return "to replace it only if a sample alarms" if w.case.sampled else "never to replace it"
    return f"to replace {place(w, plan)}"


def place(w: Weighing, plan: PlanResult, *, brackets: bool = True) -> str:
    """When a plan replaces: "now", "at the 3rd oil change (in 21,200 km, about 17 months)"."""
    if plan.at is None or plan.service == 0:
        return "now"
    case, occasion = w.case, plan.occasion
    name = f"at the {service_name(plan.service or 0)}"
    when = _when(case, plan.at)
    if occasion is not None:
        name, when = _occasion(case, occasion), _when(case, float(f"{plan.at:.3g}"))
        if occasion.kind == "year":
            when = formats.usage(plan.at, case.machine.unit)
    return f"{name} (in {when})" if brackets else f"{name}, in {when}"


def _occasion(case: Case, occasion: Occasion) -> str:
    """ "as soon as the workshop can take it", "in a year", "at the lay-up on 14 November 2026"."""
    if occasion.kind == "booking":
        return "as soon as the workshop can take it"
    if occasion.kind == "job":
        return f"together with {case.plan.other_job or 'the other job'}"
    if occasion.kind == "lay_up" and occasion.date is not None:
        return f"at the lay-up on {formats.day(occasion.date)}"
    if occasion.reading is not None:
        return f"at {formats.usage(occasion.reading, case.machine.unit)} on the meter"
    return "in a year"


def _occasion_short(case: Case, occasion: Occasion) -> str:
    if occasion.kind == "sale":
        return "Sell it today"
    if occasion.kind == "booking":
        weeks = case.plan.booking_weeks
        return f"In {formats.exact(weeks)} week{'' if weeks == 1 else 's'}"
    if occasion.kind == "job":
        return "With other job"
    if occasion.kind == "lay_up" and occasion.date is not None:
        return f"Lay-up {occasion.date[:4]}"
    if occasion.reading is not None:
        return f"At {formats.usage(occasion.reading, case.machine.unit)}"
    return "In a year"
