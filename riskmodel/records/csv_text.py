"""The text of a CSV file as a sheet of cells, and cells as numbers, dates and words.

Read as people's spreadsheets write it: commas, semicolons or tabs, any line ends, a byte
order mark, blanks around cells, empty lines, any case in the header. What cannot be read
without doubt becomes a problem with its line and column.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from riskmodel.records.errors import InputError, Problem, did_you_mean, one_of, plain, shown
from riskmodel.records.inputs import CEILING
from riskmodel.records.scalars import UnreadableError, read_date, read_number, text_fault
from riskmodel.records.text import MAX_TABLE, decoded

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
LARGEST = CEILING
MOST_COLUMNS = 100
MOST_PROBLEMS = 10_000
"""Faults of a table that are told; at so many reading stops."""
_LINE_END = re.compile(r"\r\n|\r|\n")
_CSV_FAULTS = {  # by the beginning of the standard library's message
    "unexpected e": ("a quote that is never closed", "a closing quote"),
    "field larger": ("a cell of more than 131072 characters", "a short cell"),
    "',' expected": ("text after a closing quote", "a comma or the end of the line"),
    "';' expected": ("text after a closing quote", "a semicolon or the end of the line"),
}


@dataclass(frozen=True, slots=True)
class Sheet:
    """The cells of a file, blanks around them taken off.

    `rows` are those with one cell for each column of the `header`, each with its line.
    """

    file: str
    header: tuple[str, ...]
    header_line: int
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    semicolons: bool


def read_sheet(data: bytes, file: str, problems: list[Problem]) -> Sheet:
    """The sheet of a CSV file; rows of another length than the header go into `problems`.

    Raises InputError where there is no sheet at all: not text, empty, more than one kind of
    separator in the header, broken quotes, columns without a name or with the same name.
    """
    text = decoded(data, file, MAX_TABLE)
    separator = _separator(text, file)
    lines = _lines(text, separator, file)
    header_line, header = next(lines, (0, ()))
    if not header:
        raise InputError([Problem(file, "", "separators only", "a header and rows below it")])
    _check_header(header, file, header_line)
    rows = []
    for line, cells in lines:
        if len(cells) == len(header):
            rows.append((line, cells))
        else:
            expected = f"{_cells(len(header))}, as in the header"
            if separator == "," and len(cells) > len(header):
                expected += " (a decimal point is written 12.5, not 12,5)"
            problems.append(Problem(file, f"line {line}", _cells(len(cells)), expected))
            _refuse_too_many(problems, file, line)
    if not rows and not problems:
        raise InputError([Problem(file, "", "a header and nothing below it", "at least one row")])
    return Sheet(file, header, header_line, tuple(rows), separator == ";")


def _refuse_too_many(problems: list[Problem], file: str, line: int) -> None:
    """A file that is something else altogether: to tell all that is wrong takes gigabytes."""
    if len(problems) >= MOST_PROBLEMS:
        found = f"{MOST_PROBLEMS:,} faults by here; what follows was not read"
        raise InputError(
            [*problems, Problem(file, f"line {line}", found, "a table as it should be")]
        )


def _cells(count: int) -> str:
    return f"{count} cell" + ("" if count == 1 else "s")


def _separator(text: str, file: str) -> str:
    # Names of columns hold no separator, so the header tells which one the file uses.
    start = len(text) - len(text.lstrip())
    header = re.split(r"[\r\n]", text[start:], maxsplit=1)[0]
    present = [separator for separator in SEPARATORS if separator in header]
    if len(present) > 1:
        found = " and ".join(SEPARATORS[separator] for separator in present)
        where = f"line {len(re.findall(_LINE_END, text[:start])) + 1}"
        expected = one_of(SEPARATORS.values()) + " only"
        problem = Problem(file, where, f"{found} between the columns", expected)
        raise InputError([problem])
    return present[0] if present else ","


def _lines(text: str, separator: str, file: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Each line that is not empty, with its number; a quoted cell may run over several."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as fault:
            found, expected = _CSV_FAULTS.get(str(fault)[:12], (str(fault), "a table of cells"))
            raise InputError([Problem(file, f"line {line}", found, expected)]) from None
        if cells:
            stripped = tuple([cell.strip() for cell in cells])
            if any(stripped):
                yield line, stripped
        line = reader.line_num + 1


def _check_header(header: Sequence[str], file: str, line: int) -> None:
    if len(header) > MOST_COLUMNS:
        found = f"{len(header)} columns"
        raise InputError([Problem(file, f"line {line}", found, f"at most {MOST_COLUMNS}")])
    problems = []
    for number, name in enumerate(header, start=1):
        if not name:
            where = f"line {line}, column {number}"
            problems.append(Problem(file, where, "a column without a name", "a name for each"))
    lower = [name.lower() for name in header]
    for name in sorted({name for name in lower if name and lower.count(name) > 1}):
        found = f"the column {shown(name)} {lower.count(name)} times"
        problems.append(Problem(file, f"line {line}", found, "each column once"))
    if problems:
        raise InputError(problems)


class RowReader:
    """Reads the cells of one row by the name of their column and notes what is wrong.

    Each method returns None where the cell is empty, the column missing or the cell wrong;
    `required` makes an empty cell a problem.
    """

    def __init__(self, sheet: Sheet, columns: Mapping[str, int], problems: list[Problem]) -> None:
        self._sheet = sheet
        self._columns = columns
        self._problems = problems
        self._line = 0
        self._cells: tuple[str, ...] = ()

    def turn_to(self, line: int, cells: tuple[str, ...]) -> None:
        self._line, self._cells = line, cells

    def note(self, column: str, found: str, expected: str) -> None:
        where = f"line {self._line}, column {column}"
        self._problems.append(Problem(self._sheet.file, where, found, expected))
        _refuse_too_many(self._problems, self._sheet.file, self._line)

    def cell(self, column: str) -> str:
        index = self._columns.get(column)
        return "" if index is None else self._cells[index]

    def number(
        self,
        column: str,
        *,
        required: bool = False,
        above: float | None = None,
        low: float = 0.0,
        prefix: str = "",
    ) -> float | None:
        """A number of `low` or more (or above `above`), after `prefix` where one is given."""
        text = self.cell(column)
        if not text:
            if required:
                self._note_empty(column, f"a number {_bound(above, low)}")
            return None
        try:
            number = text.removeprefix(prefix)
            value = read_number(number, semicolons=self._sheet.semicolons)
        except UnreadableError as fault:
            vague = str(fault) == "a number"
            self.note(
                column, shown(text), f"a number {_bound(above, low)}" if vague else str(fault)
            )
            return None
        if value > LARGEST:
            self.note(column, shown(text), f"a number not larger than {plain(LARGEST)}")
        elif value < low or (above is not None and value <= above):
            self.note(column, shown(text), f"a number {_bound(above, low)}")
        else:
            return value + 0.0  # no negative zero
        return None

    def choice(self, column: str, choices: Sequence[str], *, required: bool = False) -> str | None:
        text = self.cell(column)
        if text in choices:
            return text
        if text:
            self.note(column, shown(text), one_of(choices) + did_you_mean(text, choices))
        elif required:
            self._note_empty(column, one_of(choices))
        return None

    def date(self, column: str) -> str | None:
        text = self.cell(column)
        if not text:
            return None
        try:
            return read_date(text).isoformat()
        except UnreadableError as fault:
            self.note(column, shown(text), str(fault))
            return None

    def word(self, column: str) -> str | None:
        text = self.cell(column)
        fault = text_fault(text, in_table=True)
        if fault is not None:
            self.note(column, shown(text), fault)
            return None
        return text or None

    def _note_empty(self, column: str, expected: str) -> None:
        if column in self._columns:  # a missing column is told once, with the header
            self.note(column, "an empty cell", expected)


def _bound(above: float | None, low: float) -> str:
    return f"of {plain(low)} or more" if above is None else f"above {plain(above)}"


def written(header: Sequence[str], rows: Sequence[Sequence[str]]) -> bytes:
    """A CSV file in UTF-8 with commas and plain line ends."""
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return sheet.getvalue().encode("utf-8")
