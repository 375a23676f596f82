"""Two versions of the open case side by side: as it was kept, and as it is now.

Of a machine of the log version A is the machine as of an entry that the address names, so that a
reload and the back button come back to the comparison; of an example it is held for the visit.
"""

from __future__ import annotations

from typing import cast

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.decision.versions import compared, differing
from riskmodel.page import address, going, log_file, log_past, markup, state
from riskmodel.page.answer import answer, digest
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.log.errors import LogError
from riskmodel.records.log.log import Log
from riskmodel.words import versions as words

_A, _ENTERED = "versions.a", "versions.held"


def offer(case: Case) -> None:
    """The way to a comparison, where none is made."""
    if _version_a() is not None:
        return
    st.html(markup.paragraph(words.OFFER_ABOUT))
    st.button(words.OFFER, on_click=_begin, args=(case,), key=state.key("versions.offer"))


def section(case: Case, w: Weighing | None) -> None:
    """Both versions side by side; nothing where no comparison is made. `w` is the answer for
    `case` (None: symptoms stop all)."""
    a = _version_a()
    if a is None:
        return
    st.header(words.HEADING, anchor=False)
    same = digest(a) == digest(case)
    if same:
        st.html(markup.paragraph(words.NOTHING_YET))
    else:
        _told(a, case, w)
    logged = state.machine() is not None
    st.html(markup.paragraph(words.KEPT_LOG if logged else words.KEPT_EXAMPLE, "quiet"))
    with st.container(horizontal=True, gap="small"):
        label = words.STOP_ABOUT if same else words.STOP
        st.button(label, on_click=_end, key=state.key("versions.end"))
        if not same and _can_go_back():
            st.button(words.BACK, on_click=_go_back, key=state.key("versions.back"))
    if not same and not _can_go_back():
        st.html(markup.paragraph(words.OTHER_PART, "quiet"))


def _told(a: Case, case: Case, w: Weighing | None) -> None:
    if a.machine.unit != case.machine.unit:
        return
    if w is None or a.machine.symptoms:
        st.html(markup.paragraph(words.stopped(a, case)))
        st.html(markup.table(words.inputs_table(differing(a, case), (a, case))))
        return
    try:
        v = compared(answer(a), w, (a, case))
    except CannotAnswer as error:
        st.html(markup.paragraph(f"{words.CANNOT} {error}"))
        return
    st.html(markup.bullets(words.sentences(v)))
    st.html(markup.table(words.inputs_table(v.inputs, v.entered)))
    st.html(markup.table(words.figures_table(v)))


# --- version A -------------------------------------------------------------------------------


def _log() -> Log | None:
    try:
        return log_file.opened()
    except LogError:
        return None


def _version_a() -> Case | None:
    """The case that was kept to compare with; None where none was."""
    machine, seq, log = state.machine(), address.against(), _log()
    if machine is None:
        return cast("Case | None", st.session_state.get(state.key(_A)))
    if seq is None or log is None:
        return None
    name = (str(log.path), machine, seq)
    held = st.session_state.get(_ENTERED)
    if held is None or held[0] != name:
        held = (name, log_past.case_at(log, machine, seq))
        st.session_state[_ENTERED] = held
    return cast("Case | None", held[1])


def _begin(case: Case) -> None:
    log = _log()
    if state.machine() is None or log is None:
        st.session_state[state.key(_A)] = case
    else:
        address.compare(log.state().last)
    going.to_top()


def _end() -> None:
    st.session_state.pop(state.key(_A), None)
    address.compare(None)


def _can_go_back() -> bool:
    """Whether version A is of the part that is in now: a job done since is not undone by it."""
    machine, seq, log = state.machine(), address.against(), _log()
    if machine is None or seq is None or log is None:
        return machine is None
    return log_past.parts_at(log, machine, seq) == len(log.machine(machine).parts)


def _go_back() -> None:
    """Shows version A again; in the log that is entered like any other change."""
    machine, seq, log = state.machine(), address.against(), _log()
    case = _version_a()
    if machine is not None and seq is not None and log is not None:
        case = log_past.case_at(log, machine, seq, shared=False)
    _end()
    if case is not None:
        state.put(case)
