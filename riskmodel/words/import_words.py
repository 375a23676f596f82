"""What is said while records are brought in from a table of somebody's own."""

from __future__ import annotations

from typing import Literal

from riskmodel.records.errors import Problem
from riskmodel.records.inputs import Unit
from riskmodel.records.loose_cells import EXAMPLES, Decimal
from riskmodel.records.loose_guess import LEAVE_OUT
from riskmodel.records.loose_table import MOST_WORDS, Imported
from riskmodel.records.loose_text import LooseTable
from riskmodel.records.units import KM_PER_MILE, NAMES
from riskmodel.words import formats
from riskmodel.words.records_entry import CHOICES, heading

TITLE = "Bring in records from a table of your own"
ABOUT = (
    "Any table with one row for each part (or for several parts alike) and headings in its first "
    "row. You say which column is what; nothing is taken over before you have seen what it comes "
    "to."
)
UPLOAD = "Your table"
UPLOAD_HELP = (
    "A text file (CSV or TSV) of at most 5 MB. A spreadsheet program makes one with “Save as”, "
    "kind CSV. Nothing leaves this computer."
)
FIRST_ROWS = "The first rows of your table, as they stand in the file"
WRITTEN = "How the table is written"
SEPARATOR = "Columns are parted by"
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright strokes"}
DECIMAL = "Numbers are written like"
DECIMALS: dict[Decimal, str] = EXAMPLES
DECIMAL_HELP = (
    "Whether a point or a comma stands before the decimals. Blanks and apostrophes between "
    "thousands, and km, mi or h behind a number, are understood."
)
UNIT = "Usage in the table is in"
WHICH = "Which column is what"
NOT_THERE = "not in this table"
CHOOSE = "choose"
TRAITS = "Keep as a trait"
TRAITS_HELP = (
    "Columns that may explain why some parts last longer, such as how the engine is used. Numbers, "
    "or up to 20 different words. An empty cell becomes the word unknown."
)
MEANINGS: dict[str, str] = {
    "outcome": "What each word means for the part",
    "cause": "What each word says of the cause of a failure",
    "why": "What each word says of why a part was taken out",
}
FIELDS: dict[str, str] = {
    "age": "Age or mileage of the part at that time",
    "outcome": "What became of it",
    "age_from": "Failed after (last seen running)",
    "entered_at": "Watched from",
    "count": "How many parts",
    "cause": "Cause of a failure",
    "why": "Why taken out",
}
FIELDS_HELP: dict[str, str] = {
    "age": (
        "Usage since the part was new: at the failure, when it was taken out, or when last heard "
        "of. Not the meter of the machine, if the part is not its first."
    ),
    "outcome": (
        "The column that tells failures from parts still running. If all went the same way, choose "
        "that."
    ),
    "age_from": (
        "Only for failures found later than they happened: the last age at which the part was seen "
        "running."
    ),
    "entered_at": (
        "The part's age when somebody began to watch it, for example when that owner bought the "
        "machine. Leave it out if parts were watched from new."
    ),
    "count": "For rows that speak for several parts. Without such a column each row is one part.",
    "cause": "Without such a column every failure counts as wear.",
    "why": "Without such a column every part taken out counts as taken out as planned.",
}
EVERY: dict[str, str] = {"outcome": "every part: {}", "cause": "every failure: {}"}
LEFT_OUT = "leave these rows out"
EMPTY = "empty cells"
PUT_RIGHT = "Before this can be used:"
WHERE = "Concerns"
LINE, COLUMN = "Line", "Column"
RESULT = "What it comes to"
AS_READ = "The first records as they will be used"
HOW = "What is to become of the records there now?"
HOWS = {"replace": "These take their place", "add": "These are added to them"}
USE = "Use these records"


def field_label(name: str, unit: Unit) -> str:
    """The label of the choice of one column, with the unit that its numbers will have."""
    label = FIELDS[name]
    return f"{label}, {unit}" if name in ("age", "age_from", "entered_at") else label


def every(name: str, entry: str) -> str:
    """One answer for all rows: "every part: failed"."""
    return EVERY[name].format(CHOICES[name][entry])


def meaning(name: str, entry: str) -> str:
    """What a word can be said to mean."""
    return LEFT_OUT if entry == LEAVE_OUT else CHOICES[name][entry]


def word_label(word: str, count: int) -> str:
    """A word of the table and how often it stands there: "“ran on” (12 rows)"."""
    text = f"“{word if len(word) <= 60 else word[:59] + '…'}”" if word else EMPTY
    return f"{formats.sentence(text)} ({formats.plural(count, 'row')})"


def too_many_words(name: str, count: int) -> str:
    return (
        f"The column chosen for “{FIELDS[name]}” holds {count:,} different words; up to "
        f"{MOST_WORDS} can be given a meaning here. Choose another column, or put fewer words into "
        "it."
    )


def read_as(table: LooseTable) -> str:
    """How the file was understood."""
    rows = len(table.rows) + len(table.ragged)
    return (
        f"Read as {formats.plural(rows, 'row')} of {formats.plural(len(table.headings), 'column')} "
        f"parted by {SEPARATORS.get(table.separator, table.separator)}."
    )


def unit_hint(unit: Unit) -> str:
    if unit == "h":
        return "The case counts hours; a table in another unit cannot be turned into hours."
    return (
        f"The case counts {NAMES[unit]}. A mile is {KM_PER_MILE} km; ages are turned into {unit}."
    )


def result(found: Imported) -> list[str]:
    """How many parts, by outcome; what is left out and what means nothing."""
    parts = [
        f"{formats.plural(found.parts[held], 'part')} {words}"
        for held, words in CHOICES["outcome"].items()
        if found.parts.get(held)
    ]
    said = [f"{formats.plural(len(found.rows), 'row')} can be read: {formats.listed(parts)}."]
    if found.left_out:
        said.append(f"{formats.plural(found.left_out, 'row')} left out, as you chose.")
    said += [
        f"“{FIELDS[name]}” is not used in {formats.plural(count, 'row')}: it means nothing beside "
        "what became of those parts."
        for name, count in found.unused.items()
    ]
    if found.parts and not (found.parts.get("failed") or found.parts.get("removed_worn")):
        said.append(
            "No part among them failed or looked worn: such records alone do not settle how long "
            "the part lasts."
        )
    return said


def unread(lines: int) -> str:
    return f"{formats.plural(lines, 'row')} of your table cannot be read:"


def leave_out(lines: int) -> str:
    return "Leave this row out" if lines == 1 else f"Leave these {lines:,} rows out"


LEAVE_OUT_HELP = (
    "Rows left out may make the life look longer or shorter than it is, above all if they are of "
    "one kind. Better to put them right in the file and bring it in again."
)


def more(amount: int) -> str:
    return f"And {formats.plural(amount, 'more')}.".replace("mores", "more")


def concerns(problem: Problem) -> str:
    """What a problem of the whole table concerns, by its label."""
    place = problem.where
    return formats.sentence(FIELDS.get(place, place))


def column_name(name: str, unit: Unit) -> str:
    """A column of the table by its own heading; one of the records in words."""
    return heading(name, unit) if name in FIELDS and "_" in name else name


def brought(rows: int, how: Literal["replace", "add"], left_out: int) -> str:
    """What was done, until the next thing is."""
    there = "beside those that were there" if how == "add" else "in the place of the records before"
    rest = f" Left out: {formats.plural(left_out, 'row')} of the table." if left_out else ""
    return f"{formats.plural(rows, 'row')} taken over, {there}.{rest}"
