"""What the last change did to the answer, and what would sharpen it most."""

from __future__ import annotations

from typing import cast

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.decision.versions import compared
from riskmodel.page import going, illustrative, log_past, state
from riskmodel.page.answer import answer, digest
from riskmodel.page.markup import block, paragraph, paragraphs
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.words import missing, versions

_LAST, _BEFORE = "changes.last", "changes.before"


def last(w: Weighing, case: Case) -> None:
    """What the last change did; nothing where there was none. `case` is the one weighed, as it
    was entered."""
    before = _before(case)
    if before is None or before.machine.unit != case.machine.unit:
        return
    if before.machine.symptoms:
        told = [versions.AFTER_STOP]
    else:
        try:
            told = versions.last_change(compared(answer(before), w, (before, case)))
        except CannotAnswer:
            told = [versions.FIRST_ANSWER]
    st.html(block("kept", paragraphs([" ".join(told)], "quiet")))


def _before(case: Case) -> Case | None:
    """The case before the last change: in the log, or as this visitor saw it before."""
    if state.machine() is not None:
        return log_past.before_the_last_step(case)
    held = cast("Case | None", st.session_state.get(state.key(_LAST)))
    if held is not None and digest(held) != digest(case):
        st.session_state[state.key(_BEFORE)] = held
    st.session_state[state.key(_LAST)] = case
    return cast("Case | None", st.session_state.get(state.key(_BEFORE)))


def wanted(w: Weighing, case: Case) -> None:
    """What is still missing and would sharpen the answer most, with the way there. `case` is the
    one weighed, as it was entered."""
    lent = bool(illustrative.told(w.case))
    found = missing.missing(w, case, invented=lent)
    if not found:
        return
    with st.expander(missing.heading(len(found)), expanded=not w.records_used or lent):
        items = "".join(
            f"<li>{paragraph(each.text)[3:-4]} {missing.WHERE} {_where(each)}.</li>"
            for each in found
        )
        st.html(f"<ol>{items}</ol>" + paragraph(missing.ORDER, "quiet"))


def _where(each: missing.Missing) -> str:
    if each.on_the_panel:
        return paragraph(missing.on_the_panel(each.section))[3:-4]
    return f"“{going.link(each.section)}”"
