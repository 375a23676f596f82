"""The owner's report: its headings, and what it says beyond the sentences of the page."""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.plan_names import keep_phrase, plan_name, plan_short, saving

VERDICT = "The verdict"
FIRST = "What finding out first may show"
CHANCE = "The chance of failure with the part left in"
PLANS = "The plans, side by side"
LIVING = "What each choice gives, costs and asks of you"
SURE = "Why, and how sure"
YEAR = "What waiting a year costs"
OTHERWISE = "If a figure turns out otherwise"
CHANGE = "What would change the verdict"
ENTERED = "What was entered"
ASSUMED = "What was assumed"
NOT_CHECKED = "What was not checked"
NEXT = "What next"
WATCH = "What to watch for, and before you act"

PLAN_COLUMNS = (
    "Replace",
    "Expected cost",
    "A failure",
    "No failure",
    "Bad case",
    "Cheapest",
)
ENTERED_LEAD = (
    "A pair of figures means: nine times in ten the true one lies between them. A single figure "
    "was taken as exact."
)
ASSUMED_LEAD = (
    "The main assumptions stand beside what rests on them: under the chance of failure, under the "
    "table of plans, and under “Why, and how sure”."
)
FILLED_IN = "Not entered, and so filled in (where it says judgement, nobody has measured it):"
NOTHING_FILLED_IN = "No figure was filled in: all were entered."
ICONS_LEAD = (
    "Each field is 100 engines like this one over the same time. A filled cross would see a "
    "failure, an open cross may besides, a dot would not."
)
NOT_LOOKED_AT = (
    "Nobody looked at the part for this report, measured a clearance or an oil pressure, or opened "
    "the filter. Other parts of the engine are not judged at all."
)
NOT_VERIFIED = "No price, no record and no sample was checked against where it came from."
WHO = (
    "Made from the figures listed under “What was entered”, by whoever entered them. The tool "
    "gains nothing by any plan; a workshop that quotes for the job does."
)
SHORTENED = (
    "Some names are shortened here, or hold signs that this report cannot print; the case file has "
    "them whole."
)
FOOT = "Stop if oil pressure drops, if it knocks, or if metal shows in oil or filter."
SAMPLES_COUNTED = "The oil samples are counted in the chances."
PAGE_OF = ("page ", " of ")
"""Before the number of a page and before how many there are."""
EXAMPLE_FOOT = "EXAMPLE, invented"


def title(case: Case) -> str:
    return f"{formats.sentence(case.part.name)}: replace now, later or not?"


def document_title(case: Case) -> str:
    """What a reader's window or a list of files shows."""
    return f"{case.machine.name}: {case.part.name}"


def dated(case: Case, date: str | None) -> str:
    """The day of the report and of the figures; "" where neither is known."""
    of_figures = case.machine.date
    if date is None and of_figures is None:
        return ""
    if date is None or date == of_figures:
        return f"Report and figures of {formats.day(date or of_figures or '')}"
    figures = "" if of_figures is None else f", figures of {formats.day(of_figures)}"
    return f"Report of {formats.day(date)}{figures}"


def out_of_date(w: Weighing) -> str:
    """When the report no longer holds."""
    machine = w.case.machine
    meter = formats.usage(machine.reading + w.case.next_change_in, machine.unit)
    return f"out of date at the next oil change ({meter} on the meter), if nothing changes sooner"


def at_stake(w: Weighing) -> list[str]:
    """What the part does to the engine, what that costs, and the decision."""
    case, cost = w.case, w.case.cost
    money = formats.money
    lines = ""
    if cost.consequence:
        more = money(sum(line.amount.mean for line in cost.consequence), cost.currency)
        named = [line.name for line in cost.consequence[:4]]
        named += ["more"] if len(cost.consequence) > 4 else []
        lines = f", and about {more} for what comes with it ({formats.listed(named)})"
    found = [
        f"The part ({case.part.name}) wears with use, gives little warning, and breaks the engine "
        f"when it fails: about {money(cost.failure.mean, cost.currency)} for the engine{lines}. "
        f"Replacing it in time costs about {money(cost.planned.mean, cost.currency)}. Too early, "
        "that money buys little; too late, it is no longer the choice."
    ]
    return [*found, f"The decision is yours, with a mechanic who knows the engine: {_by_when(w)}"]


