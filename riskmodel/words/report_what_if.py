"""The verdict if a figure turns out otherwise, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import FigureChange
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.chances import chance_to_wait
from riskmodel.words.near_ties import CLOSE, OVER_LIMIT
from riskmodel.words.plan_names import cheapest, plan_short
from riskmodel.words.sale import sale_to_change

COLUMNS = ("If", "Cheapest plan", "It costs", "Difference", "Today's plan then")
CHEAPER = "Cheaper, over limit"
"""The heading of one column more, where the owner's limit rules out a cheaper plan."""
AS_IT_STANDS = "as_it_stands"
NOTE = "Averages, as uncertain as those of the choices; the difference is to today's line"
TITLE = "If a figure turns out otherwise"
KEPT = " and you keep it"
SAME, NONE, NONE_KEEPS = "the same", "–", "no plan keeps to it"
WITHOUT = {"retest": ", without a second sample", "inspection": ", without a look first"}


def tips(w: Weighing) -> list[str]:
    """At which figures the choice between now and later tips over, and up to where the owner's
    limit would have to go for the cheapest plan of all."""
    trade, currency = w.trade_off, w.case.cost.currency
    if trade is None:
        return []
    until, side = formats.usage(trade.until, w.case.machine.unit), "waiting"
    if trade.now.value <= trade.wait.value:
        side = "replacing now"
    found = [*_limit(w)]
    if trade.break_even_chance is None:
        found.append(f"{formats.sentence(side)} costs less than the other, whatever the chance.")
    else:
        within = trade.chance.low <= trade.break_even_chance <= trade.chance.high
        settled = " It may lie on either side: what is known does not settle it." if within else ""
        found.append(
            f"The chance of failure over the next {until}, {chance_to_wait(w, trade)}: waiting "
            "until the oil change then costs less while it is below "
            f"{formats.of_100(trade.break_even_chance)}, replacing now above that.{settled}"
        )
    entered = formats.money(w.entered.cost.failure.mean, currency)
    if trade.break_even_failure_price is None:
        found.append("The price of a failure: none within reason would tip the choice.")
    else:
        price = formats.money(trade.break_even_failure_price, currency)
        found.append(
            f"The price of a failed engine, {entered} on average as entered: replacing now costs "
            f"less from about {price} upwards."
        )
    return [*found, *sale_to_change(w)]


def _limit(w: Weighing) -> list[str]:
    chosen, least = w.chosen, cheapest(w)
    if w.case.plan.most_risk is None or chosen in (None, least):
        return []
    most = formats.share_of_100(w.case.plan.most_risk)
    enough = math.ceil(100 * w.all_plans[least].failure.value)
    return [
        f"Your limit of {most} failures of 100: from about {enough} upwards the cheapest plan of "
        f"all, “{plan_short(w, least)}”, comes within it."
    ]


def columns(found: Sequence[FigureChange], free: Sequence[FigureChange] = ()) -> tuple[str, ...]:
    """The headings of `rows` of the same changes."""
    return (*COLUMNS, CHEAPER) if _cheaper(found, free) else COLUMNS


def rows(
    w: Weighing, found: Sequence[FigureChange], free: Sequence[FigureChange] = ()
) -> list[tuple[str, ...]]:
    """The case as it stands, then one row for each change, under `columns`. `free` are the same
    without the owner's limit: a plan above it that costs less has a column of its own."""
    cheaper = _cheaper(found, free)
    today = next((each for each in found if each.changed == AS_IT_STANDS), None)
    return [
        (
            _if(w.case, each),
            _best(w, each, today, marked=not cheaper),
            formats.money(each.cost, ""),
            _against(each, today),
            NONE if each is today else _more(each, limited=bool(cheaper)),
            *([_above(w, each, cheaper.get(each.changed))] if cheaper else []),
        )
        for each in found
    ]


def _cheaper(
    found: Sequence[FigureChange], free: Sequence[FigureChange]
) -> dict[str, FigureChange]:
    """What costs less without the owner's limit, by what is changed."""
    kept = {each.changed: each.at for each in found}
    return {each.changed: each for each in free if each.at != kept[each.changed]}


