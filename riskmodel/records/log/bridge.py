"""Cases into a log and out of it, without loss.

What a case states becomes a machine with its inputs, its samples one by one, and life records
that its group shares. What the log learns afterwards (a reading, a sample, a quote, a job)
changes the case that comes out accordingly.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from riskmodel.records.case import Case
from riskmodel.records.case_reader import unlearned
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.files import CASE_FILE, case_from_files, case_to_files
from riskmodel.records.log.assemble import Assembled, assembled
from riskmodel.records.log.entries import (
    TABLES,
    Decision,
    Group,
    InputsChanged,
    MachineAdded,
    RecordsSet,
    SampleTaken,
    TableSet,
)
from riskmodel.records.log.log import Log
from riskmodel.records.log.rows import New
from riskmodel.records.log.rules import OWN_KINDS

MOST_NAME = 40


@dataclass(frozen=True, slots=True)
class Brought:
    """A case that was taken in: the `machine`'s id in the log, its `group` (None: it shares
    with no other), and whether it keeps life records of its own, because its group has others."""

    machine: str
    group: Group | None
    own_records: bool
    warnings: tuple[str, ...] = ()


def import_case(
    log: Log, case: Case, *, author: str, machine: str | None = None, source: str = ""
) -> Brought:
    """Takes a case into the log as a new machine, in one step.

    `machine` is its id there (default: made from its name), `source` where it came from. Its
    life records become those of its group where that has none yet; where the group has the very
    same they are not held twice; where it has others the machine keeps its own.

    Raises InputError where the case would not come out again as it went in.
    """
    files = case_to_files(case)
    again = case_from_files(files)
    if replace(again, stated=case.stated) != unlearned(case):
        found = "values that would not be read back the same"
        raise InputError([Problem("case", "", found, "a case as the reader makes it")])
    seen = log.last(None)
    state = log.state()
    name = machine or free_id(log, case.machine.name)
    contents = tomllib.loads(files[CASE_FILE].decode("utf-8"))
    columns = () if again.samples is None else again.samples.columns
    new = [New(MachineAdded(contents, columns), name)]
    group = group_of_case(case)
    own = False
    if case.records is not None:
        text = files[contents["life"]["records"]].decode("utf-8")
        shared = None if group is None else state.records.get(group)
        if group is not None and shared is None:
            new.append(New(RecordsSet(text, group, source)))
        elif shared is None or shared.what.csv != text:
            own = group is not None
            new.append(New(RecordsSet(text, None, source), name))
    for key in TABLES:
        section, _, entry = key.partition(".")
        if (file := contents.get(section, {}).get(entry)) is not None:
            new.append(New(TableSet(key, files[file].decode("utf-8"), source), name))
    for row in again.samples.rows if again.samples is not None else ():
        sample = SampleTaken(
            oil_age=row.oil_age,
            reading=row.reading,
            age=row.age,
            date=row.date,
            top_up=row.top_up,
            lab=row.lab,
            elements=row.elements,
        )
        new.append(New(sample, name))
    # The group's records must not have changed since they were compared.
    based_on: dict[str | None, int] = {None: seen}
    written = log.add_all(new, author=author, based_on=based_on if case.records else None)
    return Brought(name, group, own, written.warnings)


def export_case(log: Log, machine: str, *, shared: bool = True) -> Case:
    """The case of a machine from everything that the log knows of it.

    `shared = False` leaves out what the log itself made into life records (parts replaced,
    other machines in service). Raises InputError for an unknown machine, CannotAnswer for one
    without a part in service.
    """
    return export_files(log, machine, shared=shared).case()


def export_files(log: Log, machine: str, *, shared: bool = True) -> Assembled:
    """The files of the same case, with what had to be left out of them."""
    log.machine(machine)  # tells of an unknown one
    return assembled(log.state(), machine, shared=shared)


def group_of_case(case: Case) -> Group | None:
    """The group whose life records a case shares; None without a part code."""
    if not case.part.code:
        return None
    machine, part = case.machine, case.part
    return Group(part.code, part.lining, machine.unit, machine.invented)


def free_id(log: Log, name: str) -> str:
    """An id for a new machine made from its name: "example-road-car", "example-road-car-2"."""
    plain = re.sub(r"[^\w]+", "-", name.lower()).strip("-_")[:MOST_NAME] or "machine"
    number, found = 1, plain
    while log.last(found):
        number += 1
        found = f"{plain}-{number}"
    return found


def differences(before: Case, after: Case) -> InputsChanged | None:
    """What was stated anew between two versions of a machine's case, ready to be added.

    The meter, the samples and the tables have entries of their own and are left out. None where
    nothing else differs.
    """
    old, new = _stated(before), _stated(after)
    changes: dict[str, Any] = {}
    for key in (*old, *(key for key in new if key not in old)):
        if key not in OWN_KINDS and old.get(key) != new.get(key):
            changes[key] = new.get(key)
    return InputsChanged(changes) if changes else None


def _stated(case: Case) -> dict[str, Any]:
    raw = tomllib.loads(case_to_files(case)[CASE_FILE].decode("utf-8"))
    return {
        f"{section}.{name}": value
        for section, contents in raw.items()
        if isinstance(contents, Mapping)
        for name, value in contents.items()
    }


def decision_inputs(case: Case) -> dict[str, str]:
    """The files of a case as a `Decision` keeps them."""
    return {name: data.decode("utf-8") for name, data in case_to_files(case).items()}


def case_of_decision(decision: Decision) -> Case:
    """The case that a decision was taken on, as it was then.

    (`decision.shown` is the answer word for word; this is for working it out anew.) The
    program may have changed since: `Entry.program` tells which version it was.
    """
    return case_from_files({name: text.encode("utf-8") for name, text in decision.inputs.items()})
