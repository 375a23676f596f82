"""A machine of the log as it was: as of an earlier entry, and before the last step."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import cast

import streamlit as st

from riskmodel.page import log_file, state
from riskmodel.page.answer import digest
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.log.assemble import assembled
from riskmodel.records.log.book import Book
from riskmodel.records.log.entries import Entry
from riskmodel.records.log.errors import LogError
from riskmodel.records.log.log import Log

TOGETHER = 0.05
"""Seconds within which entries by the same author are one step (judgement: they come from one
press of a button; people are slower)."""
_FAR_BACK = 12
"""Steps that changed nothing, looked past before the search is given up."""
_HELD = "log.past"


def case_at(log: Log, machine: str, seq: int, *, shared: bool = True) -> Case | None:
    """The case of a machine as the log had it at entry `seq`; None where it was not there yet,
    had no part in service, or cannot be read by this version."""
    held = _book(log, machine, seq).state()
    if machine not in held.machines:
        return None
    try:
        return state.settled(assembled(held, machine, shared=shared).case())
    except (CannotAnswer, InputError):
        return None


def _book(log: Log, machine: str, seq: int) -> Book:
    """The entries up to `seq` that can enter the case of a machine: its own, those of machines
    whose part wears alike, and life records."""
    state = log.state()
    own = state.machines.get(machine)
    mates = () if own is None else state.mates(own)
    wanted = {None, machine, *(mate.id for mate in mates)}
    book = Book()
    for entry in log.history()[:seq]:
        if entry.machine in wanted:
            book.push(entry)
    return book


def parts_at(log: Log, machine: str, seq: int) -> int:
    """How many parts the machine had had by entry `seq`."""
    found = _book(log, machine, seq).machine(machine)
    return 0 if found is None else len(found.parts)


def before_the_last_step(case: Case) -> Case | None:
    """The open machine's case before the last step that changed it; None where there was none."""
    machine = state.machine()
    try:
        log = log_file.opened()
    except LogError:
        return None
    if machine is None or log is None or machine not in log.state().machines:
        return None
    name = (str(log.path), machine, log.seal)
    held = st.session_state.get(_HELD)
    if held is None or held[0] != name:
        held = (name, _before(log, machine, digest(case)))
        st.session_state[_HELD] = held
    return cast("Case | None", held[1])


def _before(log: Log, machine: str, now: str) -> Case | None:
    history = log.history()
    concerns = [entry for entry in history if entry.machine in (machine, None)]
    for first in _steps(concerns)[:_FAR_BACK]:
        case = case_at(log, machine, first - 1)
        if case is None:
            return None
        if digest(case) != now:
            return case
    return None


def _steps(entries: Sequence[Entry]) -> list[int]:
    """The first entry of each step, the newest step first."""
    found: list[int] = []
    for entry, before in zip(reversed(entries), [*reversed(entries[:-1]), None], strict=True):
        if before is None or not _together(before, entry):
            found.append(entry.seq)
    return found


def _together(one: Entry, other: Entry) -> bool:
    times = (datetime.datetime.fromisoformat(entry.recorded) for entry in (one, other))
    first, second = times
    apart = (second - first).total_seconds()
    return one.author == other.author and 0 <= apart < TOGETHER
