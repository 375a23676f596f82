"""Faults of the oil samples, told by row and heading as they stand in the table."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import pandas as pd
import streamlit as st

from riskmodel.page import markup
from riskmodel.page.records_faults import MOST
from riskmodel.records.errors import Problem
from riskmodel.records.inputs import Unit
from riskmodel.words import oil_entry as words
from riskmodel.words import records_entry, screen

_LINE = re.compile(r"line (\d+)(?:, column (\S+))?")


def split(
    problems: Sequence[Problem], file: str
) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """The problems of the samples, and all others."""
    own = tuple(p for p in problems if p.file == file or p.where.endswith("oil.samples"))
    return own, tuple(problem for problem in problems if problem not in own)


def announce(problems: Sequence[Problem]) -> None:
    """Tells at the top of the page that there are faults further down."""
    if problems:
        st.error(words.NOT_TAKEN)


def show(problems: Sequence[Problem], numbers: Sequence[int], unit: Unit) -> None:
    """The faults under the table; `numbers` are the rows' own, in the order of the file."""
    if not problems:
        return
    st.error(records_entry.FAULTS)
    # the first line of the file is its header
    named = {line: str(number) for line, number in enumerate(numbers, start=2)}
    st.html(markup.table(pd.DataFrame([_row(p, named, unit) for p in problems[:MOST]])))
    if len(problems) > MOST:
        st.html(markup.paragraph(records_entry.more_faults(len(problems) - MOST)))


def _row(problem: Problem, named: Mapping[int, str], unit: Unit) -> dict[str, str]:
    place = _LINE.match(problem.where)
    row, column = records_entry.WHOLE, ""
    if place:
        row, column = named.get(int(place[1]), records_entry.WHOLE), place[2] or ""
    return {
        records_entry.FAULT_ROW: row,
        records_entry.FAULT_COLUMN: words.heading(column, unit) if column else "",
        screen.PROBLEM_FOUND: words.plainly(problem.found, unit, named),
        screen.PROBLEM_EXPECTED: words.plainly(problem.expected, unit, named),
    }
