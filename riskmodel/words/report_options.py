"""What each kind of choice gives, costs and asks of the owner, in equal detail."""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.words import formats

COLUMNS = ("Choice", "For it", "Against it", "Living with it")


def rows(w: Weighing) -> list[tuple[str, str, str, str]]:
    """Soon, later, and not unless it must be; under `COLUMNS`."""
    faulty = formats.count(w.case.cost.install_fault.mean)
    found = [
        (
            "Replace soon",
            "The part that is in now can no longer fail. The old one is seen, and what wore it.",
            f"Paid perhaps years before it was needed; {faulty} of 100 new parts are taken to fail "
            "at once.",
            "Some days without the machine, on a date that you choose; then running in.",
        )
    ]
    if any(plan.at for plan in w.plans):
        found.append(
            (
                "Replace later, on a set date",
                "More use from the part, the money spent later, and each oil change may tell more.",
                "It may fail before the date, likelier with every stretch of use; the job is still "
                "to be paid.",
                "Rules for driving until then, an eye on oil and noise, a date to keep.",
            )
        )
    found.append(_never(w))
    return found


def _never(w: Weighing) -> tuple[str, str, str, str]:
    if w.case.sampled:
        return (
            "Only on an alarm",
            "Nothing is spent on the job unless a sample calls for it.",
            "Some failures show nothing in the oil, some leave too little time; an alarm can be "
            "false.",
            "A sample at every oil change; the job at short notice when one alarms.",
        )
    return (
        "Never",
        "Nothing is spent on the job at all, and no fitting can go wrong.",
        "The chance of a failure is the highest, and it is paid in full: engine and all that comes "
        "with it.",
        "Rules for driving for as long as you keep it; a failure may come far from help.",
    )
