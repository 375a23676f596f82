"""What stands beside the boxes of the page: labels with units, hints, steps."""

from __future__ import annotations

from riskmodel.records.case import Case
from riskmodel.records.inputs import TYPED, VARIES, Input
from riskmodel.records.units import spelled

NOT_STATED = "not stated"
NONE_ASSUMED = "none assumed"
"""The source of an input that is nothing unless stated."""
PLAIN = {"warning.visible_lead": "A look shows wear so long before failure (visible lead)"}
"""Labels of the page that say more than the name of the input."""


def label(entry: Input, case: Case, stand_in: str = "") -> str:
    """The label of an input with its unit: "Usage per year, km"."""
    unit = unit_of(entry, case)
    name = stand_in or PLAIN.get(entry.key, entry.label)
    return f"{name}, {unit}" if unit else name


def unit_of(entry: Input, case: Case) -> str:
    """The unit in which an input is shown; shares are counts of 100."""
    if "share" in entry.kind:
        return "of 100"
    if entry.unit == "per year":
        return "per cent a year"
    if entry.unit == "usage per year":
        return case.machine.unit
    if entry.unit == "money":
        return case.cost.currency
    return spelled(entry.unit, case.machine.unit, case.cost.currency)


def hint(entry: Input, case: Case) -> str:
    """What an input means and where its value comes from if nobody stated it."""
    text = entry.help
    if entry.key not in case.stated and not entry.required:
        text += f" Not stated in this case{_instead(entry)}."
    if entry.spread:
        text += f" A range means: {entry.spread}."
    return text


def _instead(entry: Input) -> str:
    """What holds of an input that nobody stated."""
    if entry.default_text:
        return f"; assumed: {entry.default_text}"
    if entry.source == NONE_ASSUMED:
        return f"; {NONE_ASSUMED}"
    return "" if entry.source == TYPED else f"; the figure here: {entry.source}"


def spread(entry: Input) -> str:
    """What a range of this input means, for a line under its label; the usual case says nothing."""
    return f"{entry.spread}:" if entry.spread == VARIES else ""


def placeholder(entry: Input) -> str | None:
    """What an empty box says; the hint says what then holds."""
    return NOT_STATED if entry.default_text else None


def step(entry: Input, shown: float | None) -> float:
    """How much one press of the step buttons changes."""
    if "share" in entry.kind or entry.unit in ("weeks", "months", "per year"):
        return 1.0
    if entry.unit == "years":
        return 0.5
    size = abs(shown or 0.0)
    for least, by in ((100_000, 1000.0), (10_000, 500.0), (1000, 100.0), (100, 10.0), (10, 1.0)):
        if size >= least:
            return by
    return 1.0 if entry.unit in ("usage", "money", "usage per year") else 0.1
