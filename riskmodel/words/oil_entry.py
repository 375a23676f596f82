"""What stands on the table in which oil samples are entered and changed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from riskmodel.records.inputs import Unit
from riskmodel.records.oil_table import COLUMNS
from riskmodel.words import formats
from riskmodel.words.oil_names import element

ABOUT = (
    "One row is one sample. Change a cell; add a row with the plus sign above the table or at its "
    "foot; select rows at their left edge to delete them. A new row takes its place by the meter. "
    "The answer follows."
)
ABOUT_EMPTY = (
    "There are no oil samples in this case yet. Add a row for each report that a laboratory has "
    "sent, the old ones too: they tell what is usual for this engine."
)
UNDO = "Take back all changes to the samples"
ROW = "Row"
NOT_TAKEN = (
    "The oil samples have faults; they are told beside their table. What is shown is the answer "
    "from before."
)
ONE_METAL = "what one metal came to"

HELP: dict[str, str] = {
    "reading": "What the meter showed when the sample was drawn.",
    "age": "The part's own usage when the sample was drawn.",
    "oil_age": "How much this oil had been used when the sample was drawn.",
    "date": "The day, as year-month-day: 2026-08-22. May be left empty.",
    "top_up": "Litres added since this oil was put in. Empty: none.",
    "lab": "Who measured it, always by the same name. Empty: as the sample before.",
}
_METAL_HELP = (
    "In ppm as reported. Less than the laboratory can measure: type it as it stands, such as <1. "
    "Empty: not measured."
)


def heading(column: str, unit: Unit) -> str:
    """The heading of a column: "Meter, km"; a metal by its symbol and the unit."""
    known = {
        "reading": f"Meter, {unit}",
        "age": f"Part's age, {unit}",
        "oil_age": f"Usage on the oil, {unit}",
        "date": "Date",
        "top_up": "Topped up, litres",
        "lab": "Laboratory",
    }
    return known.get(column) or f"{column}, ppm"


def help_of(column: str) -> str:
    if column in COLUMNS:
        return HELP[column]
    return f"{formats.sentence(element(column))}. {_METAL_HELP}"


def too_many(rows: int, most: int) -> str:
    """Why a table is not to be changed here, and how it can be."""
    return (
        f"These are {rows:,} rows; up to {most:,} can be changed here, for more would be slow. To "
        "change them, save the case, change its table of samples in a spreadsheet, and open the "
        "case again."
    )


def incomplete(missing: Mapping[int, Sequence[str]], unit: Unit) -> list[str]:
    """One sentence for each row that does not count yet, the first ten of them."""
    said = [
        f"Row {number} is not complete, so it neither counts nor is saved yet. It still needs: "
        + formats.listed([f"“{heading(c, unit)}”" if c else ONE_METAL for c in columns])
        + "."
        for number, columns in list(missing.items())[:10]
    ]
    if len(missing) > 10:
        said.append(f"So it is with {formats.plural(len(missing) - 10, 'more row')}.")
    return said


_LONG = re.compile(r"(?<![\w.,“\"-])\d{4,15}(?!\w|,\d|-\d)")  # not in a quoted cell, not a date
_QUOTED = re.compile(r'"([^"]*)"')
_LINE = re.compile(r"\bon line (\d+)")
_INPUTS = {
    "machine.reading": "the meter today",
    "machine.date": "the day that counts as today",
    " (part.fitted_at)": "",
}


def plainly(text: str, unit: Unit, row: Mapping[int, str]) -> str:
    """A message about a cell with headings in the place of names of the file, and with rows (by
    line of the file) in the place of lines."""
    text = _LINE.sub(lambda match: f"in row {row.get(int(match[1]), match[1])}", text)
    text = _QUOTED.sub(lambda match: f"“{match[1]}”", text)
    text = _LONG.sub(lambda match: f"{int(match[0]):,}", text)
    for name, said in _INPUTS.items():
        text = text.replace(name, said)
    return _headings(text, (name for name in COLUMNS if "_" in name), unit)


def _headings(text: str, names: Iterable[str], unit: Unit) -> str:
    for name in names:
        text = re.sub(rf"\b{name}\b", f"“{heading(name, unit)}”", text)
    return text
