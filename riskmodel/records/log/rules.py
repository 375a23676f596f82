"""What a new entry must be to what the log holds already.

Each check names what is wrong and what may stand instead; an entry with any problem is not
written. Whatever is written, the case of each machine can still be put together and read.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from riskmodel.records.case_reader import read_draft
from riskmodel.records.errors import CannotAnswer, InputError, Problem, plain, shown
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.life_table import read_records
from riskmodel.records.log.assemble import assembled
from riskmodel.records.log.entries import (
    TABLES,
    Decision,
    Entry,
    Finding,
    InputsChanged,
    Job,
    LabColumns,
    MachineAdded,
    MachineRetired,
    MeterReading,
    OilChange,
    Payload,
    Quote,
    RecordsSet,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
    Undone,
)
from riskmodel.records.log.lives import lives_of
from riskmodel.records.log.state import LogState, MachineState, SampleState
from riskmodel.records.scalars import text_fault
from riskmodel.records.values import Notes

OWN_KINDS = {
    "machine.reading": "a meter reading entered as such (a wrong one is undone)",
    "machine.date": "a meter reading entered as such (a wrong one is undone)",
    "machine.unit": "the unit it was taken in with (undo its adding otherwise)",
    "life.records": "life records entered as such",
    "oil.samples": "samples entered as such",
    **dict.fromkeys(TABLES, "a table entered as such"),
}
"""Inputs that are not changed as such, and what stands instead."""

_IN_USE = (InputsChanged, MeterReading, OilChange, SampleTaken, Job, MachineRetired)
"""Kinds that only a machine which is looked after has."""

_Faults = Iterator[tuple[str, str, str]]


def check_entry(
    payload: Payload, machine: MachineState | None, name: str | None, known: bool
) -> None:
    """Holds a new entry against its machine as it stands (None: not in the log, or undone).

    `name` is the machine's id (None: the entry is about a group), `known` whether there was
    ever an entry about it. Raises InputError.
    """
    problems = [Problem(payload.title, *f) for f in _place(payload, machine, name, known)]
    if not problems and machine is not None:
        problems = [Problem(payload.title, *fault) for fault in _against(payload, machine)]
    if not problems:
        problems = list(_contents(payload, machine))
    if problems:
        raise InputError(problems)


def _place(
    payload: Payload, machine: MachineState | None, name: str | None, known: bool
) -> _Faults:
    """Whether the entry is about what such an entry may be about."""
    shared = isinstance(payload, RecordsSet) and payload.group is not None
    if isinstance(payload, Undone):
        yield "", "an undo without what it undoes", "Log.undo"
    elif shared and name is not None:
        yield "machine", shown(name), "no machine: these are the records of a group"
    elif isinstance(payload, LabColumns):
        if name is not None:
            yield "machine", shown(name), "no machine: this is about a laboratory"
    elif name is None and not shared:
        yield "machine", "nothing", "the machine it is about"
    elif name is not None and (fault := text_fault(name)) is not None:
        yield "machine", shown(name), fault
    elif name is not None and not name.strip():
        yield "machine", "nothing", "a name for it in the log"
    elif isinstance(payload, MachineAdded) and known:
        yield "machine", f"{shown(name)}, which the log has already", "another name in the log"
    elif name is not None and machine is None and not isinstance(payload, MachineAdded):
        yield "machine", f"the unknown machine {shown(name)}", "one that the log has"
    elif machine is not None and machine.retired is not None and isinstance(payload, _IN_USE):
        found = f"a machine that was given up on {machine.retired.what.date}"
        yield "machine", found, "one that is looked after (undo its giving up otherwise)"


def _against(payload: Payload, machine: MachineState) -> _Faults:
    match payload:
        case MeterReading() | OilChange() | MachineRetired() | Job():
            yield from _meter(payload.reading, payload.date, machine)
            if isinstance(payload, Job):
                yield from _job(payload, machine)
        case SampleTaken():
            yield from _sample(payload, machine)
        case SampleSent() | SampleBack() | SampleTold():
            yield from _step(payload, machine)
        case Finding():
            jobs = {job.uuid: job for job in machine.jobs}
            if payload.job not in jobs:
                yield "job", f"the unknown job {shown(payload.job)}", "a job of this machine"
            elif any(f.what.position == payload.position for f in jobs[payload.job].findings):
                found = f"{shown(payload.position)} once more"
                yield "position", found, "each shell once at a job (undo the other finding)"
        case InputsChanged():
            for key in payload.changes:
                if key in OWN_KINDS:
                    yield key, "a change of this input", OWN_KINDS[key]
                elif key not in BY_KEY or key.count(".") != 1:
                    yield key, "an unknown key", "a key of case.toml, such as cost.planned"


def _meter(reading: float, date: str | None, machine: MachineState) -> _Faults:
    """A meter never runs backwards while the days go on."""
    if date is None:
        return
    dated = [(mark, mark.date) for mark in machine.marks if mark.date is not None]
    earlier = [mark for mark, day in dated if day < date and mark.reading > reading]
    later = [mark for mark, day in dated if day > date and mark.reading < reading]
    if earlier:
        mark, bound = max(earlier, key=lambda mark: mark.reading), "at least"
    elif later:
        mark, bound = min(later, key=lambda mark: mark.reading), "at most"
    else:
        return
    expected = (
        f"{bound} {plain(mark.reading)}, the meter on {mark.date} by {mark.entry} "
        "(undo that if it is the wrong one)"
    )
    yield "reading", f"{plain(reading)} on {date}", expected


def _job(job: Job, machine: MachineState) -> _Faults:
    part = machine.part
    if part is None and (job.failed or not job.replaced):
        yield "replaced", "a job on a machine without a part", "the job that fitted one"
    if part is not None and (job.failed or job.replaced) and job.reading <= part.fitted_at:
        expected = f"more than {plain(part.fitted_at)}, where the present part was fitted"
        yield "reading", plain(job.reading), expected
    if part is not None and job.whole_at is not None and job.whole_at < part.fitted_at:
        expected = f"at least {plain(part.fitted_at)}, where the present part was fitted"
        yield "whole_at", plain(job.whole_at), expected
    if part is None and machine.parts[-1].ended is not None:
        last = machine.parts[-1].ended.job.what.reading
        if job.reading < last:
            yield "reading", plain(job.reading), f"at least {plain(last)}, where it failed"
    known = BY_KEY["machine.symptoms"].choices
    for symptom in job.symptoms:
        if symptom not in known:
            yield "symptoms", shown(symptom), ", ".join(known)


def _sample(sample: SampleTaken, machine: MachineState) -> _Faults:
    if machine.part is None and sample.age is not None:
        yield "age", plain(sample.age), "a meter reading: no part is in service"
        return
    if sample.age is not None:
        age = machine.reading - machine.parts[-1].fitted_at
        if sample.age > age:
            yield "age", plain(sample.age), f"not more than the part's age, {plain(age)}"
        elif sample.oil_age > sample.age:
            expected = f"not more than the part's age at the sample, {plain(sample.age)}"
            yield "oil_age", plain(sample.oil_age), expected
        return
    assert sample.reading is not None
    yield from _meter(sample.reading, sample.date, machine)
    fitted = [part.fitted_at for part in machine.parts if part.fitted_at < sample.reading]
    if fitted and sample.oil_age > sample.reading - fitted[-1]:
        expected = (
            f"not more than the part's age at the sample, {plain(sample.reading - fitted[-1])} "
            f"(it was fitted at {plain(fitted[-1])}, with fresh oil)"
        )
        yield "oil_age", plain(sample.oil_age), expected
    elif not fitted:
        expected = f"more than {plain(machine.parts[0].fitted_at)}, where the part was fitted"
        yield "reading", plain(sample.reading), expected


def _step(step: SampleSent | SampleBack | SampleTold, machine: MachineState) -> _Faults:
    """The states of a sample follow one another, on days that do not run backwards."""
    sample = next((s for s in machine.samples if s.uuid == step.sample), None)
    if sample is None:
        yield "sample", f"the unknown sample {shown(step.sample)}", "a sample of this machine"
        return
    order = ("taken", "sent", "back", "told")
    aim = {"sample_sent": "sent", "sample_back": "back", "sample_told": "told"}[step.kind]
    if aim == "told" and sample.stage != "back":
        yield "sample", f"a sample that is {sample.stage}", "one that is back"
    elif order.index(sample.stage) >= order.index(aim):
        yield "sample", f"a sample that is {sample.stage} already", f"one that is not {aim} yet"
    else:
        before = _last_day(sample)
        if before is not None and step.date < before:
            yield "date", step.date, f"not before {before}, its last step"


def _last_day(sample: SampleState) -> str | None:
    steps = (sample.taken, sample.sent, sample.back)
    days = [held.what.date for held in steps if held is not None and held.what.date is not None]
    return max(days, default=None)


def _contents(payload: Payload, machine: MachineState | None) -> Iterator[Problem]:
    """What the reader of a case says of inputs and tables, before they are worked in."""
    raw: dict[str, Any] = {} if machine is None else copy.deepcopy(dict(machine.contents))
    match payload:
        case MachineAdded():
            yield from _draft(payload.contents)
        case InputsChanged():
            for key, value in payload.changes.items():
                section, _, name = key.partition(".")
                raw.setdefault(section, {})[name] = value
                if value is None:
                    del raw[section][name]
            yield from _draft(raw)
        case Quote():
            yield from _draft({**raw, "cost": {**raw.get("cost", {}), **payload.prices}})
        case RecordsSet() if payload.csv is not None:
            read_records(payload.csv.encode("utf-8"))


def _draft(raw: Mapping[str, Any]) -> list[Problem]:
    """The problems of raw contents of a case file, each input for itself."""
    notes = Notes("case.toml")
    draft = read_draft(raw, notes)
    if not notes.problems and draft.unit is None:
        return [Problem("case.toml", "machine.unit", "nothing", "km, mi or h")]
    return notes.problems


def check_cases(state: LogState, machines: Iterable[str], title: str) -> None:
    """Whether the case of each of these machines can be put together and read.

    Raises InputError with the problems that there would be, each naming the machine.
    """
    problems = []
    for name in machines:
        machine = state.machines.get(name)
        if machine is None:
            continue
        try:
            assembled(state, name).case()
        except CannotAnswer:
            continue
        except InputError as fault:
            problems += [
                Problem(f"{title}, case of {machine.name}", f"{p.file}, {p.where}", p.found,
                        p.expected)
                for p in fault.problems
            ]  # fmt: skip
    if problems:
        raise InputError(problems)


def affected(state: LogState, entries: Iterable[Entry]) -> tuple[str, ...]:
    """The machines whose case an entry may have made unreadable.

    What takes something away (an undo, a machine that leaves its group) may leave others of the
    group without a failure to learn from; what only adds cannot.
    """
    found: dict[str, None] = {}
    for entry in entries:
        payload = entry.payload
        machine = None if entry.machine is None else state.machines.get(entry.machine)
        if isinstance(payload, RecordsSet) and payload.group is not None:
            group = payload.group
            found.update((name, None) for name, of in state.machines.items() if of.group == group)
        elif isinstance(payload, Undone) or (
            isinstance(payload, InputsChanged) and _moves(payload.changes)
        ):
            found.update(dict.fromkeys(state.machines))
        elif machine is not None and (_delicate(machine) or not isinstance(payload, _HARMLESS)):
            found[machine.id] = None
    return tuple(found)


def _delicate(machine: MachineState) -> bool:
    """Whether a mere sample may make a case unreadable: it may stand in a table of other engines,
    or (by the part's age) not agree with the days of others."""
    by_age = any(sample.taken.what.age is not None for sample in machine.samples)
    return by_age or bool(machine.tables)


def _moves(changes: Mapping[str, Any]) -> bool:
    """Whether inputs may take a machine's parts to another group, or change their lives."""
    return any(key.startswith("part.") or key == "machine.invented" for key in changes)


_HARMLESS = (
    MeterReading,
    OilChange,
    SampleTaken,
    SampleSent,
    SampleBack,
    SampleTold,
    Finding,
    Decision,
    MachineRetired,
    LabColumns,
)
"""Kinds that are checked against the machine alone: they cannot make its case unreadable."""


def double_counted(state: LogState, payload: Payload) -> str | None:
    """A remark where life records that are brought in look like parts that the log knows itself
    (its own records sent out and brought back): they would count twice."""
    if not isinstance(payload, RecordsSet) or payload.csv is None or payload.group is None:
        return None
    table = read_records(payload.csv.encode("utf-8"))
    rows = set(zip(table.age.tolist(), table.outcome, table.entered_at.tolist(), strict=True))
    lives = lives_of(state, payload.group)
    found = sum((life.age, life.outcome, life.entered_at) in rows for life in lives)
    if not found:
        return None
    parts = "part that this log knows" if found == 1 else "parts that this log knows"
    return (
        f"The life records seem to hold {found} {parts} itself. Records brought in should be of "
        "other people's parts only: those of the log are added to them, and would count twice."
    )
