"""Which plans cost nearly as much as another, and which are above the owner's limit."""

from __future__ import annotations

from riskmodel.decision.results import Interval, Weighing
from riskmodel.words import formats
from riskmodel.words.plan_names import first_step_cost, plan_short

CLOSE = 0.03
"""Plans within this share of the lowest expected cost are called nearly a tie (judgement)."""
MOST_NAMED = 3
"""So many plans that nearly tie are named; more are counted."""
OVER_LIMIT = "over your limit"


def over_limit(w: Weighing, failure: Interval) -> bool:
    """Whether a chance within keep-until is above the owner's ceiling, where one is stated."""
    most = w.case.plan.most_risk
    return most is not None and failure.value > most


def marked(name: str, w: Weighing, failure: Interval) -> str:
    """The name of a plan in a table: "Never (over your limit)"."""
    return f"{name} ({OVER_LIMIT})" if over_limit(w, failure) else name


def close_to(w: Weighing, best: int) -> list[int]:
    """The other plans to be had whose cost is within `CLOSE` of that of plan `best`."""
    cost = w.plans[best].cost.value
    return [i for i in w.open_plans if i != best and _near(w.plans[i].cost.value, cost)]


def named(w: Weighing, close: list[int]) -> str:
    """ "“Now” and “In a year”"; from a few on how many there are, and the first and the last."""
    names = [f"“{plan_short(w, i)}”" for i in close]
    if len(names) > MOST_NAMED:
        return f"{len(names)} others, from {names[0]} to {names[-1]}"
    return formats.listed(names)


def verdict_tie(w: Weighing) -> str:
    """What stands beside the verdict where others cost nearly the same: "Nearly a tie with “Now”
    and “In a year”."; "" where none does. Those above the owner's limit are left out."""
    i = w.chosen
    if i is None:
        return ""
    first = first_step_cost(w)
    cost = w.all_plans[i].cost.value if first is None else first.value
    kept = first is not None or not over_limit(w, w.all_plans[i].failure)
    close = [
        k
        for k in range(w.open_plans[0], len(w.all_plans))
        if (k != i or first is not None)
        and _near(w.all_plans[k].cost.value, cost)
        and not (kept and over_limit(w, w.all_plans[k].failure))
    ]
    if not close:
        return ""
    return f"Nearly a tie with {named(w, close)}."


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= CLOSE * abs(other)
