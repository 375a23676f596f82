"""Tables of people's own for the tests: read, and taken in as the guesses would have it."""

from __future__ import annotations

from riskmodel.records.inputs import Unit
from riskmodel.records.loose_cells import Decimal
from riskmodel.records.loose_guess import LEAVE_OUT, distinct, guessed_columns, guessed_word
from riskmodel.records.loose_table import Choices, Imported, imported
from riskmodel.records.loose_text import LooseTable, read_loose


def read(text: str, encoding: str = "utf-8") -> LooseTable:
    return read_loose(text.encode(encoding), "mine.csv")


def choices(
    loose: LooseTable, decimal: Decimal = "point", unit: Unit = "km", **more: object
) -> Choices:
    """What the guesses would choose, words included."""
    columns = guessed_columns(loose.headings)
    words = {
        name: {
            word: guessed_word(name, word, columns[name]) or LEAVE_OUT
            for word in distinct(loose.column(columns[name]))
        }
        for name in ("outcome", "cause", "why")
        if name in columns
    }
    values: dict[str, object] = {"columns": columns, "words": words, **more}
    return Choices(table_unit=unit, decimal=decimal, **values)  # type: ignore[arg-type]


def taken(text: str, unit: Unit = "km", **more: object) -> Imported:
    loose = read(text)
    return imported(loose, choices(loose, **more), unit)  # type: ignore[arg-type]
