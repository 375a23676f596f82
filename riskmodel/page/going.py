"""Bringing a part of the page into sight: the top of another screen, what a link names, and for the
keyboard the verdict itself."""

from __future__ import annotations

import json
from html import escape
from pathlib import Path
from urllib.parse import quote

import streamlit as st

from riskmodel.words import screen

_SKIPS = {"name": screen.SKIP, "verdict": screen.SKIP_TO_VERDICT, "page": screen.SKIP_TO_PAGE}
_SCRIPT = Path(__file__).with_name("going.js").read_text(encoding="utf-8")
_SCRIPT = _SCRIPT.replace("SKIPS", json.dumps(_SKIPS))
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
