"""Used-oil samples from and to CSV."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from riskmodel.records.csv_text import RowReader, Sheet, read_sheet, written
from riskmodel.records.errors import (
    InputError,
    Problem,
    by_line,
    closest,
    did_you_mean,
    plain,
    shown,
)
from riskmodel.records.scalars import SYMBOL
from riskmodel.records.tables import OilSample, OilSamples, Reading

COLUMNS = ("reading", "age", "oil_age", "date", "top_up", "lab")


def read_samples(
    data: bytes, file: str = "oil.csv", elements: Sequence[str] | None = None
) -> OilSamples:
    """The samples of a CSV file, in their order.

    Columns reading (meter) or age, oil_age; optionally date, top_up, lab; and one for each
    element in ppm: a number, "<n", or empty where it was not measured. `elements` are the
    declared symbols; a column for any other is a problem. None takes every other column for
    an element.

    Raises InputError with every problem of the file, each with its line and column.
    """
    problems: list[Problem] = []
    sheet = read_sheet(data, file, problems)
    columns = named_columns(sheet, elements, problems)
    row = RowReader(sheet, columns, problems)
    samples = []
    for line, cells in sheet.rows:
        row.turn_to(line, cells)
        samples.append(sample_in(row, columns, line))
    check_order(samples, problems, file)
    if problems:
        raise InputError(by_line(problems))
    return OilSamples(tuple(samples), tuple(columns))


def sample_in(
    row: RowReader, columns: Iterable[str], line: int, known: Sequence[str] = COLUMNS
) -> OilSample:
    """The sample of one row; all columns but the `known` ones are elements."""
    measured = [name for name in columns if name not in known]
    meter = "age" if "age" in columns else "reading"
    at = row.number(meter, required=True)
    oil_age = row.number("oil_age", required=True, above=0.0)
    date, top_up, lab = row.date("date"), row.number("top_up"), row.word("lab")
    readings = {name: _reading(row, name) for name in measured}
    if measured and not any(row.cell(name) for name in measured):
        row.note(measured[0], "no element measured", "at least one in each sample")
    return OilSample(
        reading=at if meter == "reading" else None,
        age=at if meter == "age" else None,
        oil_age=oil_age if oil_age is not None else 0.0,
        date=date,
        top_up=top_up if top_up is not None else 0.0,
        lab=lab or "",
        elements={name: r for name, r in readings.items() if r is not None},
        line=line,
    )


def named_columns(
    sheet: Sheet,
    elements: Sequence[str] | None,
    problems: list[Problem],
    known: Sequence[str] = COLUMNS,
) -> dict[str, int]:
    """Each known column and its place; elements are spelt as they were declared. What stands
    in the header and should not, and the columns missed, go into `problems`."""
    where = f"line {sheet.header_line}"
    declared = {symbol.lower(): symbol for symbol in elements or ()}
    columns: dict[str, int] = {}
    meant = set()
    for index, name in enumerate(sheet.header):
        found = f"the column {shown(name)}"
        near = closest(name, known, cutoff=0.85)  # below "Ag" beside "age"
        if name.lower() in known:
            columns[name.lower()] = index
        elif name.lower() in declared:
            columns[declared[name.lower()]] = index
        elif near is not None:
            meant.add(near)
            problems.append(
                Problem(sheet.file, where, found, f"the column {near}, if that is meant")
            )
        elif elements is not None:
            problems.append(Problem(sheet.file, where, found, _undeclared(name, elements, known)))
        elif SYMBOL.fullmatch(name):
            columns[name] = index
        else:
            problems.append(Problem(sheet.file, where, found, "a chemical symbol, such as Fe"))
    here = ", ".join(sheet.header)
    if "reading" in columns and "age" in columns:
        problems.append(Problem(sheet.file, where, "both reading and age", "one of the two"))
    if not ({"reading", "age"} & (columns.keys() | meant)):
        found = f"no column reading or age, but {here}"
        problems.append(Problem(sheet.file, where, found, "a column reading (meter) or age"))
    for name in ("oil_age", *(name for name in known if name not in COLUMNS)):
        if name not in columns and name not in meant:
            found = f"no column {name}, but {here}"
            problems.append(Problem(sheet.file, where, found, f"a column {name}"))
    if not problems and not any(name not in known for name in columns):
        found = f"no element, but {here}"
        problems.append(Problem(sheet.file, where, found, "a column for at least one element"))
    return columns


def _undeclared(name: str, elements: Sequence[str], columns: Sequence[str]) -> str:
    """What is expected of a column that is no declared element."""
    stem = re.match(r"[A-Za-z]*", name)  # Fe of "Fe (ppm)"
    near = closest(stem[0], elements, cutoff=1.0) if stem else None
    hint = f" (did you mean {near}?)" if near else did_you_mean(name, [*elements, *columns])
    if hint:
        return f"an element that case.toml declares{hint}"
    known = ", ".join(elements) if elements else "none"
    return (
        f"an element that case.toml declares ({known}), or an [[oil.element]] there "
        f"with symbol = {shown(name)}"
    )


def _reading(row: RowReader, name: str) -> Reading | None:
    text = row.cell(name)
    if not text.startswith("<"):
        value = row.number(name)
        return None if value is None else Reading(value)
    value = row.number(name, above=0.0, prefix="<")
    return None if value is None else Reading(value, below=True)


def check_order(samples: Sequence[OilSample], problems: list[Problem], file: str) -> None:
    """Samples of one engine stand oldest first, by the meter and by the calendar."""
    last_at: tuple[float, int] | None = None
    last_date: tuple[str, int] | None = None
    for sample in samples:
        meter = "age" if sample.reading is None else "reading"
        at = sample.age if sample.reading is None else sample.reading
        if at is not None:
            if last_at is not None and at < last_at[0]:
                found = f"{plain(at)} after {plain(last_at[0])} on line {last_at[1]}"
                where = f"line {sample.line}, column {meter}"
                problems.append(Problem(file, where, found, "the oldest sample first"))
            last_at = (at, sample.line)
        if sample.date is not None:
            if last_date is not None and sample.date < last_date[0]:
                found = f"{sample.date} after {last_date[0]} on line {last_date[1]}"
                where = f"line {sample.line}, column date"
                problems.append(Problem(file, where, found, "dates that do not run backwards"))
            last_date = (sample.date, sample.line)


def write_samples(samples: OilSamples) -> bytes:
    """The CSV file of samples: the columns entered, and those not at their default."""
    header = header_of(samples.rows, samples.columns)
    return written(header, [[cell_of(row, name) for name in header] for row in samples.rows])


def header_of(rows: Sequence[OilSample], columns: Sequence[str]) -> list[str]:
    """The `columns` entered, then those that the rows need besides."""
    filled = {
        "reading": any(row.reading is not None for row in rows),
        "age": any(row.age is not None for row in rows),
        "oil_age": True,
        "date": any(row.date is not None for row in rows),
        "top_up": any(row.top_up for row in rows),
        "lab": any(row.lab for row in rows),
    }
    header = [*columns]
    header += [name for name in COLUMNS if filled[name] and name not in header]
    for row in rows:
        header += [name for name in row.elements if name not in header]
    return header


def cell_of(row: OilSample, name: str) -> str:
    """One cell of a sample's row."""
    if name not in COLUMNS:
        reading = row.elements.get(name)
        return "" if reading is None else ("<" if reading.below else "") + plain(reading.value)
    value = getattr(row, name)
    if value is None or (name == "top_up" and value == 0):
        return ""
    return plain(value) if isinstance(value, float) else str(value)
