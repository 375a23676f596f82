"""What was said against what was seen, over all past decisions of the log."""

from __future__ import annotations

import numpy as np
import streamlit as st

from riskmodel.page import markup
from riskmodel.records.log.decided import came_out, followed
from riskmodel.records.log.log import Log
from riskmodel.risk.said_and_seen import Told, found_when_replaced, said_and_seen
from riskmodel.words import said_and_seen as words


def section(log: Log) -> None:
    """Folded away; nothing where no decision told a chance and no part has come out."""
    held = log.state()
    rows, out = followed(held), came_out(held)
    if not rows and not out:
        return
    found = said_and_seen(
        [Told(np.array(row.ahead), np.array(row.chance)) for row in rows],
        np.array([row.followed for row in rows]),
        np.array([row.ended == "failed" for row in rows], dtype=bool),
    )
    looks = found_when_replaced(
        np.array([row.look in ("worn", "failed") for row in out], dtype=bool),
        np.array([row.look != "not_seen" for row in out], dtype=bool),
        np.array([row.chance for row in out]),
    )
    with st.expander(words.HEADING):
        st.html(markup.paragraphs(words.sentences(found, looks)))
