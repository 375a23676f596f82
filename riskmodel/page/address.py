"""What the page's address says: which machine or example is open, which screen, who is writing.

A page that is loaded anew, a bookmark and the back button all come back to the same.
"""

from __future__ import annotations

import streamlit as st

MACHINE, EXAMPLE, SCREEN, BY = "machine", "example", "screen", "by"
WORKSHOP = "workshop"
_SEEN = "address.seen"
_NAMES = (MACHINE, EXAMPLE, SCREEN)


def asked() -> tuple[str, str, str]:
    """The machine, the example and the screen that the address names; empty where none."""
    machine, example, screen = (st.query_params.get(name, "") for name in _NAMES)
    return machine, example, screen


def changed() -> bool:
    """Whether the visitor came here by another address than the page last set."""
    return st.session_state.get(_SEEN) != asked()


def show(machine: str = "", example: str = "", screen: str = "") -> None:
    """Writes into the address what is open."""
    for name, value in zip(_NAMES, (machine, example, screen), strict=True):
        if value and st.query_params.get(name) != value:
            st.query_params[name] = value
        elif not value and name in st.query_params:
            del st.query_params[name]
    st.session_state[_SEEN] = (machine, example, screen)


def seen() -> None:
    """Takes the address as it stands for known."""
    st.session_state[_SEEN] = asked()


def author() -> str:
    """Who is entering, as far as was said."""
    return st.query_params.get(BY, "").strip()


def sign(name: str) -> None:
    """Remembers who is entering."""
    if name.strip():
        st.query_params[BY] = name.strip()
    elif BY in st.query_params:
        del st.query_params[BY]
