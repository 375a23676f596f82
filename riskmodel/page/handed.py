"""The owner's report and the sheets to print, made on demand and handed over as files."""

from __future__ import annotations

import datetime

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.page import files, illustrative, markup, state
from riskmodel.page.answer import digest
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.report import owner
from riskmodel.words import screen


def section(case: Case, w: Weighing | None = None) -> None:
    """A button that makes the report, then the files to take away; also while symptoms stop all:
    there the answer `w` is not at hand, and what is printed says stop."""
    content = digest(case)
    st.html(
        markup.paragraph(screen.REPORT_STOP_ABOUT if case.machine.symptoms else screen.REPORT_ABOUT)
    )
    if st.button(screen.MAKE_REPORT, key=state.key("report")):
        state.ask_report(content)
    if state.report_asked() != content:
        return
    try:
        pdf, html = _made(content, case, w, day(case))
    except CannotAnswer as error:
        st.html(markup.paragraph(f"{screen.NO_REPORT} {error}"))
        return
    name = files.file_name(case.machine.name)
    left, right, _ = st.columns([2, 2, 3], gap="small")
    with left:
        st.download_button(screen.REPORT_PDF, pdf, f"{name}-report.pdf", "application/pdf")
    with right:
        st.download_button(screen.REPORT_HTML, html, f"{name}-report.html", "text/html")


def day(case: Case) -> str:
    """The day of the report: that of the case, else today."""
    return case.machine.date or datetime.datetime.now(tz=datetime.UTC).date().isoformat()


@st.cache_resource(max_entries=8, show_spinner=screen.MAKING_REPORT)
def _made(content: str, _case: Case, _w: Weighing | None, day: str) -> tuple[bytes, bytes]:
    """The report with its sheets, as PDF and as one HTML file."""
    w = _w or illustrative.with_note(weigh(_case))
    figures = () if w.stop else owner.other_figures(w.case)
    pdf = owner.report_pdf(w, *figures, date=day, sheets=True)
    return pdf, owner.report_html(w, *figures, date=day, sheets=True).encode()
