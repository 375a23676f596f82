"""What the page's address says: which machine or example is open, which screen, who is writing,
what was answered on the first visit, and since which entry of the log changes are compared.

A page that is loaded anew, a bookmark and the back button all come back to the same.
"""

from __future__ import annotations

import streamlit as st

MACHINE, EXAMPLE, SCREEN, BY, AGAINST = "machine", "example", "screen", "by", "against"
WORKSHOP, START = "workshop", "start"
DRAFT = "q."
"""How the answers of the first visit begin in the address."""
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
    """Writes into the address what is open; what is compared goes with the machine."""
    if machine != st.query_params.get(MACHINE, "") and AGAINST in st.query_params:
        del st.query_params[AGAINST]
    for name, value in zip(_NAMES, (machine, example, screen), strict=True):
        if value and st.query_params.get(name) != value:
            st.query_params[name] = value
        elif not value and name in st.query_params:
            del st.query_params[name]
    st.session_state[_SEEN] = (machine, example, screen)


def seen() -> None:
    """Takes the address as it stands for known."""
    st.session_state[_SEEN] = asked()


def drafted() -> bool:
    """Whether the address holds answers of a first visit."""
    return any(name.startswith(DRAFT) for name in st.query_params)


def against() -> int | None:
    """The entry of the log as of which the open machine is compared with its present figures."""
    text = st.query_params.get(AGAINST, "")
    return int(text) if text.isdecimal() and len(text) < 12 else None


def compare(seq: int | None) -> None:
    """Compares with the machine as of that entry; None: no longer."""
    if seq is not None:
        st.query_params[AGAINST] = str(seq)
    elif AGAINST in st.query_params:
        del st.query_params[AGAINST]


def author() -> str:
    """Who is entering, as far as was said."""
    return st.query_params.get(BY, "").strip()


def sign(name: str) -> None:
    """Remembers who is entering."""
    if name.strip():
        st.query_params[BY] = name.strip()
    elif BY in st.query_params:
        del st.query_params[BY]
