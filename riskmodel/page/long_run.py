"""The best age over the long run, below the plans."""

from __future__ import annotations

import streamlit as st

from riskmodel import charts
from riskmodel.charts.long_run import figures
from riskmodel.decision.results import Weighing
from riskmodel.page import markup
from riskmodel.words import long_run as words
from riskmodel.words import screen


def section(w: Weighing) -> None:
    """Two sentences; what they rest on, the chart and its figures on demand."""
    chart = charts.long_run(w)
    if chart is None:
        return
    st.header(words.HEADING, anchor=False)
    st.html(markup.paragraphs(words.lead(w)))
    with st.expander(words.MORE):
        st.vega_lite_chart(chart, theme=None, width="stretch")
        st.html(markup.paragraph(words.caption(w)))
        st.html(markup.bullets(words.details(w)))
        st.markdown(f"**{screen.TABLE}**")
        st.html(markup.table(figures(w)))
