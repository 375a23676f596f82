"""Keeps in the log what is changed on the page, at once and only what differs."""

from __future__ import annotations

import datetime
from typing import cast

import pandas as pd
import streamlit as st

from riskmodel.page import log_changes, log_file, markup, problems, state
from riskmodel.records.case import Case
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.log.bridge import export_case
from riskmodel.records.log.entries import Entry
from riskmodel.records.log.errors import ClashError, LogError
from riskmodel.records.log.log import Log
from riskmodel.words import log_page as words
from riskmodel.words import log_page_entries as entry_words
from riskmodel.words import screen

_CLASH, _FAULTS, _PENDING, _SHOWN = "kept.clash", "kept.faults", "kept.pending", "kept.shown"


def today() -> str:
    return datetime.date.today().isoformat()


def keep(case: Case) -> Case:
    """Writes what the page changed in the open machine, and gives the case to weigh: with what
    became of the parts that the log knows. The case itself where no machine is open, or where it
    could not be kept (told by `notices`)."""
    st.session_state[_CLASH], st.session_state[_FAULTS] = (), ()
    machine, before = state.machine(), state.kept()
    if machine is None or before is None:
        return case
    try:
        log = log_file.opened()
        if log is None or machine not in log.state().machines:
            gone = Problem(words.THE_LOG, "", words.NO_LONGER, words.BACK_AGAIN)
            st.session_state[_FAULTS] = (gone,)
            return case
        return _written(log, machine, before, case)
    except ClashError as clash:
        st.session_state[_CLASH] = clash.entries
    except InputError as fault:
        st.session_state[_FAULTS] = fault.problems
    return case


def _written(log: Log, machine: str, before: Case, case: Case) -> Case:
    held = log.machine(machine)
    new = log_changes.entries(log.state(), held, before, case, today()) if case != before else []
    seen = state.seen()
    if new:
        based_on = {name: seen[name] for name in {entry.machine for entry in new} | {machine}}
        log.add_all(new, author=state.author(), based_on=based_on)
        after = export_case(log, machine, shared=False)
        if not log_changes.same_figures(after, case):  # a meter read on moves the oil change
            state.reopen()
            st.rerun()
        state.now_kept(log, case)
    elif any(log.last(name) != last for name, last in seen.items()):
        _tell_newer(log, machine, seen[machine])
        if not st.session_state.get(_PENDING):  # else what is half typed would be lost
            state.reopen()
            st.rerun()
    return _shown(log, machine)


def _shown(log: Log, machine: str) -> Case:
    """The case as the log has it, put together once for each state of the log."""
    name = (str(log.path), machine, log.seal)
    held = st.session_state.get(_SHOWN)
    if held is None or held[0] != name:
        held = (name, state.settled(export_case(log, machine)))
        st.session_state[_SHOWN] = held
    return cast(Case, held[1])


def _tell_newer(log: Log, machine: str, seen: int) -> None:
    """What others wrote about the machine since it was read here."""
    unit = log.machine(machine).unit
    newer = [entry for entry in log.history(machine) if entry.seq > seen]
    if newer:
        told = words.and_more([entry_words.line(entry, unit) for entry in newer])
        state.tell(f"{words.NEWER} {'; '.join(told)}")


def pending(unfinished: bool) -> None:
    """Remembers whether something on the page is not complete, and so not kept."""
    st.session_state[_PENDING] = unfinished


def unfinished() -> bool:
    """Whether opening the machine anew would lose something typed."""
    return bool(
        st.session_state.get(_PENDING)
        or st.session_state.get(_CLASH)
        or st.session_state.get(_FAULTS)
    )


def notices() -> None:
    """At the head of the page: what was taken in, what could not be kept and why."""
    for text in state.told():
        st.info(markup.markdown_text(text))
    if _given_up():
        st.info(words.GIVEN_UP)
    clash = cast("tuple[Entry, ...]", st.session_state.get(_CLASH, ()))
    if clash:
        _clash(clash)
    faults = cast("tuple[Problem, ...]", st.session_state.get(_FAULTS, ()))
    if faults:
        st.warning(words.NOT_KEPT)
        st.html(_table(faults))


def _given_up() -> bool:
    name = state.machine()
    try:
        log = log_file.opened()
    except LogError:
        return False
    if log is None or name is None:
        return False
    held = log.state().machines.get(name)
    return held is not None and held.retired is not None


def _clash(entries: tuple[Entry, ...]) -> None:
    log, machine = log_file.opened(), state.machine()
    assert log is not None
    assert machine is not None
    unit = log.machine(machine).unit
    told = words.and_more([entry_words.line(entry, unit) for entry in entries])
    st.warning(words.CLASH)
    st.html(markup.bullets(told) + markup.paragraph(words.CLASH_FIGURES))
    with st.container(horizontal=True):
        st.button(words.KEEP_MINE, on_click=_keep_mine, type="primary", key="kept.mine")
        st.button(words.SEE_THEIRS, on_click=state.reopen, key="kept.theirs")


def _keep_mine() -> None:
    log = log_file.opened()
    if log is not None:
        state.see(log)


def _table(faults: tuple[Problem, ...]) -> str:
    return markup.table(
        pd.DataFrame(
            [
                {
                    screen.PROBLEM_FIGURE: problems.label_of(fault.where) or fault.file,
                    screen.PROBLEM_FOUND: fault.found,
                    screen.PROBLEM_EXPECTED: fault.expected,
                }
                for fault in faults
            ]
        )
    )


def refused() -> None:
    """Tells that there is a log which cannot be used."""
    try:
        log_file.opened()
    except LogError as fault:
        st.error(words.NO_LOG)
        st.html(_table(fault.problems))
