"""What goes with every verdict, and what replaces it when there are symptoms."""

from __future__ import annotations

from riskmodel.records.case import Case
from riskmodel.words import formats

ESTIMATE = (
    "This is an estimate from figures. It inspects nothing and proves nothing about a part that "
    "nobody has looked at."
)
STOP_AT_ONCE = (
    "Stop at once, switch off and have it towed if the oil pressure drops, if it knocks, or if "
    "metal shows in the oil or the filter. No figure here overrides that."
)
FIRST = (
    "The maker's procedures, the rules where you are and a qualified mechanic come first. Where "
    "they say otherwise, follow them."
)
NO_ALL_CLEAR = (
    "A low chance is no all-clear: some of these parts fail with no warning at all, and one that "
    "fails can break the engine and start a fire."
)
STRANDED = {
    "road": (
        "An engine that dies on the road is a danger in itself, to you and to others. Money is "
        "not the only reason to replace early."
    ),
    "hours": (
        "An engine that dies at sea or at work is a danger in itself, to you and to others. Money "
        "is not the only reason to replace early."
    ),
}

SYMPTOM_WORDS = {
    "knock": "a knock",
    "low oil pressure": "low oil pressure",
    "metal in the filter": "metal in the filter",
}


def cautions(case: Case) -> list[str]:
    """The cautions that stand wherever a verdict is shown."""
    stranded = STRANDED["hours" if case.machine.unit == "h" else "road"]
    return [STOP_AT_ONCE, ESTIMATE, NO_ALL_CLEAR, stranded, FIRST]


def dangers(case: Case) -> list[str]:
    """Those of the cautions that tell what a failure may do to people."""
    return [NO_ALL_CLEAR, STRANDED["hours" if case.machine.unit == "h" else "road"]]


def stop_heading(case: Case) -> str:
    return "Stop. Do not start the engine. Have it towed."


def stop_text(case: Case) -> list[str]:
    """What replaces the verdict where there are symptoms; empty without any."""
    if not case.machine.symptoms:
        return []
    noted = formats.listed([symptom_words(name) for name in case.machine.symptoms])
    return [
        f"Noted: {noted}. These are signs that the part may be failing now.",
        "Switch the engine off. Do not start it again, not even to move it or to listen once "
        "more. Have it towed. If you are somewhere dangerous, get people out of danger first.",
        "No chance of failure and no plan is given while a symptom stands: the records speak of "
        "engines without one, and no saving is worth an engine that is about to break.",
        "Tell the workshop what you noticed, when, and at what meter reading. Keep the oil and "
        "the filter: what is in them is evidence.",
        "The maker's procedures and a qualified mechanic decide what comes next. Clear the "
        "symptom here only when the cause has been found.",
    ]


def symptom_words(symptom: str) -> str:
    """A symptom as it reads in a sentence."""
    return SYMPTOM_WORDS.get(symptom, symptom)


def example_banner(case: Case) -> str | None:
    """The notice on a case that is made up; None on a real one."""
    if not case.machine.invented:
        return None
    return (
        "EXAMPLE. This machine, its records and its prices are invented. Nothing here says "
        "anything about a real engine."
    )
