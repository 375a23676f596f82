"""What the page remembers between one run and the next, for one visitor.

`base` is the case as it was opened, with what was brought into it as a whole (other engines'
samples, the metals of a lining); what was changed since is in the widgets. `good` is the last
case that could be weighed. Widgets carry `opened` in their keys, so that opening
another case starts them anew.

A machine of the log is opened as the log has it, without what the log itself made into life
records; `kept` is that case as it was last read or written, and `seen` how far the log had come
then. What the widgets change is written there at once (`page.kept`), so that a page loaded anew
shows the same. An example is only shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

import streamlit as st

from riskmodel.oil.fleet import with_usual
from riskmodel.page import address, log_file
from riskmodel.page.answer import digest, verdict
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.page.uploads import Upload, read_uploads
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import changed
from riskmodel.records.log.bridge import export_case, import_case
from riskmodel.records.log.errors import LogError
from riskmodel.records.log.log import Log
from riskmodel.words import log_page, screen

BASE, GOOD, OPENED = "base", "good", "opened"
ORIGINAL, ADOPTED = "original", "adopted"

Adopted = tuple[Mapping[str, object], Mapping[str, bytes]]
"""Inputs stated anew, and new tables by the names of their files."""
PROBLEMS, SOURCE, TRIED, REPORT = "problems", "source", "tried", "report"
BROUGHT, TIMES = "brought", "times"
MACHINE, KEPT, SEEN, TOLD = "machine", "kept", "seen", "told"
OWN, OF_LOG = "own", "log"
LEAVING, FIRST = "leaving", "first"


def start() -> None:
    """Opens what the page's address names: a machine of the log, an example, another screen.
    Where it names nothing, the only machine in the log is opened, else the screen of the first
    visit. Later runs leave it open, unless the visitor went to another address."""
    first = BASE not in st.session_state
    # What was answered stays in the address until the run that left it has come to its end.
    st.session_state[FIRST] = address.drafted() and not st.session_state.pop(LEAVING, False)
    if not first and not address.changed():
        return
    machine, folder, shown = address.asked()
    if first:
        st.session_state[OPENED] = 0
        _show_example(next(iter(EXAMPLES)))  # the address stays as it is
        if not any((machine, folder, shown, drafted())):
            machine = _only_machine()
    if machine and not _has(machine):
        tell(log_page.GONE)
        machine, folder = "", next(iter(EXAMPLES))
    if machine:
        if machine != st.session_state.get(MACHINE):
            open_machine(machine)
    elif folder in EXAMPLES:
        if folder != source():
            open_example(folder)
    elif not first and source() != OWN:
        _close_machine()
    address.show(machine, folder if folder in EXAMPLES else "", shown)


def drafted() -> bool:
    """Whether answers of a first visit stand in the address and are wanted."""
    return cast(bool, st.session_state[FIRST])


def leave_draft() -> None:
    """Goes on from the answers of a first visit to what is opened next."""
    st.session_state[LEAVING] = True


def at_first_visit() -> bool:
    """Whether the screen of the first visit is asked for, or nothing is open."""
    opened, folder, shown = address.asked()
    if drafted() or shown == address.START:
        return True
    return not (opened or folder or shown) and source() != OWN


def _only_machine() -> str:
    """The machine of a log that holds one alone; "" where it has none or several."""
    try:
        log = log_file.opened()
    except LogError:
        return ""
    held = list(log.state().machines) if log is not None else []
    return held[0] if len(held) == 1 else ""


def _has(machine: str) -> bool:
    try:
        log = log_file.opened()
    except LogError:
        return False
    return log is not None and machine in log.state().machines


def machine() -> str | None:
    """The id of the machine that is open; None where it is not one of the log."""
    return cast("str | None", st.session_state.get(MACHINE))


def kept() -> Case | None:
    """The open machine's case as the log was last known to have it; None without a part to
    weigh."""
    return cast("Case | None", st.session_state.get(KEPT))


def seen() -> dict[str | None, int]:
    """The newest entries about the open machine and about life records that were seen here."""
    return cast("dict[str | None, int]", st.session_state[SEEN])


def now_kept(log: Log, case: Case) -> None:
    """Remembers that the log has the open machine so."""
    st.session_state[KEPT] = case
    see(log)


def see(log: Log) -> None:
    """Remembers how far the log has come; what is written next is based on that."""
    name = st.session_state[MACHINE]
    st.session_state[SEEN] = {name: log.last(name), None: log.last(None)}


def open_machine(name: str) -> None:
    """Opens a machine as the log has it. Without a part in service there is no case: the page
    then shows its log alone."""
    log = log_file.opened()
    assert log is not None
    st.session_state[MACHINE], st.session_state[SOURCE] = name, OF_LOG
    address.show(machine=name)
    if log.machine(name).part is None:
        st.session_state[KEPT] = None
        see(log)
        return
    case = export_case(log, name, shared=False)
    _open(case)
    now_kept(log, base())


def reopen() -> None:
    """Shows the open machine as the log has it by now."""
    name = machine()
    if name is not None:
        open_machine(name)


def close_machine() -> None:
    """Shows the example, where the open machine was taken out of the log."""
    open_example(next(iter(EXAMPLES)))


def _close_machine() -> None:
    """Nothing is open any more; the example stands behind the screen of the first visit."""
    _show_example(next(iter(EXAMPLES)))


def tell(text: str) -> None:
    """Remembers something to be said once at the head of the page."""
    st.session_state.setdefault(TOLD, []).append(text)


def told() -> list[str]:
    """What is to be said at the head of the page: once."""
    return cast("list[str]", st.session_state.pop(TOLD, []))


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
    """The folder of the example that is open, OF_LOG for a machine, OWN for a case that could
    not be taken into the log."""
    return cast(str, st.session_state[SOURCE])


def upload_problems() -> tuple[Problem, ...]:
    """What was wrong with the files last offered; nothing once a case was opened."""
    return cast(tuple[Problem, ...], st.session_state[PROBLEMS])


def open_example(folder: str) -> None:
    """Opens an example; the address names it."""
    _show_example(folder)
    address.show(example=folder)


def _show_example(folder: str) -> None:
    st.session_state[SOURCE] = folder
    st.session_state[MACHINE] = st.session_state[KEPT] = None
    _open(example(folder))


def open_uploads(uploads: list[Upload]) -> None:
    """Takes the case in the files offered into the log and opens it; the one open before stays
    where they have faults or no answer. A case with symptoms opens in any event: it needs none."""
    try:
        case = with_usual(read_uploads(uploads))
        if not case.machine.symptoms:
            verdict(case)
    except InputError as error:
        st.session_state[PROBLEMS] = error.problems
        return
    except CannotAnswer as error:
        st.session_state[PROBLEMS] = (
            Problem(screen.THE_FILES, "", str(error), screen.ANSWER_EXPECTED),
        )
        return
    take_in(case, uploads[0].name)


def take_in(case: Case, source: str) -> None:
    """Takes a case into the log as a machine and opens it; one that the log has already is
    opened there. Where there can be no log the case is opened all the same."""
    try:
        log = log_file.made()
        known = _same(log, case)
        name = known or import_case(log, case, author=author(), source=source[:100]).machine
    except InputError as error:
        st.session_state[MACHINE] = st.session_state[KEPT] = None
        st.session_state[SOURCE] = OWN
        _open(case)
        address.show()
        tell(f"{log_page.NOT_TAKEN_IN} {error}")
        return
    open_machine(name)
    tell(log_page.KNOWN_ALREADY if known else log_page.TAKEN_IN)


def _same(log: Log, case: Case) -> str | None:
    """The machine of the log that has this very case."""
    for name, held in log.state().machines.items():
        if held.name == case.machine.name and held.part is not None:
            for shared in (False, True):
                if digest(export_case(log, name, shared=shared)) == digest(case):
                    return name
    return None


def author() -> str:
    """Who enters, for the log."""
    return address.author() or log_page.SOMEBODY


def try_others(content: str) -> None:
    """Remembers that other assumptions were asked for, and of which content of a case."""
    st.session_state[TRIED] = content


def others_tried() -> str:
    return cast(str, st.session_state.get(TRIED, ""))


def ask_report(content: str) -> None:
    """Remembers that the owner's report was asked for, and of which content of a case."""
    st.session_state[REPORT] = content


def report_asked() -> str:
    return cast(str, st.session_state.get(REPORT, ""))


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


def put(case: Case) -> None:
    """Shows the figures of another version of the open case; a machine's are then kept so."""
    _open(case)


def with_changes(changes: Mapping[str, object], files: Mapping[str, bytes]) -> Case:
    """The open case with what the widgets say, and with new contents of its tables.

    Raises InputError, and CannotAnswer where a usual level cannot be learned.
    """
    return with_usual(changed(base(), changes, files)) if changes or files else base()


def settled(case: Case) -> Case:
    """The case with what other engines tell of it, where that can be learned."""
    try:
        return with_usual(case)
    except CannotAnswer:
        return case


def _open(case: Case) -> None:
    case = settled(case)
    st.session_state[ORIGINAL] = st.session_state[BASE] = st.session_state[GOOD] = case
    st.session_state[OPENED] += 1
    st.session_state[PROBLEMS] = ()
