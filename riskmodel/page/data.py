"""The data behind a case, to look at: records, oil samples, lists."""

from __future__ import annotations

import streamlit as st

from riskmodel.page import markup
from riskmodel.records.case import Case
from riskmodel.words import data_tables, screen

_NUMBER = st.column_config.NumberColumn(format="localized")


def behind(case: Case) -> None:
    """Read-only tables, folded away."""
    st.header(screen.BEHIND, anchor=False)
    with st.expander(screen.RECORDS):
        records = data_tables.records(case)
        if records.empty:
            st.html(markup.paragraph(screen.NO_RECORDS))
        else:
            st.dataframe(
                records,
                hide_index=True,
                width="stretch",
                alt=screen.RECORDS,
                column_config=dict.fromkeys(map(str, records.select_dtypes("number")), _NUMBER),
            )
    with st.expander(screen.SAMPLES):
        samples = data_tables.samples(case)
        if samples.empty:
            st.html(markup.paragraph(screen.NO_SAMPLES))
        else:
            st.dataframe(samples, hide_index=True, width="stretch", alt=screen.SAMPLES)
    lists = data_tables.lists(case)
    if lists:
        with st.expander(screen.LISTS):
            for title, frame in lists.items():
                st.html(markup.heading(title, 3) + markup.table(frame))
