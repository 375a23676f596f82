"""What a plan's expected cost is made of, in words."""

from __future__ import annotations

from dataclasses import fields

from riskmodel.decision.results import PlanResult, Spent, Weighing
from riskmodel.words import formats

HEADING = "Where the money goes"
LEAD = (
    "On average over good and bad luck: a failure counts at its chance times its price. Those by a "
    "faulty fitting stand apart; no guarantee is counted. A job brings fresh oil: at an oil change "
    "it saves one. Rounded to add up."
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
        "sale": "What it fetches more at the end",
    }
    told = [w.plans[i] for i in plans]
    columns, step = _columns(told)
    found = [
        (names[name], *(formats.money(column[name], "", step) for column in columns))
        for name in names
        if any(name in column for column in columns)
    ]
    total = (formats.money(plan.cost.value, "", step) for plan in told)
    return [*found, ("In all", *total)]


def _columns(told: list[PlanResult]) -> tuple[list[dict[str, float]], float]:
    """What each plan spends on each thing, rounded to the step returned with it so that it adds up
    to its rounded cost; what none of them spends money on is left out."""
    names = [field.name for field in fields(Spent)]
    step = formats.money_step(max(abs(plan.cost.value) for plan in told))
    shown = [name for name in names if any(abs(_amount(plan, name)) >= step / 2 for plan in told)]
    return [
        dict(
            zip(
                shown,
                formats.adding_up([_amount(plan, name) for name in shown], plan.cost.value, step),
                strict=True,
            )
        )
        for plan in told
    ], step


def shortly(w: Weighing, i: int, plans: list[int]) -> str:
    """What the cost of plan `i` is made of, as `rows` of `plans` (which holds it) tells it: "Of
    that 2,520 is for the job, 1,280 for failures and 920 for ..."; "" where it is not known."""
    if not plans:
        return ""
    columns, step = _columns([w.plans[k] for k in plans])
    found = columns[plans.index(i)]
    told = sorted(
        ((found[name], what) for name, what in _shorter(w).items() if found.get(name, 0.0) > 0),
        reverse=True,
    )
    parts = [
        f"{formats.money(amount, '', step)}{'' if k else ' is'} {what}"
        for k, (amount, what) in enumerate(told)
    ]
    received = -found.get("sale", 0.0)
    less = f", less {formats.money(received, '', step)} received at the end" if received > 0 else ""
    return f"Of that {formats.listed(parts)}{less}." if parts else ""


def against(w: Weighing, i: int, other: int, plans: list[int]) -> str:
    """Where the difference between plan `i` and an `other` comes from, as `rows` of `plans` tells
    it: "160 less for oil changes, 160 more for failures"; "" where that is not known."""
    if i not in plans or other not in plans:
        return ""
    columns, step = _columns([w.plans[k] for k in plans])
    one, than = columns[plans.index(i)], columns[plans.index(other)]
    names = {**_shorter(w), "sale": "received at the end"}
    gaps = [(one[name] - than[name], name) for name in one if abs(one[name] - than[name]) > 0]
    gaps.sort()
    return formats.listed(
        [
            f"{formats.money(abs(gap), '', step)} "
            f"{'more' if (gap > 0) != (name == 'sale') else 'less'} {names[name]}"
            for gap, name in gaps
        ]
    )


def _shorter(w: Weighing) -> dict[str, str]:
    return {
        "jobs": "for the job",
        "failures": "for failures",
        "fitting_faults": "for fitting faults",
        "found_worn": "for what a worn part adds",
        "oil": "for oil changes" + (" and samples" if w.case.sampled else ""),
        "alongside": "for other jobs",
    }


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
