"""The answer to a case, computed once for the same content."""

from __future__ import annotations

import hashlib
from dataclasses import fields, replace

import streamlit as st

from riskmodel.decision.basis import Basis, basis
from riskmodel.decision.flips import WhatMoves, what_moves
from riskmodel.decision.prepared import MONEY, Grounds
from riskmodel.decision.results import Weighing
from riskmodel.decision.sensitivity import WhatIf, life_sensitivity
from riskmodel.decision.weigh import Begun, begin
from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.records.files import RECORDS_FILE, case_to_files
from riskmodel.risk.driven import own_curves
from riskmodel.risk.learned import Learned, learned
from riskmodel.words import screen


def answer(case: Case) -> Weighing:
    """The weighing of a case. Raises CannotAnswer."""
    return _begun(digest(case), case).whole


def verdict(case: Case) -> Weighing:
    """The same as far as its verdict needs, which is there sooner. Raises CannotAnswer."""
    return _begun(digest(case), case).first


def grounds_of(case: Case) -> Grounds:
    """What the answer of a case stands on that no price enters. Raises CannotAnswer."""
    return _basis(_digest_of_grounds(case), case).found


def other_assumptions(case: Case) -> tuple[WhatIf, ...]:
    """The answer under other assumptions about the records; takes some seconds."""
    return _tried(digest(case), case)


def what_moves_it(case: Case) -> WhatMoves:
    """What moves the verdict, and where it tips over; takes some seconds."""
    return _moves(digest(case), case)


def learned_from(case: Case) -> Learned:
    """What the records of a case say, beside its answer; takes about a second.

    Prices and plans do not enter it, so a change of these finds it ready. Raises
    CannotAnswer.
    """
    return _learned(_digest_of_life(case), case)


def digest(case: Case) -> str:
    """A hash of everything that a case holds; defaults follow from what is stated."""
    content = hashlib.sha256()
    for name, data in sorted(case_to_files(case).items()):
        content.update(f"{name}:{len(data)}:".encode() + data)
    return content.hexdigest()


def digest_of_chances(case: Case) -> str:
    """A hash of all that a chance hangs on: what no price enters is found ready by it."""
    return f"{_digest_of_grounds(case)} {case.keep!r}"


def _digest_of_life(case: Case) -> str:
    """A hash of all that the records are looked at with."""
    machine, part = case.machine, case.part
    asked = (machine.unit, case.age, case.keep, case.next_change_in, case.life)
    own = (part.entered_at, part.in_records, sorted(part.traits.items()), case.warning)
    content = hashlib.sha256(repr((asked, own)).encode())
    if case.records is not None:
        content.update(case_to_files(case)[case.life.records or RECORDS_FILE])
    return content.hexdigest()


def _digest_of_grounds(case: Case) -> str:
    """A hash of all that no price and no plan enters."""
    machine = {
        field.name: getattr(case.machine, field.name)
        for field in fields(case.machine)
        if field.name not in (*MONEY, "name", "symptoms")
    }
    own = (machine, case.part, case.life, case.use, case.warning, case.oil, case.sampled)
    content = hashlib.sha256(repr(own).encode())
    for name, data in sorted(case_to_files(case).items()):
        if name.endswith(".csv"):
            content.update(f"{name}:{len(data)}:".encode() + data)
    return content.hexdigest()


def _digest_of_curves(case: Case) -> str:
    """A hash of all that this engine's life curves hang on."""
    own = (case.age, case.part, case.life, case.use)
    content = hashlib.sha256(
        repr((own, case.warning.visible_lead, case.plan.new_part_life)).encode()
    )
    if case.records is not None:
        content.update(case_to_files(case)[case.life.records or RECORDS_FILE])
    return content.hexdigest()


@st.cache_resource(max_entries=16, show_spinner=False)
def _curves(content: str, _case: Case) -> Curves:
    return own_curves(_case)


@st.cache_resource(max_entries=16, show_spinner=False)
def _basis(content: str, _case: Case) -> Basis:
    return basis(_case, _curves(_digest_of_curves(_case), _case))


@st.cache_resource(max_entries=64, show_spinner=screen.WEIGHING)
def _begun(content: str, _case: Case) -> Begun:
    return begin(_case, _basis(_digest_of_grounds(_case), _case))


@st.cache_resource(max_entries=16, show_spinner=screen.TRYING)
def _tried(content: str, _case: Case) -> tuple[WhatIf, ...]:
    return life_sensitivity(_case)


@st.cache_resource(max_entries=16, show_spinner=screen.TRYING)
def _moves(content: str, _case: Case) -> WhatMoves:
    return what_moves(_case, _basis(_digest_of_grounds(_case), _case))


@st.cache_resource(max_entries=32, show_spinner=screen.LEARNING)
def _learned(content: str, _case: Case) -> Learned:
    """The records without the lines of their file: on the page they are rows of a table."""
    rows = None if _case.records is None else replace(_case.records, lines=())
    return learned(replace(_case, records=rows))
