"""Plain questions on how it is driven, the shares that they imply, and a case that says so."""

from __future__ import annotations

import streamlit as st

from riskmodel.page import markup, state
from riskmodel.records.case import Case
from riskmodel.use.from_answers import stated_by
from riskmodel.use.questions import Implied, Question, implied_shares, questions
from riskmodel.words import use_questions as words

_WHAT = "use"


def ask(case: Case) -> None:
    """The questions folded away; what was answered before stays."""
    used = state.adopted(_WHAT)
    if used:
        st.html(markup.paragraph(words.IN_FORCE, "quiet"))
        st.button(words.TAKE_OUT, key=state.key("use.out"), on_click=state.take_back, args=(_WHAT,))
    with st.expander(words.TITLE):
        st.html(markup.paragraph(words.ABOUT))
        asked = questions(case.machine.unit)
        left, right = st.columns(2, gap="medium")
        half = (len(asked) + 1) // 2
        answers = {
            each.key: _answer(each, left if place < half else right)
            for place, each in enumerate(asked)
        }
        try:
            implied = implied_shares(answers, case.machine.unit, case.machine.usage_per_year)
        except ValueError as error:
            st.error(markup.markdown_text(f"{error}."))
            return
        _told(case, implied, used)


def _answer(question: Question, where: st.delta_generator.DeltaGenerator) -> float | None:
    return where.number_input(
        markup.markdown_text(question.text),
        min_value=float(question.low),
        max_value=float(question.high),
        value=None,
        step=1.0,
        format="%.10g",
        key=state.key(f"use.{question.key}"),
        placeholder=words.DONT_KNOW,
    )


def _told(case: Case, implied: Implied, used: bool) -> None:
    """The shares, and the button that states them in the case."""
    unit = case.machine.unit
    st.html(markup.table(words.shares_table(implied, unit)))
    notes = words.notes(implied, unit)
    if implied.mix.unknown:
        notes.append(words.IN_PART)
    if not used:
        notes.append(words.replaces(case))
    st.html(markup.paragraphs((note for note in notes if note), "quiet"))
    earlier = case.part.entered_at > 0 and _alike()
    st.button(
        words.USE,
        type="primary",
        key=state.key("use.use"),
        on_click=_state,
        args=(implied, earlier),
    )


def _alike() -> bool:
    """Whether it was driven before as it is now."""
    options = [words.BEFORE_UNKNOWN, words.BEFORE_ALIKE]
    chosen = st.radio(words.BEFORE, options, key=state.key("use.before"), horizontal=True)
    return chosen == words.BEFORE_ALIKE


def _state(implied: Implied, earlier: bool) -> None:
    """States the answers in the case as it was before any were."""
    if state.adopted(_WHAT):
        state.take_back(_WHAT)
    state.adopt(_WHAT, stated_by(state.base(), implied, earlier), {})
