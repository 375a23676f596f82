"""Used-oil samples as rows of cells that are still being worked on.

As with the life records nothing is checked here: the rows are written as a file and read like any
other (`riskmodel.records.oil_table.read_samples`).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from riskmodel.records.csv_text import written
from riskmodel.records.oil_table import COLUMNS, write_samples
from riskmodel.records.row_table import RowTable, table
from riskmodel.records.tables import OilSamples

METERS = ("reading", "age")
"""The two ways to say when a sample was drawn; a table holds one of them."""


def rows_of_samples(samples: OilSamples | None, elements: Sequence[str]) -> RowTable:
    """The rows of samples, as their file would be written, with a column for every one of
    `elements` and every column of the contract; without samples a table with no rows."""
    header: list[str] = []
    rows: list[list[str]] = []
    if samples is not None:
        text = write_samples(samples).decode("utf-8")
        header, *rows = csv.reader(io.StringIO(text, newline=""))
    meter = "age" if "age" in header else "reading"
    measured_ones = [*elements, *(n for n in header if n not in COLUMNS and n not in elements)]
    columns = [meter, "oil_age", "date", *measured_ones, "top_up", "lab"]
    places = [header.index(name) if name in header else None for name in columns]
    return table(columns, [["" if p is None else row[p] for p in places] for row in rows])


def meter_of(held: RowTable) -> str:
    """The column that says when a sample was drawn."""
    return "age" if "age" in held.columns else "reading"


def measured(held: RowTable) -> tuple[str, ...]:
    """The columns of elements."""
    return tuple(name for name in held.columns if name not in COLUMNS)


def complete_samples(held: RowTable) -> tuple[RowTable, dict[int, tuple[str, ...]]]:
    """The rows that count, and by number the columns that the others still miss.

    A new row is complete once it says when the sample was drawn, how old the oil was, and what
    one element came to ("" among its missing columns stands for that); it then takes its place
    by the meter, for a file holds the oldest sample first. Rows that were there before count as
    they stand, where they stand, unless nothing is left in them.
    """
    needed = (meter_of(held), "oil_age")
    elements = measured(held)
    counted: list[tuple[tuple[str, ...], int]] = []
    added: list[tuple[tuple[str, ...], int]] = []
    missing: dict[int, tuple[str, ...]] = {}
    for row, number in zip(held.rows, held.numbers, strict=True):
        cells = dict(zip(held.columns, row, strict=True))
        lacks = tuple(name for name in needed if not cells[name])
        if not any(cells[name] for name in elements):
            lacks = (*lacks, "")
        if not any(row) or (number in held.new and lacks):
            missing[number] = lacks
        elif number in held.new:
            added.append((row, number))
        else:
            counted.append((row, number))
    for row, number in added:
        counted.insert(_place(held, counted, row), (row, number))
    rows, numbers = tuple(row for row, _ in counted), tuple(number for _, number in counted)
    return RowTable(held.columns, rows, numbers, held.new.intersection(numbers)), missing


def csv_of_samples(held: RowTable, keep: Sequence[str] = ()) -> bytes:
    """The CSV file of the rows: the columns to `keep` in their order, then the others. Of these
    the ones that say nothing are left out."""
    needed = (meter_of(held), "oil_age")
    names = [name for name in keep if name in held.columns]
    names += [
        name
        for name in held.columns
        if name not in names and (name in needed or any(held.column(name)))
    ]
    columns = [held.column(name) for name in names]
    return written(names, list(zip(*columns, strict=True)))


def _place(
    held: RowTable, counted: Sequence[tuple[tuple[str, ...], int]], row: Sequence[str]
) -> int:
    """Before the first sample with a higher meter; last where either is no number."""
    at = held.columns.index(meter_of(held))
    new = _number(row[at])
    if new is None:
        return len(counted)
    for place, (other, _) in enumerate(counted):
        old = _number(other[at])
        if old is not None and old > new:
            return place
    return len(counted)


def _number(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None
