"""The sections of the page in the order of reading; each shows one part of the answer."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from riskmodel import charts, words
from riskmodel.charts import tables
from riskmodel.charts.style import Spec
from riskmodel.decision.results import Weighing
from riskmodel.page import markup, state
from riskmodel.page.answer import digest, what_moves_it
from riskmodel.page.answer import other_assumptions as answers_under_others
from riskmodel.records.case import Case
from riskmodel.words import (
    captions,
    information,
    near_ties,
    report,
    report_options,
    retest,
    screen,
    spent,
    swings,
    what_if,
)
from riskmodel.words.first_visit import ON_INVENTED

ROWS = 6
"""Plans in the table; the rest are folded away."""


def banner(case: Case) -> None:
    """The notice on a case that is made up."""
    notice(words.example_banner(case))


def notice(text: str | None) -> None:
    """A notice at the head of all, where there is one."""
    if text:
        st.html(markup.block("example", markup.paragraph(text)))


def stop(case: Case) -> None:
    """What stands in the place of every verdict while there are symptoms."""
    body = markup.heading(words.stop_heading(case)) + markup.paragraphs(words.stop_text(case))
    st.html(markup.block("stop", body))


def at_stake(w: Weighing) -> None:
    """What the part does, how it fails, what that costs, and whose decision it is."""
    st.html(markup.paragraph(report.at_stake(w), "quiet"))


def verdict(w: Weighing, *, lent: bool = False) -> None:
    """The verdict, the owner's ceiling, the chance before the next oil change, when to stop; where
    the records are `lent` ones, invented, that they say nothing."""
    tie = near_ties.verdict_tie(w)
    st.html(
        markup.block(
            "verdict",
            markup.heading(words.headline(w)),
            markup.paragraph(ON_INVENTED, "lead") if lent else "",
            markup.paragraph(tie, "lead") if tie else "",
            markup.paragraph(words.cost_sentence(w), "lead"),
            markup.paragraphs(words.ceiling_sentences(w)),
            markup.paragraph(words.chance_headline(w)),
            markup.paragraph(words.main_assumption(w), "quiet"),
        )
    )
    st.html(markup.block("caution", markup.paragraphs(words.cautions(w.case)[:2])))


def trade_off(w: Weighing) -> None:
    st.header(screen.TRADE_OFF, anchor=False)
    _chart(charts.trade_off(w), captions.trade_off(w), tables.trade_off(w))


def chance(w: Weighing) -> None:
    """Of 100 engines how many, by when, whom that speaks of and what it assumes."""
    st.header(screen.CHANCE, anchor=False)
    soon = w.risk[0].chance
    left, right = st.columns([2, 5], gap="medium")
    with left:
        when = screen.BY_NEXT_CHANGE
        st.vega_lite_chart(charts.engines(soon, when), theme=None, width="content")
        st.html(markup.paragraph(captions.engines(soon, when)))
        with st.expander(screen.TABLE):
            st.html(markup.table(tables.engines(soon)))
    with right:
        _chart(charts.ahead(w), captions.ahead(w), tables.ahead(w))
    st.html(markup.bullets(words.chance_sentences(w)))


def plans(w: Weighing) -> None:
    """Costs and chances side by side, then the same as a table."""
    st.header(screen.PLANS, anchor=False)
    left, right = st.columns(2, gap="medium")
    with left:
        st.vega_lite_chart(charts.plan_costs(w), theme=None, width="stretch")
    with right:
        st.vega_lite_chart(charts.plan_chances(w), theme=None, width="stretch")
    st.html(markup.paragraph(captions.plans(w)))
    shown = charts.shown_plans(w, ROWS)
    best = w.chosen
    marked = shown.index(best) if best in shown else None
    st.html(markup.table(tables.plans(w, shown), marked))
    st.html(
        markup.paragraph(" ".join((tables.plans_note(w), words.booking_note(w))).strip(), "quiet")
        + markup.paragraph(words.plans_assumption(w), "quiet")
    )
    _spent(w)
    with st.expander(report.LIVING):
        choices = pd.DataFrame(report_options.rows(w), columns=list(report_options.COLUMNS))
        st.html(markup.table(choices))
    more = information.information_sentences(w)
    if more:
        st.subheader(information.HEADING, anchor=False)
        st.html(markup.bullets(more))
    second = retest.retest_sentences(w)
    if second:
        st.subheader(retest.HEADING, anchor=False)
        st.html(markup.bullets(second))
    if len(shown) < len(w.all_plans):
        with st.expander(screen.ALL_PLANS):
            st.html(markup.table(tables.plans(w), best))


def _spent(w: Weighing) -> None:
    """What the plans cost by what it is spent on: soonest, the best that keeps it, never."""
    with st.expander(spent.HEADING):
        st.html(markup.paragraph(spent.LEAD))
        money = tables.spent(w)
        st.html(markup.table(money, len(money) - 1))


def why(w: Weighing) -> None:
    st.header(screen.WHY, anchor=False)
    st.html(markup.bullets(words.reasons(w)))


def change(w: Weighing) -> None:
    st.header(screen.CHANGE, anchor=False)
    st.html(markup.bullets(words.what_would_change(w)))


def other_assumptions(w: Weighing) -> None:
    """On demand: the verdict under other assumptions about the records."""
    content = digest(w.case)
    about = screen.TRY_OTHERS_BELIEF if w.case.records is None else screen.TRY_OTHERS_ABOUT
    st.html(markup.paragraph(about))
    if st.button(screen.TRY_OTHERS, key=state.key("try")):
        state.try_others(content)
    if state.others_tried() == content:
        found = answers_under_others(w.case)
        st.html(markup.paragraph(what_if.summary(w, found)))
        st.html(markup.table(what_if.table(w, found), 0))
        moves = what_moves_it(w.case)
        st.subheader(swings.HEADING, anchor=False)
        told = swings.swing_sentences(w, moves.swings) + swings.flip_sentences(w, moves.flips)
        st.html(markup.bullets(told))
        if moves.swings:
            st.html(markup.table(swings.swing_table(w, moves.swings)))


def what_next(w: Weighing) -> None:
    """Steps, questions for the workshop, cautions, and what the answer leaves out."""
    st.header(screen.NEXT, anchor=False)
    st.html(markup.numbered(words.next_steps(w)))
    with st.expander(screen.QUESTIONS):
        st.html(markup.bullets(words.questions(w.case)))
    st.header(screen.CAUTIONS, anchor=False)
    st.html(markup.bullets(words.cautions(w.case)))
    st.header(screen.BEAR_IN_MIND, anchor=False)
    told = [report.NOT_LOOKED_AT, report.NOT_VERIFIED, report.WHO, *words.notes(w)]
    st.html(markup.bullets(told))


def glossary() -> None:
    with st.expander(screen.GLOSSARY):
        st.html(markup.terms(words.GLOSSARY))


def _chart(chart: Spec | None, caption: str, figures: pd.DataFrame) -> None:
    """A chart, what it says in a sentence, and its figures behind it."""
    if chart is None:
        return
    st.vega_lite_chart(chart, theme=None, width="stretch")
    st.html(markup.paragraph(caption))
    with st.expander(screen.TABLE):
        st.html(markup.table(figures))
