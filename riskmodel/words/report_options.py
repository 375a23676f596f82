"""What each kind of choice gives, costs and asks of the owner, in equal detail."""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.words import formats
from riskmodel.words.plan_names import plan_short

COLUMNS = ("Choice", "For it", "Against it", "Living with it")


def rows(w: Weighing) -> list[tuple[str, str, str, str]]:
    """What to find out first, soon, later, not unless it must be, and selling, by the names that
    they have in the table of choices; under `COLUMNS`."""
    faulty, first = formats.count(w.case.cost.install_fault.mean), plan_short(w, w.open_plans[0])
    found = _finding_out(w)
    if w.plans[w.open_plans[0]].at is not None:
        found.append(
            (
                first,
                "The old part can no longer fail, and one sees how it looks and what wore it.",
                f"Paid perhaps years before it was needed; {faulty} of 100 new parts are taken to "
                "fail at once.",
                "Some days without it, on a date that you choose; then running in.",
            )
        )
    later = next((i for i, plan in enumerate(w.plans) if plan.at and i > w.open_plans[0]), None)
    if later is not None:
        found.append(
            (
                f"Later, such as “{plan_short(w, later)}”",
                "More use from the part, money spent later; each oil change may tell more.",
                "It may fail before the date, likelier the longer it runs; the job is still to be "
                "paid.",
                "Gentle driving until then (see the steps), an eye on oil and noise, a date to "
                "keep.",
            )
        )
    found.append(_never(w))
    if len(w.all_plans) > len(w.plans):
        found.append(
            (
                "Sell it today",
                "The part, its job and its failure are somebody else's, who knows of it.",
                "It fetches less with the buyer told, and life goes on without it or with another.",
                "Offers to be had, the buyer told in writing, another machine to find.",
            )
        )
    return found


def _finding_out(w: Weighing) -> list[tuple[str, str, str, str]]:
    found = []
    if w.information is not None and w.information.inspection is not None:
        found.append(
            (
                "Look first",
                "The job is paid only where the look speaks for it.",
                "The look costs too, can miss distress, and may do damage itself.",
                "Some hours or days without it, then a decision to take.",
            )
        )
    if w.retest is not None:
        found.append(
            (
                "Sample again first",
                "One report can mislead; a second one says whether it did.",
                "It may fail before the answer is in; a clear sample can mislead as well.",
                "Little load and a worry until the answer is in, then a decision to take.",
            )
        )
    return found


def _never(w: Weighing) -> tuple[str, str, str, str]:
    if w.case.sampled:
        return (
            plan_short(w, len(w.plans) - 1),
            "Nothing is spent on the job unless a sample calls for it.",
            "Some failures do not show in the oil or leave too little time; an alarm can be false.",
            "A sample at every oil change; the job at short notice when one alarms.",
        )
    return (
        plan_short(w, len(w.plans) - 1),
        "Nothing is spent on the job at all, and no fitting can go wrong.",
        "The highest chance of a failure, and then its whole price: the engine and all that "
        "comes with it.",
        "Gentle driving as long as you keep it; a failure may come far from help.",
    )
