"""Other oil intervals, on demand: the plans are weighed anew at each."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from riskmodel.charts.intervals import interval_costs
from riskmodel.decision.intervals import IntervalStudy, interval_study
from riskmodel.decision.results import Weighing
from riskmodel.page import markup, state
from riskmodel.page.answer import digest
from riskmodel.records.case import Case
from riskmodel.records.inputs import BY_KEY
from riskmodel.words import intervals as words

_ASKED = "intervals asked"
_POWER = BY_KEY["oil.life_gamma"]


def section(w: Weighing) -> None:
    """A button, then the tables and the picture for the case as it stands."""
    st.header(words.HEADING, anchor=False)
    st.html(markup.paragraph(words.ABOUT))
    power = st.number_input(
        words.GAMMA,
        0.0,
        _POWER.high,
        w.case.oil.life_gamma,
        0.1,
        key=state.key("intervals.power"),
        help=_POWER.help,
    )
    case = replace(w.case, oil=replace(w.case.oil, life_gamma=power))
    content = f"{digest(w.case)} {power}"
    if st.button(words.ASK, key=state.key("intervals")):
        st.session_state[_ASKED] = content
    if st.session_state.get(_ASKED) != content:
        return
    study = _studied(content, case)
    st.html(markup.bullets(words.summary(study)))
    st.vega_lite_chart(interval_costs(study), theme=None, width="stretch")
    now = next(place for place, row in enumerate(study.rows) if row.now)
    st.subheader(words.SOONER, anchor=False)
    st.html(markup.table(words.table(study), now) + markup.paragraph(words.note(study), "quiet"))
    if study.gamma > 0:
        st.subheader(words.LONGER, anchor=False)
        st.html(
            markup.table(words.table(study, longer=True), now)
            + markup.paragraph(words.longer_note(study), "quiet")
        )
    told = words.warning_sentences(study)
    if told:
        with st.expander(words.WARNING):
            st.html(markup.paragraphs(told) + markup.table(words.warning_table(study), now))


@st.cache_resource(max_entries=16, show_spinner=words.STUDYING)
def _studied(content: str, _case: Case) -> IntervalStudy:
    return interval_study(_case)
