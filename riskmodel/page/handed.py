"""The owner's report and the sheets to print, made on demand and handed over as files."""

from __future__ import annotations

import datetime

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import what_if_figures
from riskmodel.page import markup, state
from riskmodel.page.answer import digest
from riskmodel.records.case import Case
from riskmodel.report import owner
from riskmodel.words import screen


def section(w: Weighing) -> None:
    """A button that makes the report, then the files to take away; also while symptoms stop all."""
    content = digest(w.case)
    st.html(markup.paragraph(screen.REPORT_ABOUT))
    if st.button(screen.MAKE_REPORT, key=state.key("report")):
        state.ask_report(content)
    if state.report_asked() != content:
        return
    pdf, html = _made(content, w, day(w.case))
    left, right, _ = st.columns([2, 2, 3], gap="small")
    with left:
        st.download_button(screen.REPORT_PDF, pdf, "report.pdf", "application/pdf")
    with right:
        st.download_button(screen.REPORT_HTML, html, "report.html", "text/html")


def day(case: Case) -> str:
    """The day of the report: that of the case, else today."""
    return case.machine.date or datetime.datetime.now(tz=datetime.UTC).date().isoformat()


@st.cache_resource(max_entries=8, show_spinner=screen.MAKING_REPORT)
def _made(content: str, _w: Weighing, day: str) -> tuple[bytes, bytes]:
    """The report with its sheets, as PDF and as one HTML file."""
    changes = () if _w.stop else what_if_figures(_w.case)
    pdf = owner.report_pdf(_w, changes, date=day, sheets=True)
    return pdf, owner.report_html(_w, changes, date=day, sheets=True).encode()
