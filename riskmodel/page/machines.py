"""The machines of the log: choosing one, keeping an example, the way to starting one."""

from __future__ import annotations

from typing import Literal

import streamlit as st

from riskmodel.page import address, going, log_file, state
from riskmodel.page.markup import markdown_text, paragraph
from riskmodel.records.case import Case
from riskmodel.records.log.errors import LogError
from riskmodel.words import first_visit
from riskmodel.words import log_page as words
from riskmodel.words import log_page_start as start_words


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
    to_all(width="stretch")


def to_all(width: Literal["stretch", "content"] = "content") -> None:
    """The way to the screen of all machines."""
    st.button(start_words.ALL_MACHINES, on_click=_workshop, width=width, key="all")


def _chosen(widget: str) -> None:
    name = st.session_state[widget]
    if name is not None:
        state.open_machine(name)
        going.to_top()


def _workshop() -> None:
    state.leave_draft()
    address.show(*address.asked()[:2], address.WORKSHOP)
    going.to_top()


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
    """The way to the plain questions that start a machine."""
    st.button(first_visit.START_ANOTHER, on_click=_start_anew, width="stretch", key="start")


def _start_anew() -> None:
    address.show(screen=address.START)
    going.to_top()
