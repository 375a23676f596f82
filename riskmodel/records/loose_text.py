"""A table of somebody's own as a sheet of texts: any headings, any separator.

What a spreadsheet or another program wrote is taken as it comes; nothing is interpreted yet.
Every cell stays the text that it is (a cell that a spreadsheet would run as a formula too).
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.records.errors import InputError, Problem
from riskmodel.records.text import too_large

MAX_LOOSE = 5_000_000
"""Bytes of a table that is brought in by choosing columns (judgement: some 100,000 rows)."""
MOST_COLUMNS = 200
SEPARATORS = (",", ";", "\t", "|")
_SAMPLE = 200
"""Lines by which the separator is guessed."""
_DECLARED = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)
_NO_TEXT = {
    b"PK": "a spreadsheet workbook or a zip file",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet workbook",
    b"%PDF": "a PDF file",
}
_EXPECTED = "a table saved as text: CSV, separated by commas, semicolons or tabs"


@dataclass(frozen=True, slots=True)
class LooseTable:
    """The cells of a table under its own headings, none of them twice and none empty.

    `rows` have one cell for each heading, each row with its line in the file; `ragged` are
    the lines with another number of cells, which no heading can be given to.
    """

    file: str
    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    ragged: tuple[tuple[int, int], ...]
    separator: str
    encoding: str

    def column(self, heading: str) -> tuple[str, ...]:
        place = self.headings.index(heading)
        return tuple(cells[place] for _, cells in self.rows)

    def ragged_problems(self) -> list[Problem]:
        wide = len(self.headings)
        return [
            Problem(
                self.file, f"line {line}", f"{count} cells", f"{wide} cells, one for each heading"
            )
            for line, count in self.ragged
        ]


def read_loose(data: bytes, file: str, separator: str | None = None) -> LooseTable:
    """The table in a text file; `separator` is guessed where it is not given.

    UTF-8 with or without a byte order mark, UTF-16 with one, otherwise Windows-1252. The first
    line that is not empty holds the headings. Empty lines and empty cells past the last
    heading are passed over.

    Raises InputError for a file that is too large, no text, empty, without rows or with a
    quote that is never closed.
    """
    if len(data) > MAX_LOOSE:
        raise InputError([too_large(file, len(data), MAX_LOOSE)])
    text, encoding = _decoded(data, file)
    if not text.strip():
        raise InputError([Problem(file, "", "an empty file", "headings and rows below them")])
    if not text.strip("".join(SEPARATORS) + " \r\n"):
        found = "separators and nothing else"
        raise InputError([Problem(file, "", found, "headings and rows below them")])
    skipped = 0
    if declared := _DECLARED.match(text):
        text, skipped = text[declared.end() :], 1
        separator = separator or declared[1]
    separator = separator or _guessed(text)
    lines = _lines(text, separator, file, skipped)
    header_line, header = next(lines, (0, ()))
    wide = len(header)
    while wide and not header[wide - 1]:  # empty headings at the end, unless something is under
        wide -= 1
    body = list(lines)
    wide = max(wide, _filled_to(body, len(header)))
    if not body or not wide:
        found = "one line of headings and nothing below it"
        raise InputError([Problem(file, f"line {header_line}", found, "at least one row")])
    if wide > MOST_COLUMNS:
        found = f"{wide} columns"
        raise InputError([Problem(file, f"line {header_line}", found, f"at most {MOST_COLUMNS}")])
    rows, ragged = [], []
    for line, cells in body:
        if len(cells) < wide or any(cells[wide:]):
            ragged.append((line, len(cells)))
        else:
            rows.append((line, cells[:wide]))
    return LooseTable(
        file, _headings(header[:wide]), tuple(rows), tuple(ragged), separator, encoding
    )


def _decoded(data: bytes, file: str) -> tuple[str, str]:
    for start, found in _NO_TEXT.items():
        if data.startswith(start):
            raise InputError([Problem(file, "", found, _EXPECTED)])
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        candidates: tuple[str, ...] = ("utf-16",)
    elif 0 in data:
        raise InputError([Problem(file, "", "bytes that are no text", _EXPECTED)])
    else:
        candidates = ("utf-8-sig", "cp1252")
    for encoding in candidates:
        try:
            return data.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    raise InputError([Problem(file, "", "bytes that are no text", _EXPECTED)])


def _guessed(text: str) -> str:
    """The separator that cuts most of the first lines into as many cells as the headings,
    and those into most."""
    start = "\n".join(text.lstrip("\r\n").splitlines()[:_SAMPLE])

    def score(separator: str) -> tuple[float, int]:
        try:
            rows = [
                row
                for row in csv.reader(io.StringIO(start, newline=""), delimiter=separator)
                if any(cell.strip() for cell in row)
            ]
        except csv.Error:
            return 0.0, 0
        wide = len(rows[0]) if rows else 0
        if wide < 2:
            return 0.0, 0
        usual, often = Counter(len(row) for row in rows).most_common(1)[0]
        return (often / len(rows) if usual == wide else 0.5 * often / len(rows)), wide

    best = max(SEPARATORS, key=score)
    return best if score(best)[1] else ","


def _lines(
    text: str, separator: str, file: str, skipped: int
) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Each line that is not empty with its number; a quoted cell may run over several."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=False)
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            break
        except csv.Error:
            found = "a cell of more than 131,072 characters"
            where = f"line {line + skipped}"
            problem = Problem(file, where, found, "a closing quote further up, or a short cell")
            raise InputError([problem]) from None
        stripped = tuple([" ".join(cell.split()) for cell in cells])
        if any(stripped):
            yield line + skipped, stripped
        line = reader.line_num + 1
    if _unclosed(text, separator):
        problem = Problem(file, "", "a quote that is never closed", "a closing quote")
        raise InputError([problem])


def _unclosed(text: str, separator: str) -> bool:
    try:
        for _ in csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True):
            pass
    except csv.Error as fault:
        return str(fault).startswith("unexpected e")
    return False


def _filled_to(rows: list[tuple[int, tuple[str, ...]]], header: int) -> int:
    """How many columns below the headings hold anything in most rows."""
    filled = [
        place
        for place in range(header)
        if any(len(cells) > place and cells[place] for _, cells in rows)
    ]
    return max(filled, default=-1) + 1


def _headings(header: tuple[str, ...]) -> tuple[str, ...]:
    named: list[str] = []
    for place, name in enumerate(header, start=1):
        base = name or f"column {place}"
        found, again = base, 2
        while found.lower() in (other.lower() for other in named):
            found, again = f"{base} ({again})", again + 1
        named.append(found)
    return tuple(named)
