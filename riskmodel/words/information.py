"""What finding out more would be worth: a look at the part first, and knowing all there is."""

from __future__ import annotations

from riskmodel.decision.results import Inspection, Weighing
from riskmodel.words import first_step, formats
from riskmodel.words.plan_names import INSPECTION_NAME

HEADING = "Finding out more first"


def information_sentences(w: Weighing) -> list[str]:
    """Empty while there are symptoms."""
    known = w.information
    if known is None or w.recommended is None:
        return []
    look = [] if known.inspection is None else inspection_sentences(w, known.inspection)
    currency = w.case.cost.currency
    return [
        *look,
        "To know exactly the life curve of such parts, the prices and the warnings that they give "
        f"would be worth about {formats.money(known.perfect, currency)}; to know when this part "
        f"and those after it fail as well, about {formats.money(known.foresight, currency)}. "
        "Nothing that you could find out is worth more; most things are worth far less.",
    ]


def inspection_sentences(w: Weighing, found: Inspection) -> list[str]:
    """What a look costs, what either outcome would mean, and what it rests on."""
    seen, blank, case = found.if_seen, found.if_not, w.case
    lead, unit = case.warning.visible_lead, case.machine.unit
    price = formats.money(found.price, case.cost.currency)
    missed = formats.count(1 - case.inspection.sees)
    damage = (
        f", and {formats.of_100(case.inspection.risk)} times does the damage itself"
        if case.inspection.risk > 0
        else ""
    )
    return [
        first_step.cost_sentence(w, INSPECTION_NAME, found.cost, found.saves),
        first_step.outcome(w, "show distress", seen.chance, seen.soon, seen.at, at_once=False),
        first_step.outcome(w, "show none", blank.chance, blank.soon, blank.at, at_once=False)
        + f" That is no all-clear: the look misses distress in {missed} of 100 parts that have it.",
        f"It costs {price}{damage}; {first_step.failures(w, found.failure)}",
        "Main assumption: distress can be seen from "
        f"{formats.usage(lead.low, unit)} to {formats.usage(lead.high, unit)} before failure, a "
        "judgement; that the look is to be had today is assumed as well.",
    ]
