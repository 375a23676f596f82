"""Life records as rows of cells that are still being worked on.

Every cell is the text that the CSV file of the case would hold, "" where nothing was
entered. Nothing is checked here: the rows are written as a file and read like any other
(`riskmodel.records.life_table.read_records`), so that one validator rules.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from riskmodel.records.csv_text import written
from riskmodel.records.life_table import COLUMNS, REQUIRED, write_records
from riskmodel.records.scalars import looks_like_number
from riskmodel.records.tables import LifeRecords

UNKNOWN = "unknown"
"""The word for a trait that nobody knows."""


@dataclass(frozen=True, slots=True)
class RowTable:
    """Rows of cells under the names of their columns.

    `numbers` are what the rows are called, 1 for the first; `new` names those that were
    added since and may not be complete yet.
    """

    columns: tuple[str, ...] = REQUIRED
    rows: tuple[tuple[str, ...], ...] = ()
    numbers: tuple[int, ...] = ()
    new: frozenset[int] = frozenset()

    def __len__(self) -> int:
        return len(self.rows)

    @property
    def traits(self) -> tuple[str, ...]:
        return tuple(name for name in self.columns if name not in COLUMNS)

    def column(self, name: str) -> tuple[str, ...]:
        """The cells of a column; empty ones where there is no such column."""
        if name not in self.columns:
            return ("",) * len(self)
        place = self.columns.index(name)
        return tuple(row[place] for row in self.rows)

    def of_words(self, trait: str) -> bool:
        """Whether a trait is told in words: some cell of it is no number."""
        return any(cell and not looks_like_number(cell) for cell in self.column(trait))


def rows_of(records: LifeRecords | None) -> RowTable:
    """The rows of life records, as their file would be written; none without records."""
    if records is None:
        return RowTable()
    text = write_records(records).decode("utf-8")
    header, *rows = csv.reader(io.StringIO(text, newline=""))
    return table(header, rows)


def table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> RowTable:
    """Rows that are all complete, numbered from 1."""
    held = tuple(tuple(row) for row in rows)
    return RowTable(tuple(columns), held, tuple(range(1, len(held) + 1)))


def edited(
    held: RowTable,
    cells: Mapping[int, Mapping[str, str]],
    added: Sequence[Mapping[str, str]],
    deleted: Collection[int],
) -> RowTable:
    """The table with cells changed (by place from 0 and name), rows added and rows deleted.

    Rows keep their numbers; added ones are numbered on from the last.
    """
    named = dict.fromkeys(name for row in (*cells.values(), *added) for name in row)
    columns = (*held.columns, *(name for name in named if name not in held.columns))
    blank = ("",) * (len(columns) - len(held.columns))
    rows, numbers = [], []
    for place, (row, number) in enumerate(zip(held.rows, held.numbers, strict=True)):
        if place in deleted:
            continue
        changes = {name: _one_line(cell) for name, cell in cells.get(place, {}).items()}
        was = dict(zip(columns, (*row, *blank), strict=True))
        rows.append(tuple(changes.get(name, was[name]) for name in columns))
        numbers.append(number)
    first = max(held.numbers, default=0) + 1
    for number, row_added in enumerate(added, start=first):
        rows.append(tuple(_one_line(row_added.get(name, "")) for name in columns))
        numbers.append(number)
    new = held.new.intersection(numbers) | set(range(first, first + len(added)))
    return RowTable(columns, tuple(rows), tuple(numbers), frozenset(new))


def renumbered(held: RowTable) -> RowTable:
    """The same rows, called 1, 2, 3, ... again."""
    numbers = tuple(range(1, len(held) + 1))
    new = {now for now, was in zip(numbers, held.numbers, strict=True) if was in held.new}
    return replace(held, numbers=numbers, new=frozenset(new))


def joined(first: RowTable, second: RowTable) -> RowTable:
    """The rows of both. A trait of words that one of them lacks is "unknown" there."""
    columns = (*first.columns, *(name for name in second.columns if name not in first.columns))

    def cells(part: RowTable, other: RowTable) -> list[tuple[str, ...]]:
        missing = {
            name: UNKNOWN if name not in COLUMNS and other.of_words(name) else ""
            for name in columns
            if name not in part.columns
        }
        by_column = [
            (missing[name],) * len(part) if name in missing else part.column(name)
            for name in columns
        ]
        return list(zip(*by_column, strict=True))

    rows = (*cells(first, second), *cells(second, first))
    numbers = tuple(range(1, len(rows) + 1))
    new = renumbered(first).new | {number + len(first) for number in renumbered(second).new}
    return RowTable(columns, rows, numbers, frozenset(new))


def complete(
    held: RowTable, hidden: Collection[str] = ()
) -> tuple[RowTable, dict[int, tuple[str, ...]]]:
    """The rows that count, and by number the columns that the others still miss.

    A new row is complete once it has an age, an outcome and every trait; a `hidden` trait of
    words is "unknown" there. A row that is empty altogether misses everything and counts
    never. Rows that were there before count as they stand: what they miss is a fault.
    """
    needed = [name for name in held.columns if name in REQUIRED or name not in COLUMNS]
    unknown = {name for name in held.traits if name in hidden and held.of_words(name)}
    rows, numbers = [], []
    missing: dict[int, tuple[str, ...]] = {}
    for row, number in zip(held.rows, held.numbers, strict=True):
        if not any(row):
            missing[number] = tuple(needed)
            continue
        cells = dict(zip(held.columns, row, strict=True))
        if number in held.new:
            cells |= {name: UNKNOWN for name in unknown if not cells[name]}
            lacks = tuple(name for name in needed if not cells[name])
            if lacks:
                missing[number] = lacks
                continue
        rows.append(tuple(cells.values()))
        numbers.append(number)
    counted = RowTable(held.columns, tuple(rows), tuple(numbers), held.new.intersection(numbers))
    return counted, missing


def known_traits(held: RowTable, traits: Mapping[str, float | str]) -> dict[str, float | str]:
    """Those of an engine's traits that the rows know: a column for each, and its word in it."""
    return {
        name: value
        for name, value in traits.items()
        if name in held.traits
        and (value in held.column(name) if held.of_words(name) else not isinstance(value, str))
    }


def csv_of(held: RowTable, keep: Collection[str] = REQUIRED) -> bytes:
    """The CSV file of the rows. Optional columns of the contract that say nothing are left
    out, unless they are in `keep`."""
    names = [
        name
        for name in held.columns
        if name in keep or name in REQUIRED or name not in COLUMNS or any(held.column(name))
    ]
    columns = [held.column(name) for name in names]
    return written(names, list(zip(*columns, strict=True)))


def _one_line(cell: str) -> str:
    return " ".join(cell.split())
