"""The page from top to bottom. It holds no arithmetic: it asks, shows and remembers."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.page import data, figures, files, problems, sections, state
from riskmodel.page.answer import answer
from riskmodel.page.markup import paragraph
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.words import screen

_STYLE = Path(__file__).with_name("style.css")
_OPEN = '[data-testid="stExpandSidebarButton"]'
_CLOSE = '[data-testid="stSidebarCollapseButton"] button'


def main() -> None:
    """Runs the page once, as Streamlit does at every change."""
    st.set_page_config(page_title=screen.TITLE, layout="wide")
    st.html(style_sheet())
    state.start()
    base = state.base()

    sections.banner(base)
    st.title(screen.TITLE, anchor=False)
    machine = st.container()
    problems.files(state.upload_problems())
    st.header(screen.SYMPTOMS_ASK, anchor=False)
    changes = figures.symptoms(base)
    with st.sidebar:
        st.header(screen.CASE, anchor=False)
        files.choose()
        st.header(screen.FIGURES, anchor=False)
        changes |= figures.main_figures(base)
        changes |= figures.more_figures(base)

    weighed = _weighed(changes)
    with machine:
        st.html(paragraph(screen.machine_line(weighed.case), "quiet"))
    with st.sidebar:
        files.save(weighed.case, bool(changes))
    _show(weighed)


def style_sheet() -> str:
    """The look of the page, and the words on the buttons of the panel of figures."""
    opens = f'{_OPEN}::after {{ content: "{screen.FIGURES_OPEN}"; }}'
    closes = f'{_CLOSE}::after {{ content: "{screen.FIGURES_CLOSE}"; }}'
    on_a_phone = f"@media (max-width: 640px) {{ {closes} }}"
    return f"<style>{_STYLE.read_text(encoding='utf-8')}{opens}{on_a_phone}</style>"


def _weighed(changes: dict[str, object]) -> Weighing:
    """The answer to the figures as they stand, or to the last that had one."""
    try:
        case = state.with_changes(changes)
        found = answer(case)
    except InputError as error:
        problems.figures(error.problems)
        return answer(state.good())
    except CannotAnswer as error:
        problems.no_answer(str(error))
        return answer(state.good())
    state.keep(case)
    return found


def _show(w: Weighing) -> None:
    case: Case = w.case
    if w.stop:
        sections.stop(case)
    else:
        sections.verdict(w)
        sections.trade_off(w)
        sections.plans(w)
        sections.chance(w)
        sections.why(w)
        sections.change(w)
        sections.other_assumptions(w)
        sections.what_next(w)
    data.behind(case)
    if not w.stop:  # beside a stop there is no figure to explain
        sections.glossary()
