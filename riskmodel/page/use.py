"""How it was driven on the page: effective age, stretches, other habits, the plain questions."""

from __future__ import annotations

import streamlit as st

from riskmodel.charts.use_ages import use_ages
from riskmodel.charts.use_parts import use_parts
from riskmodel.decision.habits import Habit, habits
from riskmodel.decision.results import Weighing
from riskmodel.decision.use_study import harshness_on_record
from riskmodel.page import markup, state
from riskmodel.page.answer import digest, digest_of_chances
from riskmodel.page.use_questions import ask
from riskmodel.records.case import Case
from riskmodel.risk.chance_parts import parts_of_chance
from riskmodel.use.learned import Learned
from riskmodel.use.parts_of_spread import SpreadParts
from riskmodel.words import screen
from riskmodel.words import use as words
from riskmodel.words import use_habits as compared

_ASKED = "habits asked"


def section(w: Weighing) -> None:
    """What its usage counts like, and what makes the chance unsure; habits on demand."""
    if w.use is None:
        return
    st.header(words.HEADING, anchor=False)
    st.html(markup.paragraphs(words.lead(w)))
    chart = use_ages(w)
    if chart is not None:
        with st.expander(words.STRETCHES):
            st.vega_lite_chart(chart, theme=None, width="stretch")
            st.html(markup.bullets([*words.stretches(w), *words.details(w)]))
            st.markdown(f"**{screen.TABLE}**")
            st.html(markup.table(words.table(w)))
    ask(w.case)
    _parts(w.case)
    _habits(w.case)


def _parts(case: Case) -> None:
    """The bar, its sentence, its figures."""
    found = _split(digest_of_chances(case), case)
    st.subheader(compared.PARTS_HEADING, anchor=False)
    chart = use_parts(case, found)
    if chart is not None:
        st.vega_lite_chart(chart, theme=None, width="stretch")
    st.html(markup.paragraph(compared.parts_sentence(case, found)))
    if chart is not None:
        with st.expander(screen.TABLE):
            st.html(markup.table(compared.parts_table(case, found)))


def _habits(case: Case) -> None:
    """A button, then the habits side by side for the case as it stands."""
    st.subheader(compared.HEADING, anchor=False)
    st.html(markup.paragraph(compared.ABOUT))
    content = digest(case)
    if st.button(compared.ASK, key=state.key("habits")):
        st.session_state[_ASKED] = content
    if st.session_state.get(_ASKED) != content:
        return
    found, learned = _compared(content, case)
    st.html(markup.table(compared.table(case, found), 0))
    told = [*compared.sentences(case, found), *words.learned_sentences(learned)]
    st.html(markup.bullets(told))


@st.cache_resource(max_entries=32, show_spinner=False)
def _split(content: str, _case: Case) -> SpreadParts:
    return parts_of_chance(_case)


@st.cache_resource(max_entries=16, show_spinner=compared.WEIGHING)
def _compared(content: str, _case: Case) -> tuple[tuple[Habit, ...], Learned | None]:
    return habits(_case), harshness_on_record(_case)
