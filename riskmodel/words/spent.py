"""What a plan's expected cost is made of, in words."""

from __future__ import annotations

from riskmodel.decision.results import PlanResult, Weighing
from riskmodel.words import formats

HEADING = "Where the money goes"
LEAD = (
    "On average over good and bad luck: a failure counts at its chance times its price, those of "
    "later parts too. Rounded so that each column adds up."
)


def compared(w: Weighing) -> list[int]:
    """The plans worth comparing: the soonest to be had, the best that keeps the machine, never."""
    best = [] if w.recommended is None else [w.recommended]
    return sorted({w.open_plans[0], *best, len(w.plans) - 1})


def rows(w: Weighing, plans: list[int]) -> list[tuple[str, ...]]:
    """Each thing that money is spent on, and for each of `plans` how much; what no plan spends
    money on is left out."""
    case = w.case
    sampled = case.sampled
    names = {
        "jobs": "Replacing the part, and later ones",
        "failures": "Failures and what comes with them",
        "fitting_faults": "Fitting faults put right",
        "found_worn": "More where the part proves worn",
        "oil": "Oil changes, samples, looks at alarms" if sampled else "Oil changes",
        "alongside": "Other jobs, with it or alone later",
        "sale": "Received for it at the end, as replaced",
    }
    told = [w.plans[i] for i in plans]
    step = formats.money_step(max(abs(plan.cost.value) for plan in told))
    shown = [name for name in names if any(abs(_amount(plan, name)) >= step / 2 for plan in told)]
    columns = [
        formats.adding_up([_amount(plan, name) for name in shown], plan.cost.value, step)
        for plan in told
    ]
    found = [
        (names[name], *(formats.money(column[row], "", step) for column in columns))
        for row, name in enumerate(shown)
    ]
    total = (formats.money(plan.cost.value, "", step) for plan in told)
    return [*found, ("In all", *total)]


def sentence(w: Weighing, i: int) -> str:
    """What the cost of plan `i` is made of, the largest first: "Of that about EUR 2,400 is ..."."""
    names = {
        "jobs": "for replacing the part and those that follow",
        "failures": "for failures, each at its chance times its price",
        "fitting_faults": "for fitting faults",
        "found_worn": "for what a worn part adds",
        "oil": "for oil changes" + (" and samples" if w.case.sampled else ""),
        "alongside": "for other jobs",
    }
    plan, currency = w.plans[i], w.case.cost.currency
    step = formats.money_step(plan.cost.value)
    parts = sorted(((_amount(plan, name), what) for name, what in names.items()), reverse=True)
    told = [
        f"{formats.money(amount, currency, step)} {what}"
        for amount, what in parts
        if amount >= step / 2
    ]
    if not told:
        return ""
    received = -_amount(plan, "sale")
    less = ""
    if received >= step / 2:
        less = f"; less {formats.money(received, currency, step)} that it fetches more at the end"
    return f"Of that about {formats.listed(told)}{less}."


def _amount(plan: PlanResult, name: str) -> float:
    return 0.0 if plan.spent is None else float(getattr(plan.spent, name))
