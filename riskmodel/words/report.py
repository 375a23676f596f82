"""The owner's report: its headings, and what it says beyond the sentences of the page."""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.plan_names import (
    first_step_cost,
    first_step_failure,
    keep_phrase,
    keeping,
    lower_first,
    plan_short,
)
from riskmodel.words.plans import cost_sentence
from riskmodel.words.report_sure import limit
from riskmodel.words.sheet_dates import booking_sentence, meter_at

VERDICT = "The verdict"
CHANCE = "How likely is a failure, with the part left in?"
PLANS = "The choices, side by side"
LIVING = "What each choice gives, costs and asks of you"
SURE = "How sure is this, and why?"
YEAR = "What does waiting a year cost?"
CHANGE = "What would change the verdict?"
ENTERED = "What was entered"
ASSUMED = "What was assumed"
NOT_CHECKED = "What was not checked"
NEXT = "What next"
WATCH = "What to watch for"

ENTERED_LEAD = (
    "Given to the tool. Of two figures: the true one lies between them nine times in ten. A single "
    "one: taken as known exactly."
)
ASSUMED_LEAD = "The main ones stand under the chances and under the choices."
FILLED_IN = "Not given, so as the tool proposes (judgement: nobody has measured it):"
OF_PRACTICE = "From common practice, or chosen so that nothing is claimed:"
NOTHING_FILLED_IN = "No other figure was assumed: all were entered."
NOT_LOOKED_AT = (
    "Nobody looked at the part for this report, measured a clearance or an oil pressure, or opened "
    "the filter. Other parts of the engine are not judged at all."
)
NOT_VERIFIED = (
    "No price, record of another part or oil sample was compared with the paper it came from."
)
DECIDE_THEN = {
    "next": "Have it booked for that oil change, and keep the date unless something found before "
    "it changes the answer.",
    "later": "Book it for then. Each oil change before that is a time to weigh it again with what "
    "the oil and the filter show; keep the date unless the answer changes.",
}
WHO = "The tool gains nothing by any plan; a workshop that quotes for the job does."
SHORTENED = (
    "Some names are shortened here, or hold signs that this report cannot print; the case file has "
    "them whole."
)
FOOT = "Stop if oil pressure drops, if it knocks, or if metal shows in oil or filter."
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
    meter = meter_at(w, w.case.next_change_in)
    return (
        f"It holds until the next oil change ({meter}), or until anything changes: weigh again then"
    )


def machine(case: Case) -> str:
    """Which machine and which part this is about."""
    unit = case.machine.unit
    return (
        f"{case.machine.name}, {formats.usage(case.machine.reading, unit)} on the meter; "
        f"{case.part.name} {formats.usage(case.age, unit)} old"
    )


def at_stake(w: Weighing) -> str:
    """What the part does to the engine, what that costs, and whose decision it is."""
    cost, money = w.case.cost, formats.money
    lines = ""
    if cost.consequence:
        more = money(sum(line.amount.mean for line in cost.consequence), cost.currency)
        named = [line.name for line in cost.consequence[:4]]
        named += ["more"] if len(cost.consequence) > 4 else []
        lines = f", and about {more} for what comes with it ({formats.listed(named)})"
    return (
        "The part wears with use, gives little warning, and breaks the engine when it fails: about "
        f"{money(cost.failure.mean, cost.currency)}{lines}. "
        f"Replacing it in time: about {money(cost.planned.mean, cost.currency)}. The decision is "
        "yours, with a mechanic who knows the engine."
    )


def verdict(w: Weighing) -> list[str]:
    """What the verdict costs and risks, against what, and by when to act."""
    i = w.chosen
    if i is None:
        return []
    if w.sells:
        said = f"{cost_sentence(w)} {limit(w)}".strip()
        return [said, f"By when? {by_when(w)}"]
    failure = first_step_failure(w) or w.all_plans[i].failure
    risks = (
        f"Within {keep_phrase(w.case)} {formats.of_100(failure.value)} engines like this one "
        f"({formats.between(failure)}) would see a failure, of a new part included."
    )
    more = [text for text in (limit(w), _without(w, i)) if text]
    return [_costs(w, i), " ".join([risks, *more]), f"By when? {by_when(w)}"]


def _costs(w: Weighing, i: int) -> str:
    """What the verdict costs on average, how well that is known, and the bad case."""
    currency, first = w.case.cost.currency, first_step_cost(w)
    cost = first or w.all_plans[i].cost
    ends = formats.money_range(cost.low, cost.high, "")
    bad = "Your own bill will be more or less than that"
    if first is None:
        amount = formats.money(w.all_plans[i].bad_case, currency)
        bad += f": one owner in twenty pays more than {amount}"
    return (
        f"On average over good and bad luck it costs about {formats.money(cost.value, currency)} "
        f"in all over {keep_phrase(w.case)}. How well that average is known: nine times in ten it "
        f"lies between {ends.replace(f'{formats.NBSP}to{formats.NBSP}', ' and ')}. {bad}."
    )


def decide_then(w: Weighing) -> str:
    """That a job to come is booked now, and decided again with what is seen until then."""
    plan = w.best
    if plan is None or plan.at is None or w.sells or w.first_step:
        return ""
    if plan.service == 1:
        return DECIDE_THEN["next"]
    return DECIDE_THEN["later"] if plan.at > w.case.next_change_in else ""


def by_when(w: Weighing) -> str:
    """The day to act by, and what to do by then."""
    if w.sells:
        return (
            "Ask for offers now. Should none do, the plan that keeps it is: "
            f"{lower_first(keeping(w))}. {booking_sentence(w)}"
        )
    if not w.first_step or w.recommended is None:
        return booking_sentence(w)
    first = "Ask the workshop for the look now."
    if w.first_step == "retest":
        first = f"Draw the second sample at about {meter_at(w, w.case.oil.retest_in)} on the meter."
    plan = plan_short(w, w.recommended)
    return f"{first} Without it, “{plan}”: {lower_first(booking_sentence(w))}"


def _without(w: Weighing, i: int) -> str:
    """What the first step saves against the best plan without it."""
    cost, step = first_step_cost(w), w.first_step
    if cost is None or step is None:
        return ""
    saves = _saves(w)
    if saves is None:
        return ""
    currency, unit = w.case.cost.currency, formats.money_step(cost.value)
    gap = formats.rounded_money(saves[0], unit)
    less = (
        f"about as much as “{plan_short(w, i)}”, the best plan without it"
        if gap <= 0
        else f"{formats.money(gap, currency, unit)} less than “{plan_short(w, i)}”, the best plan "
        "without it"
    )
    low, high = (formats.money(x, currency, unit) for x in saves[1:])
    low += " (a loss)" if saves[1] < 0 else ""
    return f"It costs {less}; it saves between {low} and {high}, nine times in ten."


def _saves(w: Weighing) -> tuple[float, float, float] | None:
    found = w.retest
    if w.first_step == "inspection" and w.information is not None:
        look = w.information.inspection
        return None if look is None else (look.saves.value, look.saves.low, look.saves.high)
    return None if found is None else (found.saves.value, found.saves.low, found.saves.high)
