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
from riskmodel.words.report_plans import compared
from riskmodel.words.report_sure import beside, latest_kept, limit
from riskmodel.words.sheet_dates import booking_sentence, meter_at
from riskmodel.words.spent import shortly

VERDICT = "The verdict"
COSTS, RISKS = "What does it cost?", "What does it risk?"
BY_WHEN, HOW_SURE = "By when?", "How sure?"
CHANCE = "How likely is a failure, with the part left in?"
PLANS = "The choices, side by side"
LIVING = "What each choice gives, costs and asks of you"
SURE = "Why this choice?"
YEAR = "What does waiting cost?"
CHANGE = "What would change the verdict?"
ENTERED = "What was entered"
ASSUMED = "What was assumed"
NOT_CHECKED = "What was not checked"
NEXT = "What next"
WATCH = "What to watch for"

ENTERED_LEAD = "Of two figures the true one lies between them nine times in ten."
ASSUMED_LEAD = "The main ones stand under the chances and under the choices."
FILLED_IN = "Not given, so as the tool proposes (judgement: nobody has measured it):"
OF_PRACTICE = "From common practice, or chosen so that nothing is claimed:"
NOTHING_FILLED_IN = "No other figure was assumed: all were entered."
NOT_LOOKED_AT = (
    "Nobody looked at the part for this report, measured a clearance or an oil pressure, or opened "
    "the filter. Other parts of the engine are not judged."
)
NOT_VERIFIED = (
    "No price, record of another part or oil sample was compared with the paper it came from."
)
DECIDE_THEN = {
    "next": "Have it booked for that oil change and keep the date: it is for doing the job, not "
    "for deciding anew, unless something found before it changes the answer.",
    "later": "Book it for then. Each oil change before that is a time to weigh it again with what "
    "the oil and the filter show; keep the date unless the answer changes.",
}
AFTER_FAILURE = {
    "repair": "A failed engine is taken to be repaired and kept.",
    "stop": "With a failed engine the machine is taken to be given up.",
}
PLAINLY = {
    "big-end bearings": "the plain bearings between connecting rods and crankshaft",
    "main bearings": "the plain bearings that the crankshaft turns in",
}
"""What a part is, in a line, for who does not know its name."""
WHO = "The tool gains nothing by any plan; a workshop that quotes for the job does."
SHORTENED = (
    "Some names are shortened here, or hold signs that this report cannot print; the case file has "
    "them whole."
)
FOOT = "Stop if oil pressure drops, if it knocks, or if metal shows in oil or filter."
PAGE_OF = ("page ", " of ")
"""Before the number of a page and before how many there are."""
EXAMPLE_FOOT = "EXAMPLE, invented"


def plans_heading(w: Weighing) -> str:
    return f"{PLANS}, over {keep_phrase(w.case).replace(formats.NBSP, ' ')}"


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
    """When the report no longer holds; "" with symptoms."""
    meter = meter_at(w, w.case.next_change_in)
    if w.stop:
        return ""
    return f"It holds until the next oil change ({meter}), or until anything changes"


def machine(case: Case) -> str:
    """Which machine and which part this is about."""
    unit, plainly = case.machine.unit, PLAINLY.get(case.part.name.lower(), "")
    return (
        f"{case.machine.name}, {formats.usage(case.machine.reading, unit)} on the meter; "
        f"{case.part.name}{f' ({plainly})' if plainly else ''} "
        f"{formats.usage(case.age, unit)} old"
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
        f"{AFTER_FAILURE[w.case.plan.after_failure]} The job alone, done in time: about "
        f"{money(cost.planned.mean, cost.currency)}. The decision is yours, with a mechanic who "
        "knows the engine."
    )


def verdict(w: Weighing) -> list[tuple[str, str]]:
    """What the verdict costs and risks, by when to act and how sure it is: an owner's question and
    its answer each."""
    i = w.chosen
    if i is None:
        return []
    last = [(BY_WHEN, by_when(w)), (HOW_SURE, beside(w))]
    if w.sells:
        return [(COSTS, f"{cost_sentence(w)} {limit(w)}".strip()), *last]
    more = [text for text in (limit(w), latest_kept(w)) if text]
    costs = " ".join(text for text in (_costs(w, i), _without(w, i)) if text)
    return [(COSTS, costs), (RISKS, " ".join([_risks(w, i), *more])), *last]


def _risks(w: Weighing, i: int) -> str:
    """How many would see a failure under the verdict, how many none, and of which part."""
    failure, plan = first_step_failure(w) or w.all_plans[i].failure, w.all_plans[i]
    of_new = ", of a new part included" if w.first_step or plan.at is None else ""
    many = formats.of_100(failure.value, w.case.plan.most_risk)
    said = (
        f"Within {keep_phrase(w.case)} {many} engines like this one "
        f"({formats.between(failure)}) would see a failure{of_new}, "
        f"{100 - formats.count_of_100(failure.value)} would not"
    )
    if w.first_step or plan.at is None:
        return f"{said}."
    if plan.present_failure.value <= 0:
        return (
            f"{said}. What fails then is a new part, fitted badly or worn out, or something else."
        )
    old = plan.present_failure
    return (
        f"{said}. Of the {formats.count(failure.value)}, {formats.count(old.value)} "
        f"({formats.between(old)}) fail with the old part before the job, the others later: a new "
        "one fitted badly or worn out, or another cause."
    )


def _costs(w: Weighing, i: int) -> str:
    """What the verdict costs on average, how well that is known, and the bad case."""
    currency, first = w.case.cost.currency, first_step_cost(w)
    cost = first or w.all_plans[i].cost
    ends = formats.money_range(cost.low, cost.high, "")
    bad, made_of = "Your own bill may be much higher or lower", ""
    if first is None:
        amount = formats.money(w.all_plans[i].bad_case, currency)
        bad += f": one owner in twenty pays more than {amount}"
        shown = compared(w)
        made_of = f" {shortly(w, i, shown)}" if i in shown else ""
    return (
        f"On average over good and bad luck about {formats.money(cost.value, currency)} "
        f"in all over {keep_phrase(w.case)}, in today's money.{made_of} Nine times in ten that "
        f"average lies between {ends.replace(f'{formats.NBSP}to{formats.NBSP}', ' and ')}. {bad}."
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
