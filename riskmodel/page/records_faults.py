"""Faults of the life records, told by row and heading as they stand in the table."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import pandas as pd
import streamlit as st

from riskmodel.page import markup
from riskmodel.records.errors import Problem
from riskmodel.records.inputs import Unit
from riskmodel.words import records_entry as words
from riskmodel.words import screen

_LINE = re.compile(r"line (\d+)(?:, column (\S+))?")
_LINES = re.compile(r"\(lines? (\d+(?:, \d+)*)")
MOST = 50
"""Faults that are spelled out; the rest are counted."""


def split(
    problems: Sequence[Problem], file: str
) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """The problems of the records (that there are none among them), and all others."""
    own = tuple(p for p in problems if p.file == file or p.where.endswith("life.records"))
    return own, tuple(problem for problem in problems if problem not in own)


def announce(problems: Sequence[Problem]) -> None:
    """Tells at the top of the page that there are faults further down."""
    if problems:
        st.error(words.NOT_TAKEN)


def show(problems: Sequence[Problem], numbers: Sequence[int], unit: Unit) -> None:
    """The faults under the table; `numbers` are the rows' own, in the order of the file."""
    if not problems:
        return
    st.error(words.FAULTS)
    rows = [_row(problem, _named(numbers), unit) for problem in problems[:MOST]]
    st.html(markup.table(pd.DataFrame(rows)))
    if len(problems) > MOST:
        st.html(markup.paragraph(words.more_faults(len(problems) - MOST)))


def _row(problem: Problem, number: Callable[[int], str], unit: Unit) -> dict[str, str]:
    place = _LINE.match(problem.where)
    row, column = words.WHOLE, ""
    if place:
        row, column = number(int(place[1])), place[2] or ""
    found = _LINES.sub(lambda match: words.rows_in(_each(match[1], number)), problem.found)
    return {
        words.FAULT_ROW: row,
        words.FAULT_COLUMN: words.heading(column, unit) if column else "",
        screen.PROBLEM_FOUND: words.plainly(found, column, unit),
        screen.PROBLEM_EXPECTED: words.plainly(problem.expected, column, unit),
    }


def _named(numbers: Sequence[int]) -> Callable[[int], str]:
    """The number of the row on a line of the file, whose first line is its header."""

    def number(line: int) -> str:
        place = line - 2
        return str(numbers[place]) if 0 <= place < len(numbers) else words.WHOLE

    return number


def _each(lines: str, number: Callable[[int], str]) -> list[str]:
    return [number(int(line)) for line in lines.split(",")]
