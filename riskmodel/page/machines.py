"""The machines of the log: choosing one, keeping an example, starting one from a few figures."""

from __future__ import annotations

from typing import Any, cast

import streamlit as st
import tomli_w

from riskmodel.page import address, kept, log_file, problems, state
from riskmodel.page.answer import answer
from riskmodel.page.markup import markdown_text, paragraph
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import CASE_FILE, case_from_files
from riskmodel.records.inputs import BY_KEY, CEILING, UNITS
from riskmodel.records.log.errors import LogError
from riskmodel.words import log_page as words
from riskmodel.words import log_page_start as start_words

_FAULTS = "start.faults"
_REQUIRED = ("reading", "usage_per_year", "interval", "planned", "failure", "keep_years", "b50_low")


def names() -> dict[str, str]:
    """The machines of the log by id, as a list shows them."""
    try:
        log = log_file.opened()
    except LogError:
        return {}
    if log is None:
        return {}
    held = {name: machine.name or name for name, machine in log.state().machines.items()}
    twice = {name for name in held.values() if list(held.values()).count(name) > 1}
    return {name: f"{text} ({name})" if text in twice else text for name, text in held.items()}


def choose() -> None:
    """The machines of one's own, where there are any."""
    known = names()
    if not known:
        return
    widget = state.key("machines")
    held = state.machine()
    ids = list(known)
    st.selectbox(
        words.YOUR_MACHINES,
        ids,
        ids.index(held) if held in known else None,
        format_func=lambda name: markdown_text(known[name]),
        key=widget,
        on_change=_chosen,
        args=(widget,),
        placeholder=words.CHOOSE_NONE,
    )
    st.button(start_words.ALL_MACHINES, on_click=_workshop, width="stretch")


def _chosen(widget: str) -> None:
    name = st.session_state[widget]
    if name is not None:
        state.open_machine(name)


def _workshop() -> None:
    address.show(*address.asked()[:2], address.WORKSHOP)


def keep_example(case: Case) -> None:
    """Beside an example: what becomes of changes, and the way to keep them."""
    if state.machine() is None:
        st.html(paragraph(words.EXAMPLE_ABOUT if state.source() != state.OWN else "", "quiet"))
        st.button(
            words.KEEP_EXAMPLE,
            on_click=state.take_in,
            args=(case, words.THE_EXAMPLE),
            width="stretch",
            key=state.key("keep"),
        )


def start_anew() -> None:
    """A new machine from a few figures, folded away."""
    folded = st.expander(start_words.START, key="start", on_change="rerun")
    if not folded.open:
        return
    with folded, st.form("start.form", border=False):
        st.html(paragraph(start_words.ABOUT, "quiet"))
        st.text_input(BY_KEY["machine.name"].label, key="start.name")
        st.radio(
            BY_KEY["machine.unit"].label,
            UNITS,
            key="start.unit",
            horizontal=True,
            format_func=start_words.UNIT_NAMES.__getitem__,
        )
        for name, (label, help) in start_words.figures().items():
            _number(name, label, help)
        st.html(paragraph(start_words.HALF_LIFE))
        with st.container(horizontal=True, gap="small"):
            _number("b50_low", start_words.HALF_FROM)
            _number("b50_high", start_words.HALF_TO)
        st.form_submit_button(start_words.DO, on_click=_start, type="primary")
        faults = cast("tuple[Problem, ...]", st.session_state.get(_FAULTS, ()))
        if faults:
            problems.figures(faults)


def _number(name: str, label: str, help: str = "") -> None:
    st.number_input(
        markdown_text(label),
        min_value=0.0,
        max_value=CEILING,
        value=None,
        step=1.0,
        format="%.10g",
        key=f"start.{name}",
        help=help or None,
    )


def _start() -> None:
    """Takes the machine in, or remembers what is missing or wrong."""
    typed = {name: st.session_state.get(f"start.{name}") for name in _REQUIRED}
    missing = [name for name, value in typed.items() if value is None]
    st.session_state[_FAULTS] = tuple(
        Problem("", start_words.KEYS[name], words.NOTHING, words.A_NUMBER) for name in missing
    )
    if missing:
        return
    figures = {name: float(value) for name, value in typed.items() if value is not None}
    high = st.session_state.get("start.b50_high") or figures["b50_low"]
    try:
        raw: dict[str, Any] = {"format": 1, "machine": {"unit": st.session_state["start.unit"]}}
        if name := st.session_state.get("start.name"):
            raw["machine"]["name"] = name
        for place, value in figures.items():
            section, _, entry = start_words.KEYS[place].partition(".")
            raw.setdefault(section, {})[entry] = value
        raw["life"]["b50_prior"] = [figures["b50_low"], float(high)]
        raw["machine"]["date"] = kept.today()
        case = case_from_files({CASE_FILE: tomli_w.dumps(raw).encode("utf-8")})
        answer(case)
        state.take_in(case, words.FROM_THE_PAGE)
    except InputError as fault:
        st.session_state[_FAULTS] = fault.problems
    except CannotAnswer as fault:
        st.session_state[_FAULTS] = (Problem("", "", str(fault), words.A_NUMBER),)
