"""What the records say, below the answer: records against belief, the curve, effects, remarks."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from riskmodel import charts
from riskmodel.charts import life_tables
from riskmodel.charts.style import Spec
from riskmodel.page import markup
from riskmodel.page.answer import learned_from
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.risk.learned import Learned
from riskmodel.words import captions, screen
from riskmodel.words import learned as words


def section(case: Case) -> None:
    """The whole section; without records only how far belief goes."""
    st.header(screen.RECORDS_SAY, anchor=False)
    try:
        learnt = learned_from(case)
    except CannotAnswer as error:
        st.html(markup.paragraph(str(error)))
        return
    _sources(case, learnt)
    if case.records is None:
        return
    _fair(case, learnt)
    _apart(case, learnt)
    _remarks(learnt)


def _sources(case: Case, learnt: Learned) -> None:
    """How much is record and how much belief."""
    lead = markup.paragraphs(words.source_lead(case, learnt))
    st.html(lead + markup.bullets(words.source_items(case, learnt)))
    _chart(
        charts.life_curve(case, learnt),
        captions.life_curve(case, learnt),
        life_tables.sources(case, learnt),
        life_tables.curves(case, learnt),
    )


def _fair(case: Case, learnt: Learned) -> None:
    """The curve against what was observed, and against other kinds of curve."""
    st.subheader(screen.FAIR, anchor=False)
    st.html(markup.paragraph(words.choice_sentence(case, learnt)))
    distributions = life_tables.distributions(learnt)
    if not distributions.empty:
        with st.expander(screen.DISTRIBUTIONS_TABLE):
            st.html(markup.table(distributions))
    _chart(
        charts.probability_plot(case, learnt),
        captions.probability_plot(case, learnt),
        life_tables.observed(case, learnt),
    )


def _apart(case: Case, learnt: Learned) -> None:
    """Effects of the columns that set engines apart."""
    sentences = words.effect_sentences(case, learnt)
    if not sentences:
        return
    st.subheader(screen.APART, anchor=False)
    _chart(
        charts.effects(case, learnt),
        captions.effects(case, learnt),
        life_tables.effects(learnt),
    )
    st.html(markup.bullets(sentences))


def _remarks(learnt: Learned) -> None:
    """What struck the check of the records."""
    st.subheader(screen.REMARKS, anchor=False)
    st.html(markup.paragraph(words.REMARKS_LEAD))
    items = words.remark_items(learnt, "row")
    if items:
        st.html(markup.bullets(items))
    else:
        st.html(markup.paragraph(words.NO_REMARKS))


def _chart(chart: Spec | None, caption: str, *figures: pd.DataFrame) -> None:
    """A chart, how to read it, and its figures behind it."""
    if chart is None:
        return
    st.vega_lite_chart(chart, theme=None, width="stretch")
    st.html(markup.paragraph(caption))
    with st.expander(screen.TABLE):
        for frame in figures:
            st.html(markup.table(frame))
