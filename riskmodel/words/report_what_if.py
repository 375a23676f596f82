"""The verdict if a figure turns out otherwise, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import FigureChange
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.plan_names import cheapest, plan_short
from riskmodel.words.sale import sale_to_change

COLUMNS = (
    "If",
    "Then it costs least to replace",
    "In all, about",
    "Today's plan then costs",
)
AS_IT_STANDS = "as_it_stands"
NOTE = "Averages, as uncertain as the costs of the choices above"
TITLE = "What would change the verdict: if a figure turns out otherwise"
KEPT = " and you keep it"
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
        found.append(
            f"The chance of failure over the next {until}, {formats.chance(trade.chance)}: waiting "
            f"costs less while it is below {formats.of_100(trade.break_even_chance)}, replacing "
            "now above that."
        )
    entered = formats.money(w.case.cost.failure.mean, currency)
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
    most = formats.exact(round(100 * w.case.plan.most_risk, 6))
    enough = math.ceil(100 * w.all_plans[least].failure.value)
    return [
        f"Your limit of {most} failures of 100: from about {enough} upwards the cheapest plan of "
        f"all, “{plan_short(w, least)}”, comes within it."
    ]


def rows(
    w: Weighing, found: Sequence[FigureChange], free: Sequence[FigureChange] = ()
) -> list[tuple[str, str, str, str]]:
    """One row for each change, under `COLUMNS`; the case as it stands is among the choices. `free`
    are the same without the owner's limit: a plan above it that costs less stands in brackets."""
    cheaper = _cheaper(found, free)
    return [
        (
            _if(w.case, each),
            _plan(w, each) + _above(w, cheaper.get(each.changed)),
            _money(w, each.cost),
            _more(w, each),
        )
        for each in found
        if each.changed != AS_IT_STANDS
    ]


def _cheaper(
    found: Sequence[FigureChange], free: Sequence[FigureChange]
) -> dict[str, FigureChange]:
    """What costs less without the owner's limit, by what is changed."""
    kept = {each.changed: each.at for each in found}
    return {
        each.changed: each
        for each in free
        if each.changed != AS_IT_STANDS and each.at != kept[each.changed]
    }


def _above(w: Weighing, cheaper: FigureChange | None) -> str:
    if cheaper is None:
        return ""
    return f" ({_plan(w, cheaper)}: {_money(w, cheaper.cost)})"


def title(w: Weighing) -> str:
    """Finding out first and selling are not weighed anew for each change: the title says so."""
    return TITLE + (KEPT if w.sells else WITHOUT.get(w.first_step or "", ""))


def note(w: Weighing, found: Sequence[FigureChange] = (), free: Sequence[FigureChange] = ()) -> str:
    """How to read the rows of the same changes."""
    said = [NOTE]
    if w.case.plan.most_risk is not None:
        limit = f"your limit of {formats.exact(round(100 * w.case.plan.most_risk, 6))} of 100"
        if _cheaper(found, free):
            said.append(f"in brackets: what would cost less, but is above {limit}")
        else:
            said.append(f"plans above {limit} are left out, unless none keeps to it")
    return f"{'; '.join(said)}."


def _if(case: Case, each: FigureChange) -> str:
    cost, years = case.cost, case.keep / case.machine.usage_per_year
    # Of the price as it is shown, so that the reader can check.
    planned, failure = (formats.rounded_money(x.mean) for x in (cost.planned, cost.failure))
    return {
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


def _money(w: Weighing, amount: float) -> str:
    return formats.money(amount, w.case.cost.currency)


def _more(w: Weighing, each: FigureChange) -> str:
    more = each.holds_cost
    if more is None:
        return "it is given up before"
    if abs(more) < 1e-9 * abs(each.cost):
        return "the same: nothing changes"
    step = formats.money_step(each.cost)
    gap = formats.rounded_money(more, step)
    if gap == 0:
        return f"less than {formats.money(step, w.case.cost.currency, step)} more"
    return f"{formats.money(gap, w.case.cost.currency, step)} more"