def _best(w: Weighing, each: FigureChange, today: FigureChange | None, *, marked: bool) -> str:
    same = today is not None and each is not today and each.at == today.at
    name = SAME if same else _plan(w, each)
    return f"{name} ({OVER_LIMIT})" if marked and _over(w, each) else name


def _over(w: Weighing, each: FigureChange) -> bool:
    """Whether the plan is above the owner's limit, which it is only where no plan keeps to it. An
    answer without its chance has that of today's plans: a longer time makes none less likely."""
    most, failure = w.case.plan.most_risk, each.failure
    if failure is None and each.changed != "keep_half":
        failure = next((plan.failure.value for plan in w.plans if plan.at == each.at), None)
    return most is not None and failure is not None and failure > most


def _against(each: FigureChange, today: FigureChange | None) -> str:
    """How much more or less is paid than as it all stands, as the reader can check it."""
    if today is None or each is today:
        return NONE
    gap = formats.rounded_money(each.cost) - formats.rounded_money(today.cost)
    if gap == 0:
        return "the same"
    return f"{formats.money(abs(gap), '')} {'more' if gap > 0 else 'less'}"


def _above(w: Weighing, each: FigureChange, cheaper: FigureChange | None) -> str:
    if cheaper is not None:
        return f"{_plan(w, cheaper)}: {formats.money(cheaper.cost, '')}"
    return NONE_KEEPS if _over(w, each) else NONE


def title(w: Weighing) -> str:
    """Finding out first and selling are not weighed anew for each change: the title says so."""
    money = f" (money in {w.case.cost.currency})" if w.case.cost.currency else ""
    return f"{TITLE}{KEPT if w.sells else WITHOUT.get(w.first_step or '', '')}{money}"


def note(w: Weighing, found: Sequence[FigureChange] = (), free: Sequence[FigureChange] = ()) -> str:
    """How to read the rows of the same changes."""
    said = [f"{NOTE}."]
    if w.case.plan.most_risk is None:
        return said[0]
    limit = f"our limit of {formats.share_of_100(w.case.plan.most_risk)} of 100"
    if _cheaper(found, free):
        said.append(f"Y{limit}, not the money, rules out the last column.")
    else:
        said.append(f"Plans above y{limit} are left out, unless none keeps to it.")
    return " ".join(said)


def _if(case: Case, each: FigureChange) -> str:
    cost, years = case.cost, case.keep / case.machine.usage_per_year
    # Of the price as it is shown, so that the reader can check.
    planned, failure = (formats.rounded_money(x.mean) for x in (cost.planned, cost.failure))
    return {
        AS_IT_STANDS: "all is as it stands",
        "job_double": f"the quote doubles, to {_of(case, 2 * planned)}",
        "failure_half": f"a failure costs half, {_of(case, failure / 2)}",
        "failure_double": f"a failure costs double, {_of(case, 2 * failure)}",
        "keep_half": f"you keep it half as long, {_years(years / 2)}",
        "keep_double": f"you keep it twice as long, {_years(2 * years)}",
    }[each.changed]


def _years(years: float) -> str:
    return formats.duration(years).removeprefix("about ")


def _of(case: Case, amount: float) -> str:
    return formats.money(amount, case.cost.currency)


def _plan(w: Weighing, each: FigureChange) -> str:
    """Its name, as that of a plan of `w`: one with a longer keep-until need not be among them."""
    plan = replace(w.plans[0], at=each.at, service=each.service, occasion=each.occasion)
    name = plan_short(replace(w, plans=(plan,)), 0)
    return name[0].lower() + name[1:]


def _more(each: FigureChange, *, limited: bool) -> str:
    """What it costs to hold to today's plan, where some plan is ruled out by the owner's limit or
    where none is."""
    more = each.holds_cost
    if more is None:
        return "it is given up before"
    if abs(more) < 1e-9 * abs(each.cost):
        return "stays, by your limit" if limited else "stays the cheapest"
    step = formats.money_step(each.cost)
    gap = formats.rounded_money(more, step)
    tie = ": nearly a tie" if abs(more) <= CLOSE * abs(each.cost) else ""
    if gap == 0:
        return f"under {formats.money(step, '', step)} more{tie}"
    return f"{formats.money(gap, '', step)} more{tie}"
