"""Records from a table of somebody's own: upload, say which column is what, look, use."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from riskmodel.page import markup, problems, records_table, state
from riskmodel.records.case import Case
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.inputs import Unit
from riskmodel.records.loose_cells import guessed_decimal
from riskmodel.records.loose_guess import (
    FIELDS,
    LEAVE_OUT,
    distinct,
    guessed_columns,
    guessed_unit,
    guessed_word,
)
from riskmodel.records.loose_table import (
    MOST_WORDS,
    OF_USAGE,
    OF_WORDS,
    Choices,
    Imported,
    imported,
)
from riskmodel.records.loose_text import LooseTable, read_loose
from riskmodel.records.row_table import RowTable
from riskmodel.words import import_words as words
from riskmodel.words import screen
from riskmodel.words.records_entry import CHOICES, plainly

FIRST = 5
"""Rows of a preview."""
MOST_SHOWN = 30
"""Rows that cannot be read and are spelled out; the rest are counted."""

Pick = tuple[Literal["none", "column", "every"], str]
"""What was chosen for a field: nothing, a column by its heading, or one entry for all rows."""
_NONE: Pick = ("none", "")
_EXPANDER = "records.import"


def show(case: Case) -> None:
    """The whole of it, folded away; nothing is drawn before it is opened."""
    folded = st.expander(words.TITLE, key=state.key(_EXPANDER), on_change="rerun")
    uploader = state.key(f"import.file.{state.brought_in()}")
    if not folded.open and not st.session_state.get(uploader):
        return  # once there is a table, folding must not throw away what was chosen
    with folded:
        st.html(markup.paragraph(words.ABOUT))
        file = st.file_uploader(
            words.UPLOAD,
            type=["csv", "tsv", "txt"],
            key=uploader,
            help=words.UPLOAD_HELP,
        )
        if file is not None:
            _offered(case, file.name, file.getvalue())


def _offered(case: Case, name: str, data: bytes) -> None:
    mark = hashlib.sha256(data).hexdigest()[:12]
    try:
        guess = read_loose(data, name)
        parted = st.session_state.get(_key(mark, "separator"), guess.separator)
        loose = guess if parted == guess.separator else read_loose(data, name, parted)
    except InputError as error:
        problems.files(error.problems)
        return
    st.html(markup.paragraph(words.read_as(loose)))
    first = [row for _, row in loose.rows[:FIRST]]
    _preview(pd.DataFrame(first, columns=list(loose.headings)), words.FIRST_ROWS)
    choices = _choices(case, loose, guess, mark)
    if choices is not None:
        found = _imported(f"{mark}{choices}{case.machine.unit}", loose, choices, case.machine.unit)
        _result(case, found, mark)


@st.cache_resource(max_entries=8, show_spinner=False)
def _imported(content: str, _loose: LooseTable, _choices: Choices, _unit: Unit) -> Imported:
    """What the table comes to, worked out once for the same table and choices."""
    return imported(_loose, _choices, _unit)


def _preview(frame: pd.DataFrame, told: str) -> None:
    st.html(markup.paragraph(told, "quiet"))
    numbers = map(str, frame.select_dtypes("number"))
    st.dataframe(
        frame,
        hide_index=True,
        width="stretch",
        column_config=dict.fromkeys(numbers, st.column_config.NumberColumn(format="localized")),
        placeholder="",
        alt=told,
    )


# --- what the table means ------------------------------------------------------------------


def _choices(case: Case, loose: LooseTable, guess: LooseTable, mark: str) -> Choices | None:
    """Which column is what and what its words mean; None while that cannot be asked."""
    unit, guesses = case.machine.unit, guessed_columns(loose.headings)
    st.markdown(f"**{words.WRITTEN}**")
    first, second, third = st.columns(3)
    with first:
        separators = list(dict.fromkeys([*words.SEPARATORS, guess.separator]))
        st.selectbox(
            words.SEPARATOR,
            separators,
            separators.index(guess.separator),
            format_func=lambda sign: words.SEPARATORS.get(sign, sign),
            key=_key(mark, "separator"),
        )
    mark = f"{mark}.{words.SEPARATORS.get(loose.separator, '')}"
    numbers = [loose.column(h) for f, h in guesses.items() if f in OF_USAGE]
    decimal = guessed_decimal(cell for column in numbers for cell in column)
    with second:
        decimal = st.selectbox(
            words.DECIMAL,
            list(words.DECIMALS),
            list(words.DECIMALS).index(decimal),
            format_func=lambda sign: words.DECIMALS[sign],
            key=_key(mark, "decimal"),
            help=words.DECIMAL_HELP,
        )
    with third:
        units: list[Unit] = ["h"] if unit == "h" else ["km", "mi"]
        named = guessed_unit(guesses.get("age", ""))
        table_unit: Unit = st.selectbox(
            words.UNIT,
            units,
            units.index(named if named in units else unit),
            key=_key(mark, "unit"),
            help=words.unit_hint(unit),
        )
    st.markdown(f"**{words.WHICH}**")
    picks: dict[str, Pick] = {}
    for name, place in _beside(FIELDS, 2):
        with place:
            picks[name] = _pick(name, loose, guesses.get(name), table_unit, mark)
    used = {heading for kind, heading in picks.values() if kind == "column"}
    traits = st.multiselect(
        words.TRAITS,
        [heading for heading in loose.headings if heading not in used],
        key=_key(mark, "traits"),
        help=words.TRAITS_HELP,
        placeholder=words.CHOOSE,
    )
    columns = {name: text for name, (kind, text) in picks.items() if kind == "column"}
    meanings = {
        name: _meanings(name, columns[name], loose, mark) for name in OF_WORDS if name in columns
    }
    if any(meaning is None for meaning in meanings.values()):
        return None
    return Choices(
        columns=columns,
        constants={name: text for name, (kind, text) in picks.items() if kind == "every"},
        words={name: meaning for name, meaning in meanings.items() if meaning is not None},
        traits=tuple(traits),
        table_unit=table_unit,
        decimal=decimal,
    )


def _pick(name: str, loose: LooseTable, guess: str | None, unit: Unit, mark: str) -> Pick:
    constants = [entry for entry in CHOICES.get(name, {}) if name in words.EVERY]
    options: list[Pick] = [] if name in ("age", "outcome") else [_NONE]
    options += [("column", heading) for heading in loose.headings]
    options += [("every", entry) for entry in constants]
    start = options.index(("column", guess)) if guess else None
    if start is None and _NONE in options:
        start = 0

    def told(pick: Pick) -> str:
        kind, text = pick
        if kind == "every":
            return words.every(name, text)
        return text if kind == "column" else words.NOT_THERE

    picked = st.selectbox(
        words.field_label(name, unit),
        options,
        start,
        format_func=told,
        key=_key(mark, name),
        help=words.FIELDS_HELP[name],
        placeholder=words.CHOOSE,
    )
    return _NONE if picked is None else picked


def _meanings(name: str, heading: str, loose: LooseTable, mark: str) -> dict[str, str] | None:
    """What each word of a column means, as far as it was said; None where there are too many."""
    counts = distinct(loose.column(heading))
    if len(counts) > MOST_WORDS:
        st.error(words.too_many_words(name, len(counts)))
        return None
    st.markdown(f"**{words.MEANINGS[name]}**")
    found: dict[str, str] = {}
    options = [*CHOICES[name], LEAVE_OUT]
    for word, place in _beside(counts, 3):
        guess = guessed_word(name, word, heading)
        with place:
            meaning = st.selectbox(
                markup.markdown_text(words.word_label(word, counts[word])),
                options,
                None if guess is None else options.index(guess),
                format_func=lambda entry: words.meaning(name, entry),
                key=_key(mark, f"{name}.{heading}.{word}"),
                placeholder=words.CHOOSE,
            )
        if meaning is not None:
            found[word] = meaning
    return found


def _beside(names: Iterable[str], wide: int) -> Iterator[tuple[str, DeltaGenerator]]:
    """A place for each name, `wide` of them beside each other; on a phone in the same order."""
    columns: list[DeltaGenerator] = []
    for name in names:
        columns = columns or list(st.columns(wide))
        yield name, columns.pop(0)


# --- what it comes to ----------------------------------------------------------------------


def _result(case: Case, found: Imported, mark: str) -> None:
    unit = case.machine.unit
    if found.unsettled:
        st.html(markup.paragraph(words.PUT_RIGHT))
        _table(
            [
                {words.WHERE: words.concerns(problem), **_found_and_expected(problem, unit)}
                for problem in found.unsettled
            ]
        )
        return
    st.markdown(f"**{words.RESULT}**")
    st.html(markup.bullets(words.result(found)))
    first = RowTable(found.rows.columns, found.rows.rows[:FIRST], found.rows.numbers[:FIRST])
    _preview(records_table.frame_of(first, unit), words.AS_READ)
    agreed = True
    if found.problems:
        lines = found.lines_unread
        st.html(markup.paragraph(words.unread(lines)))
        _table([_unread(problem, unit) for problem in found.problems[:MOST_SHOWN]])
        if len(found.problems) > MOST_SHOWN:
            st.html(markup.paragraph(words.more(len(found.problems) - MOST_SHOWN)))
        agreed = st.checkbox(
            words.leave_out(lines), key=_key(mark, f"leave.{lines}"), help=words.LEAVE_OUT_HELP
        )
    how: Literal["replace", "add"] = "replace"
    if len(records_table.entered(case).table):
        how = st.radio(
            words.HOW,
            ("replace", "add"),
            format_func=lambda choice: words.HOWS[choice],
            key=_key(mark, "how"),
        )
    left_out = found.left_out + found.lines_unread
    st.button(
        words.USE,
        type="primary",
        disabled=not agreed,
        on_click=_use,
        args=(case, found.rows, how, left_out),
        key=_key(mark, "use"),
    )


def _use(case: Case, rows: RowTable, how: Literal["replace", "add"], left_out: int) -> None:
    records_table.take(case, rows, add=how == "add")
    state.bring_in(words.brought(len(rows), how, left_out))
    st.session_state[state.key(_EXPANDER)] = False


_LINE = re.compile(r"line (\d+)(?:, column (.*))?$")


def _unread(problem: Problem, unit: Unit) -> dict[str, str]:
    match = _LINE.match(problem.where)
    line, column = (match[1], match[2] or "") if match else (problem.where, "")
    return {
        words.LINE: line,
        words.COLUMN: words.column_name(column, unit),
        **_found_and_expected(problem, unit),
    }


def _found_and_expected(problem: Problem, unit: Unit) -> dict[str, str]:
    return {
        screen.PROBLEM_FOUND: plainly(problem.found, "", unit),
        screen.PROBLEM_EXPECTED: plainly(problem.expected, "", unit),
    }


def _table(rows: Sequence[dict[str, str]]) -> None:
    st.html(markup.table(pd.DataFrame(rows)))


def _key(mark: str, name: str) -> str:
    """The key of a choice; another table starts with choices of its own."""
    return state.key(f"import.{mark}.{name}")
