"""The data behind a case: the life records to look at and change, oil samples, lists."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from riskmodel.page import (
    markup,
    records_import,
    records_table,
    samples_faults,
    samples_table,
    state,
)
from riskmodel.page.records_table import Entered
from riskmodel.records.case import Case
from riskmodel.records.errors import Problem
from riskmodel.words import data_tables, records_entry, screen


def behind(
    case: Case, entered: Entered, samples: samples_table.Entered, faults: Sequence[Problem]
) -> None:
    """The tables, folded away; `faults` are those of the records and samples as entered."""
    of_samples, of_records = samples_faults.split(faults, samples.file)
    st.header(screen.BEHIND, anchor=False)
    with st.container():
        told = state.told_once()
        if told:
            st.success(markup.markdown_text(told))
        for text in records_entry.set_aside(entered.aside):
            st.html(markup.paragraph(text))
    with st.expander(screen.RECORDS):
        records_table.show(state.base(), entered, of_records)
    records_import.show(state.base())
    with st.expander(screen.SAMPLES):
        samples_table.show(state.base(), samples, of_samples)
    lists = data_tables.lists(case)
    if lists:
        with st.expander(screen.LISTS):
            for title, frame in lists.items():
                st.html(markup.heading(title, 3) + markup.table(frame))
