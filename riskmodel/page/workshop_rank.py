"""All machines by what waiting until their next service costs, worked out once for a log."""

from __future__ import annotations

import datetime
import threading
from collections.abc import Sequence

import streamlit as st

from riskmodel.decision.rank import FEW, Ranking, Standing, rank
from riskmodel.page import kept
from riskmodel.records.log.log import Log
from riskmodel.records.log.many import begin, many
from riskmodel.words import log_page_workshop as words

_ASKED, _FULL = "workshop.ranked", "workshop.full"
FIRST = 5
"""Machines at the top that may be weighed in full, a second or two each."""
_LOCK = threading.Lock()


def ranking(log: Log) -> Ranking | None:
    """Every machine in service with what waiting costs; None where there are so many that it is
    worked out on demand and nobody asked yet."""
    here = sum(held.in_service for held in log.state().machines.values())
    if here > FEW and st.session_state.get(_ASKED) != log.seal:
        st.button(words.RANK_THEM, on_click=_ask, args=(log.seal,))
        return None
    return _ranked(str(log.path), log.seal, kept.today(), _in_full(log.seal), log)


def offer(log: Log, shown: Sequence[Standing]) -> None:
    """To weigh the first few of those shown in full, where that may bring another advice to
    light."""
    first = [standing for standing in shown if not standing.symptoms][:FIRST]
    if any(standing.unweighed for standing in first):
        names = tuple(standing.name for standing in first)
        st.button(words.in_full(len(names)), on_click=_ask_in_full, args=(log.seal, names))


def _ask(seal: str) -> None:
    st.session_state[_ASKED] = seal


def _ask_in_full(seal: str, names: tuple[str, ...]) -> None:
    """Beside those asked for before."""
    st.session_state[_FULL] = seal, tuple(sorted({*names, *_in_full(seal)}))


def _in_full(seal: str) -> tuple[str, ...]:
    """The machines to be weighed in full: none once the log has changed."""
    asked, names = st.session_state.get(_FULL, ("", ()))
    return names if asked == seal else ()


@st.cache_resource(max_entries=4, show_spinner=words.RANKING)
def _ranked(path: str, seal: str, today: str, full: tuple[str, ...], _log: Log) -> Ranking:
    found = many(_log.state(), today)
    day = datetime.date.fromisoformat(today)
    # In this process: another would start this server's own script once more. One at a time:
    # the records of the groups are told to the whole process.
    with _LOCK:
        told = begin, (found.groups,)
        return rank(found.machines, today=day, full=full, workers=1, begin=told)
