"""Takes what a short form says into the log; what is wrong, or clashes, is told beside it.

A form is read before the page runs again, so that whatever somebody else wrote meanwhile is
met here first and told as what it is. What was typed stays until it is entered.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import cast

import pandas as pd
import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.page import kept, log_file, markup, state
from riskmodel.page.log_typed import COUNT, Form
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.log.entries import Entry, Payload
from riskmodel.records.log.errors import ClashError
from riskmodel.words import log_page, screen
from riskmodel.words import log_page_entries as entry_words
from riskmodel.words import log_page_forms as words

_OUTCOME = "log.outcome"


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What became of a form that was sent off."""

    entered: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    clash: tuple[Entry, ...] = field(default=())
    unfinished: bool = False


def enter(machine: str, kind: str, w: Weighing | None) -> None:
    """Adds what the form says, based on what this visitor saw."""
    outcome = f"{_OUTCOME}.form.{machine}"
    if kept.unfinished():
        st.session_state[outcome] = _Outcome(unfinished=True)
        return
    try:
        payload = Form(machine, kind).payload(w)
        write(machine, payload, outcome)
    except InputError as fault:
        st.session_state[outcome] = _Outcome(problems=fault.problems)
        return
    if st.session_state[outcome].entered:
        st.session_state[f"{COUNT}.{kind}"] = st.session_state.get(f"{COUNT}.{kind}", 0) + 1


def undo(machine: str, seq: int, reason: str) -> None:
    """Adds a counter-entry."""
    outcome = f"{_OUTCOME}.undo.{machine}"
    if kept.unfinished():
        st.session_state[outcome] = _Outcome(unfinished=True)
        return
    try:
        write(machine, seq, outcome, reason.strip())
    except InputError as fault:
        st.session_state[outcome] = _Outcome(problems=fault.problems)
        return
    if st.session_state[outcome].entered:
        st.session_state[f"{COUNT}.undo"] = st.session_state.get(f"{COUNT}.undo", 0) + 1


def write(machine: str, payload: Payload | int, outcome: str, reason: str = "") -> None:
    """Adds an entry, or undoes the one of a number, and opens the machine as it then is.

    A clash is remembered and told; what the other wrote is shown at once. Raises InputError.
    """
    log = log_file.made()
    unit, author, seen = log.machine(machine).unit, state.author(), state.seen()
    try:
        if isinstance(payload, int):
            about = log.history()[payload - 1].machine  # None: what its group shares
            done = log.undo(payload, author=author, reason=reason, based_on=seen[about])
        else:
            done = log.add(payload, machine=machine, author=author, based_on=seen[machine])
    except ClashError as clash:
        st.session_state[outcome] = _Outcome(clash=clash.entries)
        state.reopen()
        return
    told = tuple(entry_words.what(entry.payload, unit) for entry in done.entries)
    st.session_state[outcome] = _Outcome(told, done.warnings)
    if machine in log.state().machines:
        state.reopen()
    else:
        state.close_machine()
        state.tell(log_page.TAKEN_OUT)


def outcome(machine: str, what: str = "form") -> None:
    """What became of the form (or the undo) last sent off, beside it."""
    found = cast("_Outcome | None", st.session_state.pop(f"{_OUTCOME}.{what}.{machine}", None))
    if found is None:
        return
    for text in found.entered:
        st.success(markup.markdown_text(f"{words.ENTERED} {text}"))
    for text in found.warnings:
        st.warning(markup.markdown_text(text))
    if found.unfinished:
        st.warning(log_page.UNFINISHED)
    if found.clash:
        log = log_file.opened()
        unit = state.base().machine.unit if log is None else log.machine(machine).unit
        told = log_page.and_more([entry_words.line(entry, unit) for entry in found.clash])
        st.warning(log_page.CLASH)
        st.html(markup.bullets(told) + markup.paragraph(log_page.CLASH_FORM))
    if found.problems:
        st.error(log_page.NOT_WRITTEN)
        columns = (screen.PROBLEM_FIGURE, screen.PROBLEM_FOUND, screen.PROBLEM_EXPECTED)
        rows = [(_label(p.where or p.file), p.found, p.expected) for p in found.problems]
        st.html(markup.table(pd.DataFrame(rows, columns=list(columns))))


def _label(where: str) -> str:
    """A field as its form calls it."""
    return words.FIELDS.get(where, where)
