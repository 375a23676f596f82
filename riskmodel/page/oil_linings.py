"""Which metals the part sheds, by what its shells are lined with: values to start from."""

from __future__ import annotations

import streamlit as st

from riskmodel.charts import oil_tables
from riskmodel.oil.alarm import shed
from riskmodel.oil.linings import LININGS, Lining, lining_of, starting_rows
from riskmodel.page import markup, state
from riskmodel.records.case import Case
from riskmodel.records.case_reader import raw_case
from riskmodel.words import formats
from riskmodel.words import oil_linings as words

_WHAT = "lining"


def offer(case: Case) -> None:
    """For a case that names no metal of the part: a lining to choose, and what it would fill
    in."""
    if state.adopted(_WHAT):
        st.html(markup.paragraph(words.filled(case.part.lining), "quiet"))
        st.button(
            words.TAKE_OUT, key=state.key("lining.out"), on_click=state.take_back, args=(_WHAT,)
        )
    if shed(case.oil.element):
        return
    st.subheader(words.TITLE, anchor=False)
    st.html(markup.paragraph(words.ABOUT))
    known = lining_of(case.part.lining)
    chosen = st.selectbox(
        words.CHOOSE,
        LININGS,
        None if known is None else LININGS.index(known),
        format_func=lambda lining: formats.sentence(lining.name),
        key=state.key("lining"),
        placeholder=words.CHOOSE_NONE,
    )
    if chosen is None:
        return
    st.html(markup.table(oil_tables.starting(chosen, case.machine.unit)))
    st.html(markup.paragraph(words.STARTING))
    held = [element.symbol for element in case.oil.element]
    told = [*words.remarks(chosen), words.replaced_sentence(chosen, held)]
    if any(told):
        st.html(markup.paragraphs(text for text in told if text))
    st.button(
        words.FILL_IN,
        type="primary",
        key=state.key("lining.use"),
        on_click=_fill_in,
        args=(chosen,),
    )


def depth() -> None:
    """Every lining that is known here, folded away."""
    with st.expander(words.ALL):
        st.html(markup.paragraph(words.ALL_ABOUT))
        st.html(markup.table(oil_tables.linings()))


def _fill_in(lining: Lining) -> None:
    """States the lining and its metals in the open case, beside the metals named already."""
    case = state.base()
    held = raw_case(case).get("oil", {}).get("element", [])
    rows = starting_rows(lining, case.machine.unit, held)
    state.adopt(_WHAT, {"part.lining": lining.name, "oil.element": rows}, {})
