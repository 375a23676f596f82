"""Selling the machine today, in words."""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.words import formats
from riskmodel.words.plan_names import in_all, plan_name, saving


def sale_to_change(w: Weighing) -> list[str]:
    """At what a year without the machine costs selling and keeping it would change places."""
    sale, currency = w.sale, w.case.cost.currency
    if sale is None:
        return []
    even = sale.even + w.case.machine.upkeep.mean
    if even <= 0:
        return ["Selling it today would cost more than keeping it even if you never missed it."]
    level = formats.money(even, currency)
    stated = w.case.plan.do_without
    now = "" if stated is None else f"; you put it at {formats.money(stated.mean, currency)}"
    return [
        f"Selling it today, the buyer told: it costs less than keeping it while a year without it "
        f"costs you under about {level}{now}."
    ]


def selling(w: Weighing, best: int) -> str:
    """How selling compares with the best plan that keeps the machine, where it is weighed."""
    sold = len(w.plans)
    if len(w.all_plans) == sold:
        return ""
    plan = w.all_plans[sold]
    share = formats.of_100(plan.chance_cheapest)
    if w.sells:
        dearer = plan.cost.value > w.plans[best].cost.value
        gap = saving(w, sold, best) + " more" if dearer else saving(w, best, sold) + " less"
        return (
            f"Selling costs {gap} than “{plan_name(w, best)}”, the best plan that keeps it, "
            f"and is the cheapest of all in {share} ways that what is not known could turn out. "
            "What follows speaks of the plan that keeps it."
        )
    return (
        "Selling it today, the buyer told, would come to "
        f"{in_all(w, plan.cost.value)}, life without it included, and is the cheapest of all in "
        f"{share} ways that what is not known could turn out."
    )
