"""The answer to a case, computed once for the same content."""

from __future__ import annotations

import hashlib

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.decision.sensitivity import WhatIf, life_sensitivity
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.files import case_to_files
from riskmodel.words import screen


def answer(case: Case) -> Weighing:
    """The weighing of a case. Raises CannotAnswer."""
    return _weighed(digest(case), case)


def other_assumptions(case: Case) -> tuple[WhatIf, ...]:
    """The answer under other assumptions about the records; takes some seconds."""
    return _tried(digest(case), case)


def digest(case: Case) -> str:
    """A hash of everything that a case holds; defaults follow from what is stated."""
    content = hashlib.sha256()
    for name, data in sorted(case_to_files(case).items()):
        content.update(f"{name}:{len(data)}:".encode() + data)
    return content.hexdigest()


@st.cache_resource(max_entries=64, show_spinner=screen.WEIGHING)
def _weighed(content: str, _case: Case) -> Weighing:
    return weigh(_case)


@st.cache_resource(max_entries=16, show_spinner=screen.TRYING)
def _tried(content: str, _case: Case) -> tuple[WhatIf, ...]:
    return life_sensitivity(_case)
