"""The short forms of the log: what has happened to a machine, one line each."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.page import log_enter
from riskmodel.page.log_typed import key, symbols_of
from riskmodel.page.markup import markdown_text, paragraph
from riskmodel.records.inputs import BY_KEY, CEILING
from riskmodel.records.log.entries import PRICES
from riskmodel.records.log.state import MachineState, SampleState
from riskmodel.words import log_page_entries as entry_words
from riskmodel.words import log_page_forms as words
from riskmodel.words import symptom_words
from riskmodel.words.formats import sentence
from riskmodel.words.plan_names import advice, plan_name


def show(machine: MachineState, w: Weighing | None) -> None:
    """What happened is asked first; then only what belongs to it."""
    kinds = list(words.FORMS)
    kind = st.selectbox(
        words.ASK, kinds, format_func=words.FORMS.__getitem__, key=f"log.kind.{machine.id}"
    )
    with st.form(key(machine.id, kind, "form"), enter_to_submit=True):
        ready = _DRAWN[kind](machine, w)
        st.form_submit_button(
            words.ENTER,
            on_click=log_enter.enter,
            args=(machine.id, kind, w),
            type="primary",
            disabled=not ready,
        )
    log_enter.outcome(machine.id)


class _Draw:
    """The widgets of one form, each under a key of its own."""

    def __init__(self, machine: MachineState, kind: str) -> None:
        self.machine, self.kind = machine, kind

    def _key(self, name: str) -> str:
        return key(self.machine.id, self.kind, name)

    def number(self, name: str, label: str, help: str = "", value: float | None = None) -> None:
        st.number_input(
            markdown_text(label.format(unit=self.machine.unit)),
            min_value=0.0,
            max_value=CEILING,
            value=value,
            format="%.10g",
            step=1.0,
            key=self._key(name),
            help=help or None,
        )

    def text(self, name: str, label: str, help: str = "", placeholder: str = "") -> None:
        st.text_input(
            markdown_text(label),
            key=self._key(name),
            help=markdown_text(help) or None,
            placeholder=placeholder or None,
        )

    def day(self, name: str, label: str, *, today: bool = True) -> None:
        st.date_input(label, "today" if today else None, key=self._key(name), format="YYYY-MM-DD")

    def tick(self, name: str, label: str) -> None:
        st.checkbox(label, key=self._key(name))

    def one_of(self, name: str, label: str, options: Mapping[str, str]) -> None:
        st.selectbox(label, list(options), format_func=options.__getitem__, key=self._key(name))

    def meter(self) -> None:
        with _row():
            self.number("reading", words.READING)
            self.day("date", words.DATE)

    def note(self) -> None:
        self.text("note", words.NOTE)


def _row() -> st.delta_generator.DeltaGenerator:
    return st.container(horizontal=True, gap="small", vertical_alignment="bottom")


def _meter(machine: MachineState, w: Weighing | None, kind: str) -> bool:
    draw = _Draw(machine, kind)
    draw.meter()
    draw.note()
    return True


def _taken(machine: MachineState, w: Weighing | None) -> bool:
    draw = _Draw(machine, "taken")
    draw.meter()
    with _row():
        draw.number("oil_age", words.OIL_AGE)
        draw.number("top_up", words.TOP_UP, value=0.0)
    with _row():
        draw.text("bottle", words.BOTTLE)
        draw.text("lab", words.LAB)
    draw.tick("drained", words.DRAINED)
    draw.note()
    return True


def _sample(draw: _Draw, machine: MachineState, stages: tuple[str, ...]) -> bool:
    found = samples_at(machine, stages)
    if not found:
        st.html(paragraph(words.NO_SAMPLE))
        return False
    names = {s.uuid: entry_words.sample(s.taken.what, machine.unit) for s in found}
    draw.one_of("sample", words.SAMPLE, names)
    return True


def samples_at(machine: MachineState, stages: tuple[str, ...]) -> list[SampleState]:
    """The samples that are at one of these steps, the oldest first."""
    return [sample for sample in machine.samples if sample.stage in stages]


def _sent(machine: MachineState, w: Weighing | None) -> bool:
    draw = _Draw(machine, "sent")
    if not _sample(draw, machine, ("taken",)):
        return False
    with _row():
        draw.day("date", words.DATE)
        draw.text("lab", words.LAB)
    return True


def _back(machine: MachineState, w: Weighing | None) -> bool:
    draw = _Draw(machine, "back")
    symbols = symbols_of(machine)
    if not symbols:
        st.html(paragraph(words.NO_ELEMENTS))
        return False
    if not _sample(draw, machine, ("taken", "sent")):
        return False
    draw.day("date", words.DATE)
    with st.container(horizontal=True, gap="small"):
        for symbol in symbols:
            st.text_input(
                words.ELEMENT.format(symbol=markdown_text(symbol)),
                key=key(machine.id, "back", f"element.{symbol}"),
                help=words.ELEMENT_HELP,
                width=110,
            )
    return True


def _told(machine: MachineState, w: Weighing | None) -> bool:
    draw = _Draw(machine, "told")
    if not _sample(draw, machine, ("back",)):
        return False
    draw.day("date", words.DATE)
    draw.note()
    return True


def _quote(machine: MachineState, w: Weighing | None) -> bool:
    draw = _Draw(machine, "quote")
    names = {name: sentence(entry_words.PRICES[name]) for name in PRICES}
    draw.one_of("price", words.PRICE, names)
    with _row():
        draw.number("low", words.LOW)
        draw.number("high", words.HIGH)
    with _row():
        draw.text("by", words.OFFERED_BY)
        draw.day("date", words.DATE)
        draw.day("until", words.UNTIL, today=False)
    draw.note()
    return True


def _decision(machine: MachineState, w: Weighing | None) -> bool:
    advised = None if w is None else advice(w)
    if w is None or advised is None:
        st.html(paragraph(words.NO_ANSWER))
        return False
    draw = _Draw(machine, "decision")
    names = {str(i): plan_name(w, i) for i in range(len(w.all_plans))}
    first = words.FIRST if w.first_step else str(w.chosen)
    names.pop(first, None)
    names = {first: words.ADVISED.format(plan=advised.name), **names}
    draw.one_of("chosen", words.CHOSEN, {**names, "": words.NOTHING_CHOSEN})
    draw.tick("declined", words.DECLINED)
    with _row():
        draw.text("by", words.DECIDED_BY)
        draw.day("date", words.DATE)
    draw.note()
    return True


def _job(machine: MachineState, w: Weighing | None) -> bool:
    draw = _Draw(machine, "job")
    held = ("fitted",) if machine.part is None else tuple(n for n in words.DONES if n != "fitted")
    draw.one_of("done", words.DONE, {name: words.DONES[name] for name in held})
    draw.meter()
    if machine.part is not None:
        with _row():
            draw.one_of("why", words.WHY, words.WHYS)
            draw.one_of("cause", words.CAUSE, words.CAUSES)
        draw.number("whole_at", words.WHOLE_AT, words.WHOLE_AT_HELP)
    draw.number("price", words.PAID)
    with _row():
        draw.text("new_code", words.NEW_CODE, words.NEW_PART_HELP)
        draw.text("new_lining", words.NEW_LINING, words.NEW_PART_HELP)
    st.multiselect(
        words.SYMPTOMS_LEFT,
        BY_KEY["machine.symptoms"].choices,
        format_func=lambda name: sentence(symptom_words(name)),
        key=key(machine.id, "job", "symptoms"),
    )
    draw.note()
    return True


def _finding(machine: MachineState, w: Weighing | None) -> bool:
    if not machine.jobs:
        st.html(paragraph(words.NO_JOB))
        return False
    draw = _Draw(machine, "finding")
    newest = reversed(machine.jobs)
    draw.one_of(
        "job", words.JOB, {j.uuid: entry_words.job(j.job.what, machine.unit) for j in newest}
    )
    with _row():
        draw.text("position", words.POSITION, placeholder=words.POSITION_HOLDER)
        draw.one_of("look", words.LOOK, entry_words.LOOKS)
    with _row():
        draw.number("clearance", words.CLEARANCE)
        draw.text("photo", words.PHOTO)
    draw.note()
    return True


_DRAWN: Mapping[str, Callable[[MachineState, Weighing | None], bool]] = {
    "reading": lambda machine, w: _meter(machine, w, "reading"),
    "oil": lambda machine, w: _meter(machine, w, "oil"),
    "taken": _taken,
    "sent": _sent,
    "back": _back,
    "told": _told,
    "quote": _quote,
    "decision": _decision,
    "job": _job,
    "finding": _finding,
    "retired": lambda machine, w: _meter(machine, w, "retired"),
}
