"""Bringing a part of the page into sight: the top of another screen, or what a link names."""

from __future__ import annotations

from html import escape
from pathlib import Path
from urllib.parse import quote

import streamlit as st

_SCRIPT = Path(__file__).with_name("going.js").read_text(encoding="utf-8")
HIDDEN = "going"
"""Key of the container of the script."""
_TOP = "going.top"
_UP = "document.querySelector('[data-testid=\"stMain\"]').scrollTo(0, 0);"


def to_top() -> None:
    """What is shown next begins at its top."""
    st.session_state[_TOP] = st.session_state.get(_TOP, 0) + 1


def script() -> None:
    """What makes it happen; the page's style gives it no room."""
    times = st.session_state.get(_TOP, 0)
    up = f"/* {times} */ {_UP}" if times else ""
    with st.container(key=HIDDEN):
        st.html(f"<script>{up}\n{_SCRIPT}</script>", unsafe_allow_javascript=True)


def link(title: str) -> str:
    """A link, as HTML, to the part of the page under a title, which stands in it."""
    return f'<a href="#to={quote(title)}">{escape(title)}</a>'
