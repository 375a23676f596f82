"""A laboratory's table of many machines' samples, brought in on the page: told first, then
written whole."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import cast

import streamlit as st

from riskmodel.page import kept, log_file, markup, problems, state
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.log.lab_entries import LAB_FIELDS, DateOrder, LabColumns
from riskmodel.records.log.laboratory import Batch, held_against, read_laboratory, write_batch
from riskmodel.records.log.log import Log
from riskmodel.records.loose_text import read_loose
from riskmodel.words import log_page_workshop as words

_DONE, _FAULTS, _COUNT = "lab.done", "lab.faults", "lab.count"


def section(log: Log) -> None:
    """Folded away until it is wanted."""
    folded = st.expander(words.LAB, key="lab", on_change="rerun")
    if not folded.open:
        return
    with folded:
        st.html(markup.paragraph(words.LAB_ABOUT))
        done = cast("tuple[str, ...]", st.session_state.pop(_DONE, ()))
        if done:
            st.success(markup.markdown_text(f"{words.LAB_DONE} {' '.join(done)}"))
        _faults(cast("tuple[Problem, ...]", st.session_state.pop(_FAULTS, ())))
        name = st.text_input(words.LAB_NAME, key="lab.name", help=words.LAB_NAME_HELP).strip()
        file = st.file_uploader(words.LAB_FILE, type=["csv", "txt", "tsv"], key=_key("file"))
        if file is None:
            return
        if not name:
            st.html(markup.paragraph(words.LAB_NAME_IT))
            return
        try:
            _settle(log, file.name, file.getvalue(), name)
        except InputError as fault:
            _faults(fault.problems)


def _faults(found: tuple[Problem, ...]) -> None:
    if found:
        st.error(words.LAB_FAULTS)
        problems.listed(found)


def _key(name: str) -> str:
    """A widget's key, new for each table."""
    return f"lab.{name}#{st.session_state.get(_COUNT, 0)}"


def _settle(log: Log, file: str, data: bytes, laboratory: str) -> None:
    """Asks what is not clear, and tells what the table would bring. Raises InputError."""
    held, day = log.state(), datetime.date.fromisoformat(kept.today())
    guess = read_laboratory(data, file, held, laboratory, day).columns
    loose = read_loose(data, file)
    columns = _columns(guess, loose.headings)
    batch = held_against(loose, columns, held, day)
    if batch.unknown:
        known = {name: machine.name or name for name, machine in held.machines.items()}
        told = _machines(batch, known)
        columns = _with_machines(columns, told)
        batch = held_against(loose, columns, held, day)
    if batch.problems:
        _faults(batch.problems)
        return
    st.html(markup.paragraph(words.LAB_WOULD) + markup.bullets(words.brings(batch)))
    st.button(
        words.LAB_WRITE,
        on_click=_write,
        args=(batch, file),
        type="primary",
        disabled=not (batch.new or batch.back),
    )


def _columns(guess: LabColumns, headings: tuple[str, ...]) -> LabColumns:
    """Which column is what, as guessed and as put right."""
    with st.expander(words.LAB_COLUMNS):
        fields = {
            name: _column(name, words.LAB_FIELDS[name], guess.columns.get(name), headings)
            for name in LAB_FIELDS
        }
        elements = {
            symbol: _column(f"element.{symbol}", f"{symbol}, ppm", heading, headings)
            for symbol, heading in guess.elements.items()
        }
        dates = _choice("dates", words.LAB_DATES, words.LAB_ORDERS, guess.dates)
        decimal = _choice("decimal", words.LAB_DECIMAL, words.LAB_POINTS, guess.decimal)
    return LabColumns(
        guess.laboratory,
        {name: heading for name, heading in fields.items() if heading is not None},
        {symbol: heading for symbol, heading in elements.items() if heading is not None},
        guess.machines,
        cast(DateOrder, dates),
        "comma" if decimal == "comma" else "point",
    )


def _column(name: str, label: str, guess: str | None, headings: tuple[str, ...]) -> str | None:
    return st.selectbox(
        markup.markdown_text(label),
        headings,
        headings.index(guess) if guess in headings else None,
        key=_key(name),
        placeholder=words.LAB_NONE,
    )


def _choice(name: str, label: str, options: Mapping[str, str], held: str) -> str:
    keys = list(options)
    return st.radio(
        label,
        keys,
        keys.index(held),
        format_func=options.__getitem__,
        key=_key(name),
        horizontal=True,
    )


def _machines(batch: Batch, known: Mapping[str, str]) -> dict[str, str]:
    """Which machine of the log each unknown name is; those left out are not among them."""
    found = {}
    for name in batch.unknown:
        chosen = st.selectbox(
            markup.markdown_text(words.LAB_WHO.format(name=name)),
            list(known),
            None,
            format_func=known.__getitem__,
            key=_key(f"machine.{name}"),
            placeholder=words.LAB_LEFT_OUT,
        )
        if chosen is not None:
            found[name.casefold()] = chosen
    return found


def _with_machines(columns: LabColumns, told: Mapping[str, str]) -> LabColumns:
    return LabColumns(
        columns.laboratory,
        columns.columns,
        columns.elements,
        {**columns.machines, **told},
        columns.dates,
        columns.decimal,
    )


def _write(batch: Batch, file: str) -> None:
    """Writes what was told, or tells why it could not be."""
    log = log_file.made()
    try:
        write_batch(log, batch, author=state.author(), file=file, leave_out_unknown=True)
    except InputError as fault:
        st.session_state[_FAULTS] = fault.problems
        return
    st.session_state[_DONE] = tuple(words.brings(batch))
    st.session_state[_COUNT] = st.session_state.get(_COUNT, 0) + 1
