"""What the page remembers between one run and the next, for one visitor.

`base` is the case as it was opened, with what was brought into it as a whole (other engines'
samples, the metals of a lining); what was changed since is in the widgets. `good` is the last
case that could be weighed. Widgets carry `opened` in their keys, so that opening
another case starts them anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

import streamlit as st

from riskmodel.oil.fleet import with_usual
from riskmodel.page.answer import answer
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.page.uploads import Upload, read_uploads
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import changed
from riskmodel.words import screen

BASE, GOOD, OPENED = "base", "good", "opened"
ORIGINAL, ADOPTED = "original", "adopted"

Adopted = tuple[Mapping[str, object], Mapping[str, bytes]]
"""Inputs stated anew, and new tables by the names of their files."""
PROBLEMS, SOURCE, TRIED = "problems", "source", "tried"
BROUGHT, TIMES = "brought", "times"


def start() -> None:
    """Opens the first example where nothing is open yet."""
    if BASE not in st.session_state:
        st.session_state[OPENED] = 0
        st.session_state[SOURCE] = next(iter(EXAMPLES))
        _open(example(st.session_state[SOURCE]))


def base() -> Case:
    return cast(Case, st.session_state[BASE])


def good() -> Case:
    return cast(Case, st.session_state[GOOD])


def keep(case: Case) -> None:
    """Remembers a case that could be weighed."""
    st.session_state[GOOD] = case


def key(name: str) -> str:
    """A widget's key, new for each case opened."""
    return f"{name}#{st.session_state[OPENED]}"


def source() -> str:
    """The folder of the example that is open, or "own"."""
    return cast(str, st.session_state[SOURCE])


def upload_problems() -> tuple[Problem, ...]:
    """What was wrong with the files last offered; nothing once a case was opened."""
    return cast(tuple[Problem, ...], st.session_state[PROBLEMS])


def open_example(folder: str) -> None:
    st.session_state[SOURCE] = folder
    _open(example(folder))


def open_uploads(uploads: list[Upload]) -> None:
    """Opens the case in the files offered; the one open before stays where they have faults or
    no answer. A case with symptoms opens in any event: it needs none."""
    try:
        case = with_usual(read_uploads(uploads))
        if not case.machine.symptoms:
            answer(case)
    except InputError as error:
        st.session_state[PROBLEMS] = error.problems
        return
    except CannotAnswer as error:
        st.session_state[PROBLEMS] = (
            Problem(screen.THE_FILES, "", str(error), screen.ANSWER_EXPECTED),
        )
        return
    st.session_state[SOURCE] = "own"
    _open(case)


def try_others(content: str) -> None:
    """Remembers that other assumptions were asked for, and of which content of a case."""
    st.session_state[TRIED] = content


def others_tried() -> str:
    return cast(str, st.session_state.get(TRIED, ""))


def bring_in(told: str) -> None:
    """Remembers that records were brought in, and what to say of it."""
    st.session_state[key(BROUGHT)] = told
    st.session_state[key(TIMES)] = brought_in() + 1


def brought_in() -> int:
    """How often records were brought in since the case was opened."""
    return cast(int, st.session_state.get(key(TIMES), 0))


def told_once() -> str:
    """What is to be said of records just brought in: once."""
    return cast(str, st.session_state.pop(key(BROUGHT), ""))


def adopt(what: str, changes: Mapping[str, object], files: Mapping[str, bytes]) -> None:
    """States inputs anew in the open case itself, or brings a table into it, under the name
    `what`; what the widgets say stays. Raises InputError, and CannotAnswer where a usual level
    cannot be learned."""
    _settle({**_brought(), what: (changes, files)})


def adopted(what: str) -> bool:
    """Whether something of this name was brought into the open case."""
    return what in _brought()


def take_back(what: str) -> None:
    """Undoes an `adopt`, and whatever else was brought in that cannot stand without it."""
    left = {name: held for name, held in _brought().items() if name != what}
    try:
        _settle(left)
    except (InputError, CannotAnswer):
        _settle({})


def _brought() -> dict[str, Adopted]:
    """What was brought into the case since it was opened, in that order."""
    return cast(dict[str, Adopted], st.session_state.get(key(ADOPTED), {}))


def _settle(held: dict[str, Adopted]) -> None:
    case = cast(Case, st.session_state[ORIGINAL])
    for changes, files in held.values():
        case = changed(case, changes, files)
    st.session_state[BASE] = with_usual(case)
    st.session_state[key(ADOPTED)] = held
    _forget_samples()


def _forget_samples() -> None:
    """The table of samples has a column for each metal named, so it is made anew."""
    st.session_state.pop(key("samples.opened"), None)


def undo() -> None:
    """Takes back every change since the case was opened."""
    _open(st.session_state[ORIGINAL])


def with_changes(changes: Mapping[str, object], files: Mapping[str, bytes]) -> Case:
    """The open case with what the widgets say, and with new contents of its tables.

    Raises InputError, and CannotAnswer where a usual level cannot be learned.
    """
    return with_usual(changed(base(), changes, files)) if changes or files else base()


def _open(case: Case) -> None:
    case = with_usual(case)
    st.session_state[ORIGINAL] = st.session_state[BASE] = st.session_state[GOOD] = case
    st.session_state[OPENED] += 1
    st.session_state[PROBLEMS] = ()