def _by_when(w: Weighing) -> str:
    plan, unit = w.best, w.case.machine.unit
    if w.sells:
        return (
            "the verdict is to sell it; the plan that keeps it stands beside, should no offer do."
        )
    if w.first_step:
        return "the verdict is to find out more first; ask for that now."
    if plan is None or plan.at is None:
        return "nothing has to be booked now; look at it again at each oil change."
    weeks, per_year = w.case.plan.booking_weeks, w.case.machine.usage_per_year
    ahead = plan.at - weeks * 7 / 365.25 * per_year
    if ahead <= 0.01 * per_year:
        return "to keep to the verdict, ask for a date now."
    return (
        "to keep to the verdict, ask for a date within "
        f"{formats.usage(float(f'{ahead:.2g}'), unit)} ({formats.duration(ahead / per_year)})."
    )


def plan_row(w: Weighing, i: int) -> tuple[str, ...]:
    """One plan as a row under `PLAN_COLUMNS`."""
    plan = w.all_plans[i]
    low, high = formats.outward(plan.failure)
    none = f"{100 - formats.count_of_100(plan.failure.value)} ({100 - high} to {100 - low})"
    name = plan_name(w, i).removeprefix("Replace ")
    return (
        formats.sentence(name),
        f"{formats.money(plan.cost.value, '')} "
        f"({formats.money_range(plan.cost.low, plan.cost.high, '')})",
        formats.chance_short(plan.failure),
        none.replace(" ", formats.NBSP),
        formats.money(plan.bad_case, ""),
        formats.count_short(plan.chance_cheapest),
    )


def plan_title(w: Weighing) -> str:
    money = f"money in {w.case.cost.currency}, " if w.case.cost.currency else ""
    bold = "the plan of the verdict"
    if w.first_step:
        bold = "the cheapest of those that find out nothing first"
    return f"Over {keep_phrase(w.case)}: {money}chances of 100 engines; {bold} is in bold"


def left_out(w: Weighing, shown: int) -> str:
    """How many plans the table leaves out; "" where none."""
    more = len(w.all_plans) - shown
    if more <= 0:
        return ""
    many = "One more plan was" if more == 1 else f"{more} more plans were"
    return f"{many} weighed; none costs less than the cheapest here."


def year_plan(w: Weighing) -> int | None:
    """The plan to replace in a year, be it at an oil change; None where none lies there."""
    year, near = w.case.machine.usage_per_year, 0.02 * w.case.interval
    for i, plan in enumerate(w.plans):
        if plan.at is not None and abs(plan.at - year) <= near:
            return i
    return None


def waiting_a_year(w: Weighing) -> list[str]:
    """What it costs, and risks, to wait a year instead of replacing at the first chance."""
    i, currency = year_plan(w), w.case.cost.currency
    if i is None and w.keep > w.case.machine.usage_per_year:
        return []
    if i is None:
        return [
            f"You keep it for no more than a year or so ({keep_phrase(w.case)}): the last plans of "
            "the table are those that wait."
        ]
    first = w.open_plans[0]
    soon, late = w.plans[first], w.plans[i]
    if late.cost.value >= soon.cost.value:
        gap = f"waiting costs {saving(w, i, first)} more"
    else:
        gap = f"waiting saves {saving(w, first, i)}"
    found = [
        f"“{plan_short(w, first)}” costs about {formats.money(soon.cost.value, currency)} in all, "
        f"“{plan_short(w, i)}” about {formats.money(late.cost.value, currency)}: on average, over "
        f"good and bad luck, {gap}.",
    ]
    year = next((chance for chance in w.risk if chance.what == "one_year"), None)
    if year is not None:
        found.append(
            f"In that year {formats.chance(year.chance)} would see the part fail if it is left in. "
            f"Over {keep_phrase(w.case)}, any failure: {formats.chance(soon.failure)} with the "
            f"first plan, {formats.chance(late.failure)} with the other."
        )
    return found
