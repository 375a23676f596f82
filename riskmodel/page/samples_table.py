"""The oil samples as a table that can be changed on the page.

The editor keeps the changes against the rows of the case as it was opened, which stay the same
until another case is opened or all changes are taken back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, cast

import pandas as pd
import streamlit as st

from riskmodel.page import markup, samples_faults, state
from riskmodel.page.records_table import MOST_ROWS
from riskmodel.records.case import Case
from riskmodel.records.errors import Problem, plain
from riskmodel.records.files import SAMPLES_FILE
from riskmodel.records.inputs import Unit
from riskmodel.records.oil_table import COLUMNS
from riskmodel.records.row_table import RowTable, edited
from riskmodel.records.sample_rows import (
    METERS,
    complete_samples,
    csv_of_samples,
    measured,
    rows_of_samples,
)
from riskmodel.words import oil_entry as words
from riskmodel.words import screen

_NUMBERS = (*METERS, "oil_age", "top_up")
_HEIGHT = 420
_NARROW = 92  # a metal with its unit


@dataclass(frozen=True, slots=True)
class Entered:
    """The samples as they stand on the page.

    `table` are all rows, `counted` those complete in the order of the file, `missing` what the
    others still need, by row. `changes` and `files` state them anew to the case; both are empty
    where they are those of the case opened.
    """

    table: RowTable
    counted: RowTable
    missing: Mapping[int, Sequence[str]]
    file: str
    changes: dict[str, object] = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)


def entered(case: Case) -> Entered:
    """The samples of the open case with what was changed since it was opened."""
    now, opened = _now(case), _opened(case)
    file = case.oil.samples or _free_name(case)
    if now is opened:
        return Entered(now, now, {}, file)
    counted, missing = complete_samples(now)
    found = Entered(now, counted, missing, file)
    kept = () if case.samples is None else case.samples.columns
    data = csv_of_samples(counted, kept)
    if data == csv_of_samples(opened, kept):
        return found
    if not len(counted):
        return replace(found, changes={"oil.samples": None})
    changes: dict[str, object] = {} if case.oil.samples else {"oil.samples": file}
    return replace(found, changes=changes, files={file: data})


def show(case: Case, found: Entered, problems: Sequence[Problem]) -> None:
    """The table to change, with what is wrong with it under it."""
    source, unit = _opened(case), case.machine.unit
    if not measured(source):
        st.html(markup.paragraphs((screen.NO_SAMPLES, screen.OIL_NOTHING_DECLARED)))
        return
    st.html(markup.paragraph(words.ABOUT if len(source) else words.ABOUT_EMPTY))
    look: dict[str, Any] = {
        "hide_index": False,
        "width": "stretch",
        "height": _HEIGHT if len(source) > 10 else "auto",
        "column_config": _config(source, unit),
        "placeholder": "",
        "alt": screen.SAMPLES,
    }
    if len(source) > MOST_ROWS:
        st.html(markup.paragraph(words.too_many(len(source), MOST_ROWS)))
        st.dataframe(_frame(source, unit), **look)
        return
    st.data_editor(_frame(source, unit), num_rows="dynamic", key=_editor_key(), **look)
    told = words.incomplete(_spoken(found), unit)
    if told:
        st.html(markup.paragraphs(told))
    samples_faults.show(problems, found.counted.numbers, unit)
    if found.files or found.changes or found.missing:
        st.button(words.UNDO, key=state.key("samples.undo"), on_click=_undo)


def unfinished(found: Entered) -> bool:
    """Whether a row was begun that does not count yet."""
    return bool(_spoken(found))


def _spoken(found: Entered) -> dict[int, Sequence[str]]:
    """The rows that do not count and are worth a word: one with nothing in it is not."""
    rows = dict(zip(found.table.numbers, found.table.rows, strict=True))
    return {number: lacks for number, lacks in found.missing.items() if any(rows[number])}


def _opened(case: Case) -> RowTable:
    """The rows of the case as it was opened; made once."""
    key = state.key("samples.opened")
    if key not in st.session_state:
        declared = [element.symbol for element in case.oil.element]
        st.session_state[key] = rows_of_samples(case.samples, declared)
    return cast(RowTable, st.session_state[key])


def _now(case: Case) -> RowTable:
    """The rows that the editor was given, with the changes made in it."""
    source = _opened(case)
    delta = st.session_state.get(_editor_key())
    if not delta or not any(delta.values()):
        return source
    columns = {words.heading(name, case.machine.unit): name for name in source.columns}

    def held(row: Mapping[str, object]) -> dict[str, str]:
        return {columns[name]: _cell(value) for name, value in row.items() if name in columns}

    return edited(
        source,
        {int(place): held(row) for place, row in delta["edited_rows"].items()},
        [held(row) for row in delta["added_rows"]],
        delta["deleted_rows"],
    )


def _undo() -> None:
    st.session_state[state.key("samples.version")] = _version() + 1


def _version() -> int:
    return cast(int, st.session_state.get(state.key("samples.version"), 0))


def _editor_key() -> str:
    return state.key(f"samples.editor.{_version()}")


def _free_name(case: Case) -> str:
    return SAMPLES_FILE if case.life.records != SAMPLES_FILE else f"samples-{SAMPLES_FILE}"


def _frame(table: RowTable, unit: Unit) -> pd.DataFrame:
    data: dict[str, pd.Series[Any]] = {}
    for column in table.columns:
        cells = table.column(column)
        if column in _NUMBERS:
            numbers = [float(cell) if cell else None for cell in cells]
            data[words.heading(column, unit)] = pd.Series(numbers, dtype="float64")
        else:
            data[words.heading(column, unit)] = pd.Series(list(cells), dtype="object")
    frame = pd.DataFrame(data)
    frame.index = pd.RangeIndex(1, len(table) + 1, name=words.ROW)
    return frame


def _config(table: RowTable, unit: Unit) -> dict[str, Any]:
    config: dict[str, Any] = {}
    for column in table.columns:
        hint = words.help_of(column)
        if column in _NUMBERS:
            made: Any = st.column_config.NumberColumn(help=hint, format="localized")
        else:
            narrow = None if column in COLUMNS else _NARROW
            made = st.column_config.TextColumn(help=hint, width=narrow)
        config[words.heading(column, unit)] = made
    return config


def _cell(value: object) -> str:
    """A cell as the file would hold it."""
    if value is None or value != value:
        return ""
    if isinstance(value, int | float):
        return plain(float(value))
    return str(value)
