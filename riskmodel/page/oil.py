"""What the oil says: the samples' factor, their rates, what sampling could catch, how to sample."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from riskmodel import charts
from riskmodel.charts import FactorCurve, oil_tables
from riskmodel.charts.oil_rates import symbols
from riskmodel.charts.style import Spec
from riskmodel.decision.results import Weighing
from riskmodel.page import markup, oil_fleet, oil_linings
from riskmodel.page.answer import digest_of_chances
from riskmodel.records.case import Case
from riskmodel.risk.oil_look import OilLook, oil_look
from riskmodel.words import captions, screen
from riskmodel.words import oil as words


def section(w: Weighing) -> None:
    """The whole section; without samples only what sampling could catch, and how to sample."""
    case = w.case
    st.header(screen.OIL_SAYS, anchor=False)
    found, factor = _looked_at(digest_of_chances(case), case)
    if found.rows:
        st.html(markup.bullets(words.factor_sentences(w)))
        if factor is not None:
            _factor(w, factor)
        _rates(case, found)
    else:
        st.html(markup.paragraph(screen.NO_SAMPLES))
    oil_linings.offer(case)
    oil_fleet.section(case, found)
    if found.foresight is not None:
        st.subheader(screen.OIL_AHEAD, anchor=False)
        st.html(markup.bullets(words.foresight_sentences(case, found.foresight)))
    with st.expander(screen.OIL_WELL):
        st.html(markup.paragraph(words.SAMPLING_LEAD) + markup.numbered(words.sampling_well()))
    oil_linings.depth()


def _factor(w: Weighing, curve: FactorCurve) -> None:
    _draw(charts.oil_factor(w, curve))
    st.html(markup.paragraph(captions.oil_factor(w, curve.factor)))
    _figures(oil_tables.factor(w.case, curve))


def _rates(case: Case, found: OilLook) -> None:
    """The part's own metals, then the others folded away; what was made of the samples."""
    st.subheader(screen.OIL_LEVELS, anchor=False)
    own, others = symbols(case, found.rows)
    _charts(case, found, own)
    st.html(markup.paragraph(captions.oil_rates(case)))
    oil_fleet.chart_key(found)
    _figures(oil_tables.rates(case, found.rows, found.limits))
    if others:
        with st.expander(screen.OIL_OTHER_METALS):
            _charts(case, found, others)
    st.html(markup.bullets(words.limit_sentences(case, found.rows, found.limits)))
    with st.expander(screen.OIL_MADE_OF):
        st.html(markup.bullets(words.rate_sentences(case, found.rows)))


def _charts(case: Case, found: OilLook, metals: tuple[str, ...]) -> None:
    """One chart for each metal, up to three beside each other; on a phone below each other."""
    for start in range(0, len(metals), 3):
        row = metals[start : start + 3]
        places = st.columns(max(len(row), 2), gap="medium")
        for place, symbol in zip(places, row, strict=False):
            with place:
                limit, others = found.limits.get(symbol), oil_fleet.drawn(found, symbol)
                _draw(charts.oil_rates(case, found.rows, limit, symbol, others))


def _draw(chart: Spec | None) -> None:
    if chart is not None:
        st.vega_lite_chart(chart, theme=None, width="stretch")


def _figures(frame: pd.DataFrame) -> None:
    with st.expander(screen.TABLE):
        st.html(markup.table(frame))


@st.cache_resource(max_entries=32, show_spinner=screen.OIL_WEIGHING)
def _looked_at(content: str, _case: Case) -> tuple[OilLook, FactorCurve | None]:
    look = oil_look(_case)
    return look, None if look.taken is None else charts.factor_curve(look.taken, _case.keep)
