"""The log of the open machine: what happened, where its samples are, what was found and decided."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.page import address, kept, log_enter, log_file, log_forms, log_typed, state
from riskmodel.page.markup import block, bullets, escaped, markdown_text, paragraph, table
from riskmodel.records.log.entries import Entry, RecordsSet
from riskmodel.records.log.errors import LogError
from riskmodel.records.log.lives import life_of
from riskmodel.records.log.log import Log
from riskmodel.records.log.state import LogState, MachineState
from riskmodel.records.log.waiting import sample_list
from riskmodel.words import formats, log_page, log_page_workshop
from riskmodel.words import log_page_entries as entry_words
from riskmodel.words import log_page_forms as words

_BY = "log.by"


def section(w: Weighing | None) -> None:
    """The whole section; nothing where no machine of the log is open."""
    name = state.machine()
    if name is None:
        return
    try:
        log = log_file.opened()
    except LogError:  # told at the head of the page
        return
    if log is None or name not in log.state().machines:
        return
    machine = log.machine(name)
    st.header(words.THE_LOG, anchor=False)
    st.html(paragraph(words.ABOUT))
    _who()
    log_forms.show(machine, w)
    _samples(log.state(), machine)
    _jobs(machine)
    _decisions(machine)
    _history(log, machine)


def _who() -> None:
    st.session_state.setdefault(_BY, address.author())
    st.text_input(words.BY, key=_BY, help=words.BY_HELP, on_change=_sign, max_chars=60)


def _sign() -> None:
    address.sign(st.session_state[_BY])


def _samples(held: LogState, machine: MachineState) -> None:
    """Where its samples are, those under way in sight."""
    lines = sample_list(held, kept.today(), machine=machine.id)
    if not lines:
        return
    rows = [
        {
            words.SAMPLE_COLUMN: entry_words.sample(line.sample.taken.what, machine.unit),
            words.STATE_COLUMN: log_page_workshop.step(line),
            words.SINCE_COLUMN: "" if line.since is None else formats.day(line.since),
            words.OVERDUE_COLUMN: words.days(line.overdue),
        }
        for line in lines
    ]
    under_way = any(line.sample.stage in ("taken", "sent") for line in lines)
    with st.expander(words.SAMPLES_HEADING, expanded=under_way):
        st.html(table(pd.DataFrame(rows)))


def _jobs(machine: MachineState) -> None:
    """Work on the part, what was found shell by shell, and the life records it made."""
    if not machine.jobs:
        return
    ended = {part.ended.uuid: part for part in machine.parts if part.ended is not None}
    st.subheader(words.JOBS, anchor=False)
    for held in reversed(machine.jobs):
        told = [formats.sentence(entry_words.finding(found.what)) for found in held.findings]
        text = paragraph(formats.sentence(entry_words.job(held.job.what, machine.unit)))
        life = life_of(machine, ended[held.uuid]) if held.uuid in ended else None
        if life is not None:
            age = formats.usage(life.age, machine.unit)
            told.append(words.record_made(words.OUTCOMES[life.outcome], age))
        st.html(text + (bullets(told) if told else ""))


def _decisions(machine: MachineState) -> None:
    """Each decision, and the answer that was shown then, word for word."""
    if not machine.decisions:
        return
    with st.expander(words.DECISIONS):
        for held in reversed(machine.decisions):
            st.html(
                paragraph(formats.sentence(entry_words.decision(held.what)))
                + paragraph(words.version(held.entry.program), "quiet")
                + block("kept", escaped(held.what.shown))
            )


def _history(log: Log, machine: MachineState) -> None:
    """Every entry, newest first, and the way to undo one."""
    entries = [entry for entry in log.history() if _concerns(entry, machine)]
    undone = {entry.seq for entry in entries if log.undone_by(entry.seq) is not None}
    with st.expander(f"{words.HISTORY} ({len(entries)})"):
        st.html(
            bullets(
                f"{entry.seq}: {_told(log, entry.seq, machine, entry.seq in undone)} "
                f"({entry_words.by(entry)})"
                for entry in reversed(entries)
            )
        )
        st.html(paragraph(words.UNDO_ABOUT, "quiet"))
        open_ones = [entry.seq for entry in reversed(entries) if entry.seq not in undone]
        told = {seq: f"{seq}: {_told(log, seq, machine, False)}" for seq in open_ones}
        which = st.selectbox(
            words.UNDO_WHICH,
            open_ones,
            None,
            format_func=lambda seq: markdown_text(told[seq]),
            key=log_typed.key(machine.id, "undo", "which"),
            placeholder=words.UNDO_NONE,
        )
        why = st.text_input(words.UNDO_WHY, key=log_typed.key(machine.id, "undo", "why"))
        st.button(
            words.UNDO_DO,
            on_click=log_enter.undo,
            args=(machine.id, which, why),
            disabled=which is None,
            key=log_typed.key(machine.id, "undo", "do"),
        )
    log_enter.outcome(machine.id, "undo")


def _concerns(entry: Entry, machine: MachineState) -> bool:
    """Whether an entry is about the machine, or about the life records that it shares."""
    payload = entry.payload
    if entry.machine is None:
        group = payload.group if isinstance(payload, RecordsSet) else None
        return group is not None and group == machine.group
    return entry.machine == machine.id


def _told(log: Log, seq: int, machine: MachineState, undone: bool) -> str:
    entry = log.history()[seq - 1]
    text = formats.sentence(entry_words.what(entry.payload, machine.unit))
    if entry.undoes is not None:
        text = f"{text} ({words.UNDOES.format(seq=entry.undoes)})"
    return f"{text} – {words.UNDONE}" if undone else text


def nothing_to_weigh() -> None:
    """What stands in the place of an answer where no part is in service."""
    log, name = log_file.opened(), state.machine()
    if log is not None and name is not None and name in log.state().machines:
        st.html(block("stop", paragraph(f"{log.machine(name).name}: {log_page.NO_PART}")))
