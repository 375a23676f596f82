"""What is written into a log: one frozen dataclass for each kind of entry.

An entry is what somebody stated at one time about one machine (or, for life records that
machines share, about a group). Nothing is ever changed or taken out; `Undone` says that an
earlier entry no longer holds. What holds at present is worked out from all entries by
`riskmodel.records.log.fold`.

Meter readings and ages are in the machine's unit, money in its currency, dates are texts
year-month-day. A payload that says something impossible raises `InputError` when it is made.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from riskmodel.records.errors import one_of, shown
from riskmodel.records.inputs import INPUTS, Unit
from riskmodel.records.log.job_entries import (
    LOOKS,
    PRICES,
    Decision,
    Finding,
    Job,
    Look,
    Quote,
    Said,
)
from riskmodel.records.log.lab_entries import LabColumns
from riskmodel.records.log.oil_entries import (
    MeterReading,
    OilChange,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
)
from riskmodel.records.log.payload import LONGEST_NOTE, Faults, Payload, day, number, text

__all__ = [
    "KINDS",
    "LOOKS",
    "PRICES",
    "TABLES",
    "Decision",
    "Entry",
    "Finding",
    "Group",
    "InputsChanged",
    "Job",
    "LabColumns",
    "Look",
    "MachineAdded",
    "MachineRetired",
    "MeterReading",
    "OilChange",
    "Payload",
    "Quote",
    "RecordsSet",
    "Said",
    "SampleBack",
    "SampleSent",
    "SampleTaken",
    "SampleTold",
    "TableSet",
    "Undone",
]

TABLES = tuple(
    entry.key
    for entry in INPUTS
    if entry.kind == "file" and entry.key not in ("life.records", "oil.samples")
)
"""Inputs that name a table of a case, without those that the log knows row by row."""


@dataclass(frozen=True, slots=True)
class Group:
    """Machines whose part wears alike: they share life records.

    A part code is needed: a lining alone says too little. Ages in different units, or of
    invented and of real machines, are never mixed.
    """

    code: str
    lining: str
    unit: Unit
    invented: bool = False


@dataclass(frozen=True, slots=True)
class MachineAdded(Payload):
    """A machine taken into the log, with its inputs as case.toml states them.

    `contents` are the raw contents of case.toml; its tables come as entries of their own.
    `sample_columns` are the columns of its file of samples, in their order.
    """

    kind: ClassVar[str] = "machine"
    title: ClassVar[str] = "new machine"
    contents: Mapping[str, Any]
    sample_columns: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class InputsChanged(Payload):
    """Inputs stated anew, as case.toml would state them, by whole keys: "cost.planned":
    [2200, 3100]; a list of tables ("oil.element") is stated whole. None takes a statement
    back. What has a kind of entry of its own (meter, samples, life records) is not changed
    here, nor is the unit."""

    kind: ClassVar[str] = "inputs"
    title: ClassVar[str] = "changed inputs"
    changes: Mapping[str, Any]
    note: str = ""

    @property
    def gist(self) -> str:
        return ", ".join(self.changes)

    def _faults(self) -> Faults:
        if not self.changes:
            yield "changes", "nothing", "at least one input"
        yield from text("note", self.note, LONGEST_NOTE)


@dataclass(frozen=True, slots=True)
class RecordsSet(Payload):
    """The life records of a group or (no `group`, but the entry's machine) of one machine.

    `csv` is the text of the file; it takes the place of the one before. None: none any more.
    A machine's own table goes before that of its group.
    """

    kind: ClassVar[str] = "records"
    title: ClassVar[str] = "life records"
    csv: str | None
    group: Group | None = None
    source: str = ""

    def _faults(self) -> Faults:
        if self.group is not None and not self.group.code:
            yield "group", "a group without a part code", "a part code"
        yield from text("source", self.source)


@dataclass(frozen=True, slots=True)
class TableSet(Payload):
    """A further table of a machine's case, by the input that names its file ("oil.fleet").

    `csv` is the text of the file; it takes the place of the one before. None: none any more.
    """

    kind: ClassVar[str] = "table"
    title: ClassVar[str] = "table"
    key: str
    csv: str | None
    source: str = ""

    def _faults(self) -> Faults:
        if self.key not in TABLES:
            yield "key", shown(self.key), one_of(TABLES)
        yield from text("source", self.source)


@dataclass(frozen=True, slots=True)
class MachineRetired(Payload):
    """The machine was sold, scrapped or is no longer looked after; its part was then whole."""

    kind: ClassVar[str] = "retired"
    title: ClassVar[str] = "machine given up"
    reading: float
    date: str
    note: str = ""

    def _faults(self) -> Faults:
        yield from number("reading", self.reading)
        yield from day("date", self.date)
        yield from text("note", self.note, LONGEST_NOTE)


@dataclass(frozen=True, slots=True)
class Undone(Payload):
    """An earlier entry (`Entry.undoes`) no longer holds; undoing this one makes it hold again."""

    kind: ClassVar[str] = "undo"
    title: ClassVar[str] = "undo"
    reason: str = ""

    def _faults(self) -> Faults:
        yield from text("reason", self.reason, LONGEST_NOTE)


KINDS: Mapping[str, type[Payload]] = {
    kind.kind: kind
    for kind in (
        MachineAdded,
        InputsChanged,
        RecordsSet,
        TableSet,
        MeterReading,
        OilChange,
        SampleTaken,
        SampleSent,
        SampleBack,
        SampleTold,
        Job,
        Finding,
        Quote,
        Decision,
        MachineRetired,
        LabColumns,
        Undone,
    )
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as it stands in the log.

    `seq` counts from 1 without gaps and gives the order, whatever the clock said; `recorded`
    is that clock's time (UTC); `machine` is None for what concerns a group; `program` is the
    version that wrote it; `undoes` the seq of the entry that an `Undone` takes back.
    """

    seq: int
    uuid: str
    recorded: str
    author: str
    machine: str | None
    payload: Payload
    program: str
    undoes: int | None = None

    @property
    def kind(self) -> str:
        return self.payload.kind

    def __str__(self) -> str:
        """ "entry 12 (meter reading by Ann, 2026-11-27 03:01 UTC)"."""
        when = self.recorded[:16].replace("T", " ")
        return f"entry {self.seq} ({self.payload.title} by {self.author}, {when} UTC)"
