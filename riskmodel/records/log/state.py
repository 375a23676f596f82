"""What a log says at present: one frozen dataclass for each thing that it holds.

Made by `riskmodel.records.log.fold` from the entries that hold (undone ones left out); each
thing carries the entry that brought it, with its author and time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, Literal, TypeVar

from riskmodel.records.inputs import Unit
from riskmodel.records.log.entries import (
    LOOKS,
    Decision,
    Entry,
    Finding,
    Group,
    Job,
    LabColumns,
    Look,
    MachineRetired,
    MeterReading,
    OilChange,
    Quote,
    RecordsSet,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
    TableSet,
)
from riskmodel.records.tables import Reading

T = TypeVar("T")
Stage = Literal["taken", "sent", "back", "told"]


@dataclass(frozen=True, slots=True)
class Held(Generic[T]):
    """Something that was stated and holds, with the entry that stated it."""

    entry: Entry
    what: T


@dataclass(frozen=True, slots=True)
class Mark:
    """A meter reading that some entry brought (a reading, an oil change, a sample, a job)."""

    reading: float
    date: str | None
    entry: Entry


@dataclass(frozen=True, slots=True)
class SampleState:
    """A sample and how far it has come. `part` is which of the machine's parts it is of
    (0: the first), None where it is of none."""

    taken: Held[SampleTaken]
    sent: Held[SampleSent] | None = None
    back: Held[SampleBack] | None = None
    told: Held[SampleTold] | None = None
    part: int | None = None

    @property
    def uuid(self) -> str:
        return self.taken.entry.uuid

    @property
    def stage(self) -> Stage:
        if self.told is not None:
            return "told"
        if self.elements:
            return "back"
        return "taken" if self.sent is None else "sent"

    @property
    def elements(self) -> Mapping[str, Reading]:
        """The results [ppm]; empty until the sample is back."""
        return self.taken.what.elements if self.back is None else self.back.what.elements

    @property
    def lab(self) -> str:
        sent = self.sent.what.lab if self.sent is not None else ""
        return sent or self.taken.what.lab


@dataclass(frozen=True, slots=True)
class JobState:
    """A job and what was found at it, shell by shell."""

    job: Held[Job]
    findings: tuple[Held[Finding], ...] = ()

    @property
    def uuid(self) -> str:
        return self.job.entry.uuid

    @property
    def worst(self) -> Look:
        """The worst look over all shells; "not_seen" where nothing was looked at."""
        return max((held.what.look for held in self.findings), key=LOOKS.index, default="not_seen")


@dataclass(frozen=True, slots=True)
class PartState:
    """One part of a machine, from its fitting to its end.

    `entered_at` is the part's age when its watch began. `counted_to` is the age up to which a
    line in life records that were brought along already counts it (0 where it has none).
    `ended` is the job that took it out, None while it is in service.
    """

    name: str
    code: str
    lining: str
    fitted_at: float
    entered_at: float = 0.0
    counted_to: float = 0.0
    traits: Mapping[str, float | str] = field(default_factory=dict)
    ended: JobState | None = None


@dataclass(frozen=True, slots=True)
class MachineState:
    """A machine as the log knows it at present.

    `contents` are the raw contents of case.toml with everything since worked in: meter, next
    oil change, prices of the latest quotes, the part fitted last. What was stated about times to
    come (how long it is kept, usage per year) stays as last stated. `sources` gives by key the
    entry that stated an input last ("cost.planned": a quote), where it was not `added`.

    `last` is the seq of the newest entry about it, undone ones included: state it as `based_on`
    when adding to what was seen here. `overdue_oil` is the usage by which an oil change is
    overdue (0: it is not).
    """

    id: str
    added: Entry
    contents: Mapping[str, Any]
    sources: Mapping[str, Entry]
    sample_columns: tuple[str, ...]
    name: str
    unit: Unit
    group: Group | None
    records: Held[RecordsSet] | None
    tables: Mapping[str, Held[TableSet]]
    parts: tuple[PartState, ...]
    marks: tuple[Mark, ...]
    readings: tuple[Held[MeterReading], ...]
    oil_changes: tuple[Held[OilChange], ...]
    samples: tuple[SampleState, ...]
    jobs: tuple[JobState, ...]
    quotes: tuple[Held[Quote], ...]
    decisions: tuple[Held[Decision], ...]
    retired: Held[MachineRetired] | None
    overdue_oil: float
    last: int

    @property
    def reading(self) -> float:
        """The highest meter reading known."""
        return max(mark.reading for mark in self.marks)

    @property
    def date(self) -> str | None:
        """The latest day on which its meter was known; None where no day was stated."""
        return max((mark.date for mark in self.marks if mark.date is not None), default=None)

    @property
    def part(self) -> PartState | None:
        """The part in service; None after a failure with nothing fitted since."""
        return self.parts[-1] if self.parts[-1].ended is None else None

    @property
    def in_service(self) -> bool:
        """Whether the machine runs and is looked after."""
        return self.part is not None and self.retired is None


@dataclass(frozen=True, slots=True)
class LogState:
    """Everything a log holds at present.

    `machines` by their id; `records` the tables that groups share; `last` the newest seq;
    `laboratories` how to read the tables of each, by its name.
    """

    machines: Mapping[str, MachineState]
    records: Mapping[Group, Held[RecordsSet]]
    last: int
    laboratories: Mapping[str, Held[LabColumns]] = field(default_factory=dict)

    def mates(self, machine: MachineState) -> tuple[MachineState, ...]:
        """The other machines with a part, now or before, of this machine's group."""
        if machine.group is None:
            return ()
        return tuple(
            other
            for other in self.machines.values()
            if other.id != machine.id and machine.group in groups_of(other)
        )


def groups_of(machine: MachineState) -> frozenset[Group]:
    """The groups of all parts that a machine has had."""
    groups = (group_of(machine, part) for part in machine.parts)
    return frozenset(group for group in groups if group is not None)


def group_of(machine: MachineState, part: PartState) -> Group | None:
    """The group whose life records a part belongs to; None where it has no part code."""
    if not part.code:
        return None
    invented = bool(machine.contents.get("machine", {}).get("invented", False))
    return Group(part.code, part.lining, machine.unit, invented)
