"""The life records as a table that can be changed on the page.

The editor keeps the changes against the table that it was given, which therefore stays the
same until something else than a cell changes (the columns shown, an import): then the
changes are taken into it and the editor starts anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, cast

import pandas as pd
import streamlit as st

from riskmodel.page import markup, records_faults, state
from riskmodel.records.case import Case
from riskmodel.records.errors import Problem, plain
from riskmodel.records.files import RECORDS_FILE
from riskmodel.records.inputs import Unit
from riskmodel.records.life_table import COLUMNS, REQUIRED
from riskmodel.records.row_table import (
    UNKNOWN,
    RowTable,
    complete,
    csv_of,
    edited,
    joined,
    known_traits,
    renumbered,
    rows_of,
)
from riskmodel.words import records_entry as words
from riskmodel.words import screen

MOST_ROWS = 2000
"""Rows that can still be changed on the page (judgement: more are slow to send and to draw)."""

_HEIGHT = 420
_WIDE = 215  # the longest outcome in full


@dataclass(frozen=True, slots=True)
class Entered:
    """The records as they stand on the page.

    `table` are all rows, `counted` those complete, `missing` what the others still need, by
    row; `aside` are this engine's traits that the records do not know. `changes` and `files`
    state them anew to the case; both are empty where they are those of the case opened.
    """

    table: RowTable
    counted: RowTable
    missing: Mapping[int, Sequence[str]]
    file: str
    changes: dict[str, object] = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)
    aside: Mapping[str, float | str] = field(default_factory=dict)


def entered(case: Case) -> Entered:
    """The records of the open case with what was changed since it was opened."""
    now, opened = _now(case), _opened(case)
    file = case.life.records or _free_name(case)
    if now is opened:
        return Entered(now, now, {}, file)
    counted, missing = complete(now, _hidden(case, now))
    found = Entered(now, counted, missing, file)
    data = csv_of(counted, opened.columns)
    if data == csv_of(opened, opened.columns):
        return found
    if not len(counted):
        return replace(found, changes={"life.records": None})
    changes: dict[str, object] = {} if case.life.records else {"life.records": file}
    known = known_traits(counted, case.part.traits)
    if known != case.part.traits:
        changes["part.traits"] = known
    aside = {name: value for name, value in case.part.traits.items() if name not in known}
    return replace(found, changes=changes, files={file: data}, aside=aside)


def take(case: Case, table: RowTable, *, add: bool) -> None:
    """Puts other rows in the place of the records, or (`add`) after them."""
    now = joined(_now(case), table) if add else table
    _start_from(renumbered(now))
    st.session_state.pop(_columns_key(), None)
    st.session_state[state.key("records.imports")] = _count("records.imports") + 1


def show(case: Case, found: Entered, problems: Sequence[Problem]) -> None:
    """The table to change, with what is wrong with it under it."""
    unit = case.machine.unit
    source = _source(case)
    st.html(markup.paragraph(words.ABOUT if len(source) else words.ABOUT_EMPTY))
    with st.popover(words.COLUMNS_ASK):
        shown = st.multiselect(
            words.COLUMNS_SHOWN,
            _offered(source)[len(REQUIRED) :],
            _usual(source)[len(REQUIRED) :],
            format_func=lambda column: words.headings(_offered(source), unit)[column],
            key=_columns_key(),
            help=words.COLUMNS_HELP,
            on_change=_fold,
            args=(case,),
            placeholder=words.NO_MORE_COLUMNS,
        )
    columns = _in_order((*REQUIRED, *shown), source)
    names = words.headings(_offered(source), unit)
    frame = _frame(source, columns, names)
    if len(source) > MOST_ROWS:
        st.html(markup.paragraph(words.too_many(len(source), MOST_ROWS)))
        st.dataframe(
            frame,
            hide_index=False,
            width="stretch",
            height=_HEIGHT,
            column_config=_config(source, columns, names),
            placeholder="",
            alt=screen.RECORDS,
        )
    else:
        st.data_editor(
            frame,
            num_rows="dynamic",
            hide_index=False,
            width="stretch",
            height=_HEIGHT if len(source) > 10 else "auto",
            column_config=_config(source, columns, names),
            key=_editor_key(),
            placeholder="",
            alt=screen.RECORDS,
        )
    told = words.incomplete(_spoken(found), unit, _hidden(case, found.table))
    if told:
        st.html(markup.paragraphs(told))
    records_faults.show(problems, found.counted.numbers, unit)
    if set(source.traits) & set(_hidden(case, source)):
        st.html(markup.paragraph(words.HIDDEN_TRAITS, "quiet"))
    if found.files or found.changes or found.missing:
        st.button(words.UNDO, key=state.key("records.undo"), on_click=_undo)


def unfinished(found: Entered) -> bool:
    """Whether a row was begun that does not count yet."""
    return bool(_spoken(found))


def _spoken(found: Entered) -> dict[int, Sequence[str]]:
    """The rows that do not count and are worth a word: a new one still empty is not."""
    new, table = found.table.new, found.table
    empty = {
        number
        for number, row in zip(table.numbers, table.rows, strict=True)
        if number in new and not any(row)
    }
    return {number: names for number, names in found.missing.items() if number not in empty}


def frame_of(table: RowTable, unit: Unit) -> pd.DataFrame:
    """Rows as they are shown, under plain headings."""
    return _frame(table, _usual(table), words.headings(_offered(table), unit))


# --- what the editor was given, and what was changed in it ---------------------------------


def _source(case: Case) -> RowTable:
    held = st.session_state.get(state.key("records.rows"))
    return _opened(case) if held is None else cast(RowTable, held)


def _opened(case: Case) -> RowTable:
    """The rows of the case as it was opened; made once."""
    key = state.key("records.opened")
    if key not in st.session_state:
        st.session_state[key] = rows_of(case.records)
    return cast(RowTable, st.session_state[key])


def _now(case: Case) -> RowTable:
    """The rows that the editor was given, with the changes made in it."""
    source = _source(case)
    delta = st.session_state.get(_editor_key())
    if not delta or not any(delta.values()):
        return source
    columns = {
        name: column for column, name in words.headings(_offered(source), case.machine.unit).items()
    }

    def held(row: Mapping[str, object]) -> dict[str, str]:
        return {columns[n]: _cell(columns[n], value) for n, value in row.items() if n in columns}

    return edited(
        source,
        {int(place): held(row) for place, row in delta["edited_rows"].items()},
        [held(row) for row in delta["added_rows"]],
        delta["deleted_rows"],
    )


def _fold(case: Case) -> None:
    _start_from(renumbered(_now(case)))


def _undo() -> None:
    st.session_state.pop(state.key("records.rows"), None)
    st.session_state[state.key("records.version")] = _count("records.version") + 1
    st.session_state[state.key("records.imports")] = _count("records.imports") + 1


def _start_from(rows: RowTable) -> None:
    st.session_state[state.key("records.rows")] = rows
    st.session_state[state.key("records.version")] = _count("records.version") + 1


def _count(name: str) -> int:
    return cast(int, st.session_state.get(state.key(name), 0))


def _editor_key() -> str:
    return state.key(f"records.editor.{_count('records.version')}")


def _columns_key() -> str:
    return state.key(f"records.columns.{_count('records.imports')}")


# --- columns -------------------------------------------------------------------------------


def _offered(table: RowTable) -> tuple[str, ...]:
    """Every column that can be shown: those of the contract first."""
    return (*COLUMNS, *table.traits)


def _usual(table: RowTable) -> tuple[str, ...]:
    return _in_order((*REQUIRED, *table.columns), table)


def _in_order(columns: Sequence[str], table: RowTable) -> tuple[str, ...]:
    return tuple(column for column in _offered(table) if column in columns)


def _hidden(case: Case, table: RowTable) -> tuple[str, ...]:
    chosen = st.session_state.get(_columns_key())
    return () if chosen is None else tuple(n for n in table.traits if n not in chosen)


def _free_name(case: Case) -> str:
    return RECORDS_FILE if case.oil.samples != RECORDS_FILE else f"life-{RECORDS_FILE}"


# --- cells ---------------------------------------------------------------------------------


def _of_numbers(column: str, table: RowTable) -> bool:
    if column in COLUMNS:
        return column not in words.CHOICES
    return not table.of_words(column) and any(table.column(column))


def _frame(table: RowTable, columns: Sequence[str], names: Mapping[str, str]) -> pd.DataFrame:
    data: dict[str, pd.Series[Any]] = {}
    for column in columns:
        cells = table.column(column)
        if _of_numbers(column, table):
            numbers = [float(cell) if cell else None for cell in cells]
            data[names[column]] = pd.Series(numbers, dtype="float64")
        elif column in words.CHOICES:
            data[names[column]] = pd.Series(
                [words.in_words(column, cell) for cell in cells], dtype="object"
            )
        else:
            data[names[column]] = pd.Series(list(cells), dtype="object")
    frame = pd.DataFrame(data)
    frame.index = pd.RangeIndex(1, len(table) + 1, name=words.ROW)
    return frame


def _config(table: RowTable, columns: Sequence[str], names: Mapping[str, str]) -> dict[str, Any]:
    config: dict[str, Any] = {}
    for column in columns:
        hint = words.help_of(column)
        if column in words.CHOICES:
            made: Any = st.column_config.SelectboxColumn(
                help=hint,
                options=list(words.CHOICES[column].values()),
                width=_WIDE if column == "outcome" else None,
            )
        elif _of_numbers(column, table):
            made = st.column_config.NumberColumn(help=hint, format="localized")
        else:
            made = st.column_config.TextColumn(
                help=hint, default=UNKNOWN if table.of_words(column) else None
            )
        config[names[column]] = made
    return config


def _cell(column: str, value: object) -> str:
    """A cell as the file would hold it."""
    if value is None or value != value:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return plain(float(value))
    return words.from_words(column, str(value)) if column in words.CHOICES else str(value)
