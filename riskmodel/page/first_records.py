"""Life records from what was pasted or typed on the first visit. No widgets here."""

from __future__ import annotations

import re
from collections.abc import Mapping

from riskmodel.records.errors import InputError, Problem, shown
from riskmodel.records.inputs import Unit
from riskmodel.records.loose_cells import guessed_decimal
from riskmodel.records.loose_guess import distinct, guessed_columns, guessed_unit, guessed_word
from riskmodel.records.loose_table import (
    MOST_WORDS,
    OF_USAGE,
    OF_WORDS,
    Choices,
    Imported,
    imported,
)
from riskmodel.records.loose_text import LooseTable, read_loose
from riskmodel.records.row_table import csv_of
from riskmodel.words import first_visit as words

FILE = "records"
_LINE = re.compile(r"\s*(\d[\d.,'\u00a0 ]*?)[\s.,;:]*([^\W\d_].*)$")
"""An age and words, whatever stands between them."""


def records_in(text: str, unit: Unit) -> bytes:
    """The life records in a text, as the file of a case holds them: either plain lines of an age
    and a word, or a table with headings that tell which column is what.

    Raises InputError, which names lines, where something can't be read.
    """
    if not text.strip():
        raise InputError([Problem(FILE, "", words.NOTHING, words.SOME_RECORDS)])
    loose = read_loose(_with_headings(text).encode("utf-8"), FILE)
    return records_of(loose, unit)


def records_of(loose: LooseTable, unit: Unit, table_unit: Unit | None = None) -> bytes:
    """The records in a table, by what its headings and words seem to mean, in `unit`; its usage
    is in `table_unit`, left out: in the one that the heading of the age names, else in `unit`."""
    columns = guessed_columns(loose.headings)
    if not {"age", "outcome"} <= set(columns):
        found = ", ".join(shown(heading) for heading in loose.headings[:5])
        raise InputError([Problem(FILE, "", found, words.NO_HEADINGS)])
    named = guessed_unit(columns["age"])
    meanings = {
        name: {
            word: meaning
            for word in distinct(loose.column(columns[name]))
            if (meaning := guessed_word(name, word, columns[name])) is not None
        }
        for name in OF_WORDS
        if name in columns
    }
    _known(loose, columns, meanings)
    cells = (cell for name in OF_USAGE if name in columns for cell in loose.column(columns[name]))
    read = imported(
        loose,
        Choices(
            columns=columns,
            words=meanings,
            table_unit=table_unit or named or unit,
            decimal=guessed_decimal(cells),
        ),
        unit,
    )
    return _checked(read)


def _known(
    loose: LooseTable, columns: Mapping[str, str], meanings: Mapping[str, Mapping[str, str]]
) -> None:
    """Refuses words for what became of a part that nobody here can be asked the meaning of; too
    many of them are no such words."""
    told = distinct(loose.column(columns["outcome"]))
    faults = [
        Problem(FILE, "", shown(word) if word else words.NOTHING, words.A_WORD)
        for word in told
        if word not in meanings["outcome"]
    ]
    if faults and len(told) <= MOST_WORDS:
        raise InputError(faults)


def _checked(found: Imported) -> bytes:
    faults = (*found.unsettled, *found.problems)
    if faults:
        raise InputError(faults)
    return csv_of(found.rows)


def _with_headings(text: str) -> str:
    """Plain lines become a table; a text with headings of its own stays as it is."""
    lines = text.strip("\ufeff").splitlines()
    first = next(line for line in lines if line.strip())
    if not first.lstrip()[:1].isdigit():
        return text
    rows, faults = [], []
    for number, line in enumerate(lines, start=1):
        match = _LINE.match(line)
        if match:
            rows.append(f'"{match[1].strip()}";"{match[2].strip().replace(chr(34), "")}"')
        elif line.strip():
            where = words.LINE.format(number=number)
            faults.append(Problem(FILE, where, shown(line.strip()), words.A_LINE))
    if faults:
        raise InputError(faults)
    return "\n".join(['"age";"outcome"', *rows])
