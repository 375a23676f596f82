"""Used-oil samples of other engines from and to CSV."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.records import oil_table
from riskmodel.records.csv_text import RowReader, read_sheet, written
from riskmodel.records.errors import InputError, Problem, by_line, plain
from riskmodel.records.oil_table import cell_of, check_order, header_of, named_columns, sample_in
from riskmodel.records.tables import FleetSamples, OilSample

ENGINE = "engine"
COLUMNS = (*oil_table.COLUMNS, ENGINE)


def read_fleet(
    data: bytes, file: str = "fleet.csv", elements: Sequence[str] | None = None
) -> FleetSamples:
    """The samples of a CSV file, in their order.

    Columns as those of one engine's samples (`riskmodel.records.oil_table.read_samples`) and
    engine, which names the engine of each row by any word or number. The samples of one engine
    stand oldest first; those of others may stand between them.

    Raises InputError with every problem of the file, each with its line and column: besides
    those of one engine's samples a row without an engine, a sample that stands there twice, and
    oil older than the meter it was drawn at.
    """
    problems: list[Problem] = []
    sheet = read_sheet(data, file, problems)
    columns = named_columns(sheet, elements, problems, COLUMNS)
    row = RowReader(sheet, columns, problems)
    samples: list[OilSample] = []
    engines: list[str] = []
    for line, cells in sheet.rows:
        row.turn_to(line, cells)
        if ENGINE in columns and not row.cell(ENGINE):
            row.note(ENGINE, "an empty cell", "the engine that the sample is of, by any name")
        engines.append(row.word(ENGINE) or "")
        sample = sample_in(row, columns, line, COLUMNS)
        samples.append(sample)
        _check_oil_age(row, sample)
    found = FleetSamples(tuple(samples), tuple(engines), tuple(columns))
    for name, rows in found.by_engine().items():
        if name:  # those without a name are of no one engine
            check_order(rows, problems, file)
            _check_repeats(rows, problems, file)
    if problems:
        raise InputError(by_line(problems))
    return found


def _check_oil_age(row: RowReader, sample: OilSample) -> None:
    at = sample.age if sample.reading is None else sample.reading
    if at is not None and sample.oil_age > at:
        what = "the part's age" if sample.reading is None else "the meter"
        expected = f"not more than {what} at the sample, {plain(at)}"
        row.note("oil_age", plain(sample.oil_age), expected)


def _check_repeats(rows: Sequence[OilSample], problems: list[Problem], file: str) -> None:
    """A sample entered twice would count twice; two of one oil differ in something."""
    first: dict[object, int] = {}
    for sample in rows:
        content = (
            sample.reading,
            sample.age,
            sample.oil_age,
            sample.date,
            sample.top_up,
            sample.lab,
            tuple(sorted(sample.elements.items())),
        )
        if content in first:
            found = f"the sample on line {first[content]} once more"
            problems.append(Problem(file, f"line {sample.line}", found, "each sample once"))
        first.setdefault(content, sample.line)


def write_fleet(fleet: FleetSamples) -> bytes:
    """The CSV file of the samples: the columns entered, and those not at their default."""
    header = header_of(fleet.rows, fleet.columns)
    if ENGINE not in header:
        header.insert(0, ENGINE)
    return written(
        header,
        [
            [name if column == ENGINE else cell_of(row, column) for column in header]
            for name, row in zip(fleet.engine, fleet.rows, strict=True)
        ],
    )
