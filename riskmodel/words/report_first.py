"""What finding out more first may show, in the owner's report; its cost stands in the verdict."""

from __future__ import annotations

from riskmodel.decision.results import Inspection, Retest, Weighing
from riskmodel.words import first_step, formats
from riskmodel.words.retest import retest_sentences

LEAD = {
    "inspection": "If it is looked at, of 100 engines like this one:",
    "retest": "If it is sampled again, of 100 engines like this one:",
}


def sentences(w: Weighing) -> list[str]:
    """What either outcome would mean, what it misses and what it rests on; empty where the verdict
    is not to find out more first."""
    look = None if w.information is None else w.information.inspection
    if w.first_step == "inspection" and look is not None:
        return _look(w, look)
    if w.first_step == "retest" and w.retest is not None:
        return _sample(w, w.retest)
    return []


def _look(w: Weighing, found: Inspection) -> list[str]:
    seen, blank, case = found.if_seen, found.if_not, w.case
    lead, unit = case.warning.visible_lead, case.machine.unit
    price, missed = formats.money(found.price, case.cost.currency), 1 - case.inspection.sees
    damage = ""
    if case.inspection.risk > 0:
        damage = f", and does damage itself {formats.of_100(case.inspection.risk)} times"
    return [
        first_step.outcome(w, "show distress", seen.chance, seen.soon, seen.at, at_once=False),
        first_step.outcome(w, "show none", blank.chance, blank.soon, blank.at, at_once=False)
        + " That is no all-clear.",
        f"The look costs {price}, misses distress (damage to be seen) in {formats.count(missed)} "
        f"of 100 parts that have it{damage}. Assumed: it shows from "
        f"{formats.usage(lead.low, unit)} to {formats.usage(lead.high, unit)} before failure "
        "(judgement), and the look is to be had today.",
    ]


def _sample(w: Weighing, found: Retest) -> list[str]:
    """Those of the page without the cost, and without the chance that the verdict tells."""
    told = retest_sentences(w)
    until = formats.usage(found.acts_at, w.case.machine.unit)
    first = f"Until the result is in ({until} from now), {formats.chance(found.first)} would fail. "
    return [*told[1:3], first + told[-1]]
