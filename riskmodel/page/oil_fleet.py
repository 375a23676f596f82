"""Other engines' samples on the page: what they tell, and bringing a table of them in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

import streamlit as st

from riskmodel.charts import oil_tables
from riskmodel.charts.oil_rates import near
from riskmodel.oil.fleet import Drawn
from riskmodel.page import markup, problems, state
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import FLEET_FILE
from riskmodel.risk.oil_look import OilLook
from riskmodel.words import oil_fleet as words
from riskmodel.words import oil_fleet_limits as limits

_FAULTS = "fleet.faults"
_UPLOAD = "fleet.upload"
_WHAT = "fleet"
_EXPANDER = "fleet.bring"


def section(case: Case, found: OilLook) -> None:
    """What is usual in other engines and their limits, where the case has their samples; the
    place to bring them in."""
    if found.fleet is not None:
        st.subheader(words.TITLE, anchor=False)
        st.html(markup.paragraph(words.table_title(case), "quiet"))
        st.html(markup.table(oil_tables.fleet(case, found.fleet)))
        st.html(markup.paragraph(words.table_note(), "quiet"))
        st.html(markup.bullets(words.level_sentences(case, found.fleet)))
        with st.expander(limits.LIMITS):
            told = limits.limit_sentences(case, found.rows, found.fleet)
            st.html(markup.bullets(told))
    _bring(case, found)


def drawn(found: OilLook, symbol: str) -> tuple[Drawn, ...]:
    """The limits by other engines to draw for a metal."""
    held = None if found.fleet is None else found.fleet.elements.get(symbol)
    return () if held is None else held.drawn


def chart_key(found: OilLook) -> None:
    """What the dotted lines are, and that some are not drawn."""
    if found.fleet is None or not found.rows:
        return
    told = [
        (one, near(one, found.rows, found.limits.get(symbol), symbol))
        for symbol in found.fleet.elements
        if (one := drawn(found, symbol))
    ]
    if any(shown for _, shown in told):
        st.html(markup.paragraph(limits.CHART_KEY))
    if any(one[-1] not in shown for one, shown in told):
        st.html(markup.paragraph(limits.NOT_DRAWN, "quiet"))


def _bring(case: Case, found: OilLook) -> None:
    """A table to bring in, folded away; its faults in place. Nothing is drawn before it is
    opened."""
    folded = st.expander(words.BRING, key=state.key(_EXPANDER), on_change="rerun")
    uploader = state.key(_UPLOAD)
    if not folded.open and not st.session_state.get(uploader):
        return  # once there is a table, folding must not throw it away
    with folded:
        if case.oil.element:
            st.html(markup.paragraph(words.BRING_ABOUT.format(unit=case.machine.unit)))
            if found.fleet is not None:
                st.html(markup.paragraph(words.brought(found.fleet)))
            st.file_uploader(
                words.BRING_FILE,
                type=["csv"],
                key=uploader,
                help=words.BRING_HELP,
                on_change=_offered,
                args=(uploader,),
            )
            problems.files(_faults())
        else:
            st.html(markup.paragraph(words.BRING_FIRST))
        if state.adopted(_WHAT):
            st.button(words.TAKE_OUT, key=state.key("fleet.out"), on_click=_take_back)


def _offered(uploader: str) -> None:
    """Takes the table into the open case, or remembers what is wrong with it."""
    st.session_state[state.key(_FAULTS)] = ()
    file = st.session_state[uploader]
    if file is None:
        return
    name = _name(state.base())
    try:
        state.adopt(_WHAT, {"oil.fleet": name}, {name: file.getvalue()})
    except InputError as error:
        told = tuple(replace(p, file=file.name) if p.file == name else p for p in error.problems)
        st.session_state[state.key(_FAULTS)] = told
    except CannotAnswer as error:
        told = (Problem(file.name, "", str(error), words.TELLING),)
        st.session_state[state.key(_FAULTS)] = told


def _take_back() -> None:
    st.session_state[state.key(_FAULTS)] = ()
    state.take_back(_WHAT)


def _name(case: Case) -> str:
    """What the table is called in the case: by no name that another has."""
    if case.oil.fleet is not None:
        return case.oil.fleet
    taken = {str(name).lower() for name in (case.life.records, case.oil.samples)}
    return FLEET_FILE if FLEET_FILE not in taken else f"other-{FLEET_FILE}"


def _faults() -> tuple[Problem, ...]:
    return tuple(cast(Sequence[Problem], st.session_state.get(state.key(_FAULTS), ())))
