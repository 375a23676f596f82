"""What finding out more would be worth: a look at the part first, and knowing all there is."""

from __future__ import annotations

from riskmodel.decision.results import Inspection, Sampled, Weighing
from riskmodel.words import first_step, formats
from riskmodel.words.plan_names import INSPECTION_NAME

HEADING = "Finding out more first"


def information_sentences(w: Weighing) -> list[str]:
    """Empty while there are symptoms."""
    known = w.information
    if known is None or w.recommended is None:
        return []
    samples = [] if known.samples is None else [samples_sentence(w, known.samples)]
    look = [] if known.inspection is None else inspection_sentences(w, known.inspection)
    currency = w.case.cost.currency
    return [
        *look,
        *samples,
        "To know exactly the life curve of such parts, the prices and the warnings that they give "
        f"would be worth about {formats.money(known.perfect, currency)}; to know when this part "
        f"and those after it fail as well, about {formats.money(known.foresight, currency)}. "
        "Nothing that you could find out is worth more; most things are worth far less.",
    ]


def samples_sentence(w: Weighing, found: Sampled) -> str:
    """What the samples at the oil changes to come save or cost, and what that rests on."""
    currency, unit = w.case.cost.currency, w.case.machine.unit
    step = formats.money_step(found.cost)
    gap = formats.rounded_money(abs(found.saves), step)
    side = "saves" if found.saves > 0 else "costs"
    worth = (
        "comes to the same" if gap <= 0 else f"{side} about {formats.money(gap, currency, step)}"
    )
    when = "never to replace it" if found.at is None else "to replace it now"
    if found.at:
        when = f"to replace it in {formats.usage(float(f'{found.at:.3g}'), unit)}"
    return (
        f"Sampling at every oil change {worth} on average, its price and false alarms counted: "
        f"without samples it would cost least {when}, about {formats.money(found.cost, currency)} "
        "in all. That rests on how long distress shows in the oil before a failure, a judgement: "
        "with half of that warning, samples may earn much less. What they tell of other parts is "
        "not counted."
    )


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
