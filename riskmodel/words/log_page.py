"""What the page says of the log: what is kept, what could not be, the screens of it."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.records.inputs import Unit
from riskmodel.records.log.entries import Entry
from riskmodel.words import formats

THE_LOG = "the log"
FROM_THE_PAGE = "the page"
THE_EXAMPLE = "the example"
CORRECTED = "corrected on the page"
SOMEBODY = "the page"
A_DAY = "the day on which the meter was read"

NOTHING, A_NUMBER, A_DATE = "nothing", "a number", "a day"

YOUR_MACHINES = "Your machines"
OF_YOUR_LOG = "Your machine"
CHOOSE_NONE = "Choose a machine"
EXAMPLE_ABOUT = "This example is only shown: changes to it are lost when the page is loaded anew."
KEEP_EXAMPLE = "Keep it with my changes"
KEPT_HERE = "Kept on this computer as you type."
CHANGED_HERE = "Changed since it was opened, and kept."
TAKEN_IN = "Taken in. It is kept on this computer and is here again when you come back."
NOT_TAKEN_IN = "It is shown, but could not be kept:"
KNOWN_ALREADY = "This case is in your log already; it was opened there."
GONE = "The machine of this address is not in the log. The example is shown instead."

NO_LONGER = "this machine is no longer in it"
BACK_AGAIN = "the machine: it can be brought back under “All machines”, or the case saved as a file"
TAKEN_OUT = "The machine was taken out of the log. It can be brought back under “All machines”."

NO_LOG = (
    "The log cannot be used, so nothing entered here is kept. Its file was left as it is. The page "
    "works without it: save the case as a file to keep it."
)
NOT_KEPT = "This could not be kept in the log. What is shown follows it, but it is lost on leaving."
NOT_WRITTEN = "This was not entered; what you typed still stands here."
CLASH = "Somebody else wrote about this machine while you were changing it."
CLASH_FIGURES = (
    "What you changed is still here and not kept yet. Keep it as well (where both changed the same "
    "figure, yours counts; theirs stays in the history), or drop it and see theirs."
)
CLASH_FORM = (
    "Yours was not entered; what you typed still stands here, and the rest of the page shows what "
    "the log says by now. If yours still holds, enter it again."
)
KEEP_MINE, SEE_THEIRS = "Keep mine as well", "Drop mine and see theirs"
NEWER = "Changed since by somebody else; the page shows it as the log has it by now:"
UNFINISHED = (
    "Figures or rows of a table are not complete or have faults, and entering this would lose "
    "them. Put them right or take them back first."
)
NO_PART = (
    "Its part failed and none has been fitted since, so there is nothing to weigh. Enter the job "
    "that fitted one."
)
GIVEN_UP = "This machine was given up; figures changed here are not kept."


def meter_bound(reading: float, date: str | None, unit: Unit, entry: Entry) -> str:
    """What a meter typed lower than one on record may be."""
    on = f" on {formats.day(date)}" if date else ""
    return (
        f"at least {formats.usage(reading, unit)}{on}, which the log has from entry {entry.seq} "
        f"({entry.payload.title}); if that one is wrong, undo it in the history below"
    )


def day_bound(date: str, entry: Entry) -> str:
    """What the day of a meter reading may be that was typed with one before another on record."""
    return (
        f"a day not before {formats.day(date)}, of which the log has a reading from entry "
        f"{entry.seq} ({entry.payload.title}); if that one is wrong, undo it in the history below"
    )


def and_more(told: Sequence[str], most: int = 5) -> list[str]:
    """The newest few of many lines, and how many stand before them."""
    if len(told) <= most:
        return list(told)
    return [f"{len(told) - most} entries before these.", *told[-most:]]
