"""The verdict if a figure turns out otherwise, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import FigureChange
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.plan_names import plan_short

COLUMNS = (
    "If",
    "Then it costs least to replace",
    "In all, about",
    "Keeping to today's plan would cost",
)
NOTE = "Averages; their intervals are as wide as those of the plans above."
WITHOUT_FIRST_STEP = "Plans that find out more first are left out here."


def rows(w: Weighing, found: Sequence[FigureChange]) -> list[tuple[str, str, str, str]]:
    """One row for each change, under `COLUMNS`."""
    return [
        (_if(w.case, each), _plan(w, each), _money(w, each.cost), _more(w, each)) for each in found
    ]


def note(w: Weighing) -> str:
    said = f"{NOTE} {WITHOUT_FIRST_STEP}" if w.first_step else NOTE
    if w.case.plan.most_risk is None:
        return said
    most = formats.exact(round(100 * w.case.plan.most_risk, 6))
    return f"{said} Each keeps to your limit of {most} failures of 100 where a plan can."


def _if(case: Case, each: FigureChange) -> str:
    cost, years = case.cost, case.keep / case.machine.usage_per_year
    planned, failure = cost.planned.mean, cost.failure.mean
    return {
        "as_it_stands": "all is as entered",
        "job_double": f"the quote doubles, to {_of(case, 2 * planned)}",
        "failure_half": f"a failed engine costs half, {_of(case, failure / 2)}",
        "failure_double": f"a failed engine costs double, {_of(case, 2 * failure)}",
        "keep_half": f"you keep it half as long, {formats.duration(years / 2)}",
        "keep_double": f"you keep it twice as long, {formats.duration(2 * years)}",
    }[each.changed]


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
    if each.changed == "as_it_stands":
        return ""
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
