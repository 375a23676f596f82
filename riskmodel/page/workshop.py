"""The workshop's screen: every machine of the log, what is urgent first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import pandas as pd
import streamlit as st

from riskmodel.decision.rank_standings import Ranking, Standing, to_book
from riskmodel.page import (
    address,
    kept,
    log_file,
    log_files,
    markup,
    state,
    workshop_lab,
    workshop_rank,
    workshop_said,
)
from riskmodel.records.errors import InputError
from riskmodel.records.log.entries import Entry, MachineAdded
from riskmodel.records.log.errors import LogError
from riskmodel.records.log.log import Log
from riskmodel.records.log.state import MachineState
from riskmodel.records.log.waiting import SampleLine, sample_list
from riskmodel.words import log_page_workshop as words
from riskmodel.words import rank as rank_words

_FILTER, _PART = "workshop.filter", "workshop.part"


def show() -> None:
    """All machines, what to book this month, where the samples are, the log's file."""
    st.title(words.TITLE, anchor=False)
    kept.notices()
    kept.refused()
    st.button(words.BACK, on_click=_back)
    try:
        log = log_file.opened()
    except LogError:
        log = None
    if log is None or not log.state().machines:
        st.html(markup.paragraph(words.NONE))
    else:
        _machines(log)
        workshop_lab.section(log)
        workshop_said.section(log)
    if log is not None:
        _taken_out(log)
    log_files.section()


def _back() -> None:
    name = state.machine()
    if name is None:
        source = state.source()
        address.show(example="" if source == state.OWN else source)
    else:
        address.show(machine=name)


def _machines(log: Log) -> None:
    """One row for each: symptoms first, then overdue samples, then as they are ranked."""
    held = log.state()
    lines = sample_list(held, kept.today())
    overdue: dict[str, SampleLine] = {}
    for line in lines:
        if line.overdue:
            overdue.setdefault(line.machine.id, line)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        typed = st.text_input(words.FILTER, key=_FILTER).strip().lower()
        wanted = st.selectbox(
            words.SHOW, list(words.SHOWN), format_func=words.SHOWN.__getitem__, key=_PART
        )
    counted = st.container()
    found = workshop_rank.ranking(log)
    standings = {} if found is None else {each.name: each for each in found.standings}
    places = {name: number for number, name in enumerate(standings)}
    states = {
        name: words.state(machine, overdue.get(name)) for name, machine in held.machines.items()
    }
    shown = [
        machine
        for machine in sorted(
            held.machines.values(),
            key=lambda m: words.place(states[m.id], places.get(m.id), m.name),
        )
        if typed in f"{machine.name} {machine.id} {machine.parts[-1].code}".lower()
        and words.wanted(wanted, states[machine.id], machine)
    ]
    with counted:
        st.html(markup.paragraph(words.counted(len(shown), len(held.machines)), "quiet"))
        ranked = [standings[m.id] for m in shown if m.id in standings]
        if found is not None:
            st.html(markup.paragraph(" ".join(rank_words.summary(found, ranked))))
    if shown:
        rows = [words.row(m, states[m.id], standings.get(m.id)) for m in shown]
        st.html(markup.table(pd.DataFrame(rows), links=[words.link(m.id) for m in shown]))
    if found is not None:
        workshop_rank.offer(log, ranked)
        _notes(found, held.machines)
        _book(ranked)
    _samples([line for line in lines if words.under_way(line)])


def _notes(found: Ranking, machines: Mapping[str, MachineState]) -> None:
    """How the amounts came about, and which machines have none."""
    st.html(markup.paragraphs((words.WAITING_MEANS, rank_words.QUICK, rank_words.CAUTION), "quiet"))
    if found.unread:
        st.html(markup.bullets(words.unread(found, machines)))


def _book(ranked: list[Standing]) -> None:
    """What has to be booked by the end of the month."""
    month = kept.today()[:7]
    st.header(words.book_heading(month), anchor=False)
    st.html(markup.bullets(rank_words.booking(to_book(ranked, month), month)))


def _samples(lines: list[SampleLine]) -> None:
    """Samples on their way, overdue ones first."""
    st.header(words.SAMPLES, anchor=False)
    if not lines:
        st.html(markup.paragraph(words.NO_SAMPLES))
        return
    rows = [words.sample_row(line) for line in lines]
    st.html(markup.table(pd.DataFrame(rows), links=[words.link(line.machine.id) for line in lines]))


def _taken_out(log: Log) -> None:
    """Machines whose adding was undone, each with the way back."""
    here = log.state().machines
    gone = {
        entry.machine: entry
        for entry in log.history()
        if isinstance(entry.payload, MachineAdded) and entry.machine not in here
    }
    if not gone:
        return
    with st.expander(words.TAKEN_OUT):
        st.html(markup.paragraph(words.TAKEN_OUT_ABOUT))
        called = Counter(_name(entry) for entry in gone.values())
        for name, entry in gone.items():
            shown = _name(entry) if called[_name(entry)] == 1 else f"{_name(entry)} ({name})"
            st.button(
                markup.markdown_text(words.BRING_BACK.format(name=shown)),
                on_click=_bring_back,
                args=(entry.seq,),
                key=f"workshop.back.{name}",
            )


def _name(entry: Entry) -> str:
    """What the machine was called when it was added."""
    assert isinstance(entry.payload, MachineAdded)
    return str(entry.payload.contents.get("machine", {}).get("name", ""))


def _bring_back(seq: int) -> None:
    """Undoes the undo of a machine's adding."""
    log = log_file.opened()
    undo = None if log is None else log.undone_by(seq)
    if log is not None and undo is not None:
        try:
            log.undo(undo.seq, author=state.author())
        except InputError as fault:
            state.tell(str(fault))
