"""Opening, choosing and saving a case."""

from __future__ import annotations

import re
import unicodedata

import streamlit as st

from riskmodel.page import going, machines, state
from riskmodel.page.examples import EXAMPLES
from riskmodel.page.markup import paragraph
from riskmodel.page.uploads import Upload, meant
from riskmodel.records.archive import case_to_zip
from riskmodel.records.case import Case
from riskmodel.words import log_page, screen


def choose() -> None:
    """An example, or files of one's own."""
    held = state.source()
    names = dict(EXAMPLES)
    if held not in names:
        names[held] = screen.OWN_CASE if held == state.OWN else log_page.OF_YOUR_LOG
    widget = state.key("example")
    st.radio(
        screen.CHOOSE,
        list(names),
        list(names).index(held),
        format_func=lambda folder: names[folder],
        key=widget,
        on_change=_chosen,
        args=(widget,),
        horizontal=True,
    )
    offer(state.key("upload"), screen.UPLOAD)


def offer(key: str, label: str) -> None:
    """Takes in a case that was saved as files."""
    st.file_uploader(
        label,
        type=["zip", "toml", "csv"],
        accept_multiple_files=True,
        key=key,
        help=screen.UPLOAD_HELP,
        on_change=_offered,
        args=(key,),
    )


def save(case: Case, changed: bool) -> None:
    """The case as one file to keep, and the way back from changes."""
    st.download_button(
        screen.DOWNLOAD,
        case_to_zip(case),
        file_name=f"{file_name(case.machine.name)}.zip",
        mime="application/zip",
        help=screen.DOWNLOAD_HELP,
        on_click="ignore",
        width="stretch",
    )
    machines.keep_example(case)
    if state.machine() is not None:
        st.html(paragraph(log_page.CHANGED_HERE if changed else log_page.KEPT_HERE, "quiet"))
    elif changed:
        st.html(paragraph(screen.CHANGED, "quiet"))
    if changed:
        st.button(screen.RESET, on_click=state.undo, width="stretch", key=state.key("undo"))


def file_name(name: str) -> str:
    """A plain file name for a machine: "Example road car" becomes example-road-car."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60] or "case"


def _chosen(widget: str) -> None:
    folder = st.session_state[widget]
    if folder in EXAMPLES:
        state.open_example(folder)
        going.to_top()


def _offered(widget: str) -> None:
    files = st.session_state[widget]
    held = f"{widget}.held"
    known = st.session_state.get(held, frozenset())
    st.session_state[held] = frozenset(file.file_id for file in files)
    if files:
        state.leave_draft()
        going.to_top()
        before, new = (
            [Upload(file.name, file.getvalue()) for file in files if (file.file_id in known) is old]
            for old in (True, False)
        )
        state.open_uploads(meant(before, new))
