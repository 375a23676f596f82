"""What stands on the table in which life records are entered and changed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from riskmodel.records.inputs import Unit
from riskmodel.records.life_table import COLUMNS
from riskmodel.words import formats
from riskmodel.words.data_tables import OUTCOMES

CAUSES = {"wear": "wear", "other": "another cause", "unknown": "not known"}
WHYS = {"scheduled": "as planned", "suspected": "trouble was suspected"}
CHOICES: dict[str, dict[str, str]] = {"outcome": OUTCOMES, "cause": CAUSES, "why": WHYS}
"""What the columns of words may hold, by column: entry of the file, and the words for it."""
_HELD = {name: {words: held for held, words in choice.items()} for name, choice in CHOICES.items()}

ABOUT = (
    "One row is one part, or several parts of which the same is known. Change a cell; add a row "
    "with the plus sign above the table or at its foot; select rows at their left edge to delete "
    "them. The answer follows."
)
ABOUT_EMPTY = (
    "There are no life records in this case yet. Add a row for each part of which you know how "
    "long it has lasted so far, also for those still running: without them the life would look "
    "shorter than it is."
)
COLUMNS_ASK = "Which columns?"
COLUMNS_SHOWN = "Which columns do you want beside the age and what became of it?"
COLUMNS_HELP = (
    "A column that is not shown keeps what it holds. Columns that stay empty change nothing."
)
HIDDEN_TRAITS = "In a row that you add, a trait that is not shown is taken as unknown."
NO_MORE_COLUMNS = "No more columns"
UNDO = "Take back all changes to the records"
ROW = "Row"
NOT_TAKEN = (
    "The life records have faults; they are told beside their table. What is shown is the answer "
    "from before."
)
FAULTS = "These entries could not be taken. Until they are put right, the answer stays as it was."
FAULT_ROW, FAULT_COLUMN = "Row", "Column"
WHOLE = "the whole table"

HELP: dict[str, str] = {
    "age": "Usage since the part was new: at the failure, when it was taken out, or today.",
    "outcome": "A part that still runs and one that was taken out early count as well.",
    "age_from": (
        "Only for a failure of which nobody knows when it happened: the last age at which the "
        "part was still running."
    ),
    "entered_at": (
        "The part's age when somebody began to watch it, for example when that owner bought the "
        "machine. Empty: watched from new."
    ),
    "count": "How many parts this row speaks for. Empty: one.",
    "cause": "What made it fail. Empty: wear. Only for failures.",
    "why": "Why it was taken out before it failed. Empty: as planned. Only for parts taken out.",
}
_TRAIT_HELP = (
    "A trait of the part or its use, which the records have in a column of their own. A word for "
    "what nobody knows: unknown."
)


def heading(column: str, unit: Unit) -> str:
    """The heading of a column: "Age, km"; a trait by its own name."""
    return {
        "age": f"Age, {unit}",
        "outcome": "What became of it",
        "age_from": f"Last seen running, {unit}",
        "entered_at": f"Watched from, {unit}",
        "count": "Parts",
        "cause": "Cause of the failure",
        "why": "Why taken out",
    }.get(column) or formats.sentence(column.replace("_", " "))


def headings(columns: Iterable[str], unit: Unit) -> dict[str, str]:
    """The heading of each column, none of them twice."""
    found: dict[str, str] = {}
    for column in columns:
        name = heading(column, unit)
        while name in found.values() or name == ROW:
            name += " (trait)"
        found[column] = name
    return found


def help_of(column: str) -> str:
    return HELP.get(column, _TRAIT_HELP)


def in_words(column: str, cell: str) -> str | None:
    """A cell of a column of choices as it is shown; None where it is empty."""
    return CHOICES[column].get(cell, cell) if cell else None


def from_words(column: str, shown: str) -> str:
    """The entry of the file for words that were chosen."""
    return _HELD[column].get(shown, shown)


def too_many(rows: int, most: int) -> str:
    """Why a table is not to be changed here, and how it can be."""
    return (
        f"These are {rows:,} rows; up to {most:,} can be changed here, for more would be slow. To "
        "change them, save the case, change its table of records in a spreadsheet, and open the "
        "case again. Records can also be brought in from a table, below."
    )


def incomplete(
    missing: Mapping[int, Sequence[str]], unit: Unit, hidden: Iterable[str]
) -> list[str]:
    """One sentence for each row that does not count yet, the first ten of them."""
    unseen = set(hidden)
    said = [
        f"Row {number} is not complete, so it neither counts nor is saved yet. It still needs: "
        + formats.listed(
            [
                f"“{heading(column, unit)}”" + (" (a column not shown)" if column in unseen else "")
                for column in columns
            ]
        )
        + "."
        for number, columns in list(missing.items())[:10]
    ]
    if len(missing) > 10:
        said.append(f"So it is with {formats.plural(len(missing) - 10, 'more row')}.")
    return said


def set_aside(traits: Mapping[str, float | str]) -> list[str]:
    """This engine's traits that the records as they stand do not know."""
    return [
        f"This engine's trait {heading(name, 'km').lower()} ({value}) does not occur in the "
        "records as they stand, so it is left aside, and is not saved."
        for name, value in traits.items()
    ]


_CODES = {
    held: words for choice in (OUTCOMES, CAUSES) for held, words in choice.items() if "_" in held
}
_OUTCOME = re.compile(r"with outcome (\w+)")
_LONG = re.compile(r"(?<![\w.,“\"-])\d{4,15}(?!\w|,\d)")  # not within a quoted cell
_QUOTED = re.compile(r'"(\w+)"')


def plainly(text: str, column: str, unit: Unit) -> str:
    """A message about a cell with words and headings in the place of names of the file."""
    text = _OUTCOME.sub(lambda match: f"with “{OUTCOMES.get(match[1], match[1])}”", text)
    choices = CHOICES.get(column, {})
    text = _QUOTED.sub(lambda match: f"“{choices.get(match[1], match[1])}”", text)
    text = _LONG.sub(lambda match: f"{int(match[0]):,}", text)
    names = {name: heading(name, unit) for name in COLUMNS if "_" in name}
    for name, said in (names | _CODES).items():
        text = re.sub(rf"\b{name}\b", f"“{said}”", text)
    return text.replace("b50_prior", "a belief about their life")


def rows_in(numbers: list[str]) -> str:
    """The beginning of a remark on some rows: "(rows 3, 8"."""
    return f"(row{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"


def more_faults(amount: int) -> str:
    return f"And {formats.plural(amount, 'fault')} more."
