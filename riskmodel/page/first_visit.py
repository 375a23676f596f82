"""The first visit: a few plain questions, then the verdict; one's own machines, examples, files.

Until there is a verdict the answers stand in the page's address, which a reload, a bookmark and
the back button keep; then they are a machine of the log.
"""

from __future__ import annotations

from typing import cast

import pandas as pd
import streamlit as st

from riskmodel.page import (
    first_case,
    first_questions,
    going,
    kept,
    log_file,
    machines,
    problems,
    state,
)
from riskmodel.page.address import DRAFT
from riskmodel.page.answer import verdict
from riskmodel.page.examples import EXAMPLES
from riskmodel.page.files import offer
from riskmodel.page.first_case import FirstAnswers
from riskmodel.page.markup import block, heading, markdown_text, paragraph, paragraphs, table
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import changed
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.log.errors import LogError
from riskmodel.words import first_visit as words
from riskmodel.words import log_page, screen, stop_heading, stop_text, symptom_words
from riskmodel.words.formats import sentence

_FAULTS, _MADE = "first.faults", "first.made"


def show() -> None:
    """The whole screen."""
    st.title(screen.TITLE, anchor=False)
    kept.notices()
    kept.refused()
    problems.files(state.upload_problems(), screen.NOT_TAKEN_IN)
    st.html(paragraph(words.INTRO, "lead"))
    _own_machines()
    st.header(screen.SYMPTOMS_ASK, anchor=False)
    symptoms = _symptoms()
    st.header(words.QUESTIONS, anchor=False)
    st.html(paragraph(words.KEPT, "quiet"))
    answers = first_questions.asked(symptoms)
    _go(answers)
    _otherwise()


def _own_machines() -> None:
    """The machines of the log, one press away."""
    known = machines.names()
    if not known:
        return
    st.header(words.YOURS, anchor=False)
    st.html(paragraph(words.YOURS_ABOUT, "quiet"))
    with st.container(horizontal=True, gap="small"):
        for name, shown in list(known.items())[:_MOST]:
            st.button(
                markdown_text(words.OPEN.format(name=shown)),
                on_click=_open,
                args=(name,),
                key=f"first.open.{name}",
            )
        machines.to_all()


_MOST = 6
"""Machines with a button of their own; all of them stand under “All machines”."""


def _open(name: str) -> None:
    state.leave_draft()
    state.open_machine(name)
    going.to_top()


def _symptoms() -> tuple[str, ...]:
    """The question that comes first; where something is noticed, what to do stands under it."""
    st.html(paragraph(BY_KEY["machine.symptoms"].help, "quiet"))
    with st.container(horizontal=True, gap="medium"):
        ticked = [
            name
            for name in BY_KEY["machine.symptoms"].choices
            if st.checkbox(
                sentence(symptom_words(name)),
                key=f"{DRAFT}{name.replace(' ', '-')}",
                bind=first_questions.BIND,
            )
        ]
    if ticked:
        case = changed(state.base(), {"machine.symptoms": ticked})
        st.html(block("stop", heading(stop_heading(case)) + paragraphs(stop_text(case))))
    return tuple(ticked)


# --- on to the verdict -----------------------------------------------------------------------


def _go(answers: FirstAnswers) -> None:
    missing = answers.open()
    if missing:
        st.html(paragraph(words.still_open(missing), "quiet"))
    made = _made()
    if made is not None:
        st.info(markdown_text(words.MADE.format(name=made[1])))
        st.button(markdown_text(words.OPEN.format(name=made[1])), on_click=_open, args=(made[0],))
    label = words.DO_STOP if answers.symptoms else words.DO
    st.button(label, on_click=_start, args=(answers,), type="primary", key="first.do")
    faults = cast("tuple[Problem, ...]", st.session_state.pop(_FAULTS, ()))
    if faults:
        st.error(words.NOT_YET)
        st.html(
            table(
                pd.DataFrame(
                    [
                        {
                            words.QUESTION: fault.where,
                            words.FOUND: fault.found,
                            words.EXPECTED: fault.expected,
                        }
                        for fault in faults
                    ]
                )
            )
        )


def _made() -> tuple[str, str] | None:
    """The machine that these answers became, where the visitor came back to them."""
    name = cast("str | None", st.session_state.get(_MADE))
    if name is None or not state.drafted():
        return None
    try:
        log = log_file.opened()
    except LogError:
        return None
    if log is None or name not in log.state().machines:
        return None
    return name, log.machine(name).name or name


def _start(answers: FirstAnswers) -> None:
    """Takes the machine in and shows its verdict, or remembers what is missing or wrong."""
    try:
        case = first_case.first_case(answers, kept.today())
        if not case.machine.symptoms:
            verdict(case)
    except InputError as error:
        st.session_state[_FAULTS] = error.problems
        return
    except CannotAnswer as error:
        asked = words.question("source", answers.unit)
        st.session_state[_FAULTS] = (Problem("", asked, str(error), screen.ANSWER_EXPECTED),)
        return
    state.leave_draft()
    state.take_in(case, log_page.FROM_THE_PAGE)
    st.session_state[_MADE] = state.machine()
    going.to_top()


# --- instead of answering --------------------------------------------------------------------


def _otherwise() -> None:
    st.header(words.OTHERWISE, anchor=False)
    st.html(paragraph(words.EXAMPLES_ABOUT, "quiet"))
    with st.container(horizontal=True, gap="small"):
        for folder, name in EXAMPLES.items():
            st.button(
                words.OPEN_EXAMPLE.format(name=name),
                on_click=_example,
                args=(folder,),
                key=f"first.example.{folder}",
            )
    offer("first.upload", words.UPLOAD)


def _example(folder: str) -> None:
    state.leave_draft()
    state.open_example(folder)
    going.to_top()
