"""From the entries of a log to what they say at present."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from riskmodel.records.case import usage_between_services
from riskmodel.records.case_reader import DEFAULTS
from riskmodel.records.errors import shown
from riskmodel.records.log.entries import (
    Decision,
    Entry,
    Finding,
    Group,
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
    TableSet,
)
from riskmodel.records.log.state import (
    Held,
    JobState,
    MachineState,
    Mark,
    PartState,
    SampleState,
    group_of,
)

LEAST_TO_CHANGE = 1.0
"""Usage to the next oil change where it is due or overdue: an input above 0 (judgement)."""


def holding(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that hold, oldest first: neither undone nor an undoing themselves."""
    undone: set[int] = set()
    for entry in reversed(entries):
        if entry.undoes is not None and entry.seq not in undone:
            undone.add(entry.undoes)
    return [entry for entry in entries if entry.seq not in undone and entry.undoes is None]


def shared_records(entries: Sequence[Entry]) -> dict[Group, Held[RecordsSet]]:
    """The life records that groups share, from the entries that are about no machine."""
    tables: dict[Group, Held[RecordsSet]] = {}
    for entry in holding(entries):
        payload = entry.payload
        if isinstance(payload, RecordsSet) and payload.group is not None:
            tables[payload.group] = Held(entry, payload)
    return {group: held for group, held in tables.items() if held.what.csv is not None}


def laboratories(entries: Sequence[Entry]) -> dict[str, Held[LabColumns]]:
    """The columns of each laboratory's tables, from the entries that are about no machine."""
    found: dict[str, Held[LabColumns]] = {}
    for entry in holding(entries):
        if isinstance(entry.payload, LabColumns):
            found[entry.payload.laboratory] = Held(entry, entry.payload)
    return found


def fold_machine(machine: str, entries: Sequence[Entry]) -> MachineState | None:
    """One machine from all entries about it; None where its adding does not hold."""
    folded: _Machine | None = None
    for entry in holding(entries):
        if isinstance(entry.payload, MachineAdded):
            folded = _Machine(entry, entry.payload)
        elif folded is not None:
            folded.take(entry)
    return None if folded is None else folded.state(machine, entries[-1].seq)


class _Machine:
    """A machine on its way through its entries."""

    def __init__(self, entry: Entry, payload: MachineAdded) -> None:
        self.added = entry
        self.columns = payload.sample_columns
        self.raw: dict[str, Any] = copy.deepcopy(dict(payload.contents))
        machine = self.section("machine")
        if machine["unit"] not in DEFAULTS:
            raise ValueError(f"the unit {shown(machine['unit'])}")
        self.unit = machine["unit"]
        self.marks = [Mark(float(machine["reading"]), _text(machine.get("date")), entry)]
        self.sources: dict[str, Entry] = {}
        self.records: Held[RecordsSet] | None = None
        self.tables: dict[str, Held[TableSet]] = {}
        self.ended: list[PartState] = []
        self.fitted = True
        self.counted_to = self._counted()
        self.readings: list[Held[MeterReading]] = []
        self.oil_changes: list[Held[OilChange]] = []
        self.samples: dict[str, SampleState] = {}
        self.by_age: dict[str, int] = {}
        self.jobs: dict[str, JobState] = {}
        self.quotes: list[Held[Quote]] = []
        self.quoted: dict[str, str] = {}
        self.decisions: list[Held[Decision]] = []
        self.retired: Held[MachineRetired] | None = None
        # Where the meter stood when the next oil change was stated, or the oil last changed.
        self.oil_from = self.reading
        self.oil_due = self._stated_due()

    @property
    def reading(self) -> float:
        return max(mark.reading for mark in self.marks)

    def section(self, name: str) -> dict[str, Any]:
        held: dict[str, Any] = self.raw.setdefault(name, {})
        return held

    def value(self, section: str, name: str) -> Any:
        """An input as stated, or its default."""
        stated = self.raw.get(section, {}).get(name)
        return DEFAULTS[self.unit][f"{section}.{name}"] if stated is None else stated

    def words(self, section: str, name: str) -> str:
        """An input that is a text. Raises TypeError for anything else."""
        text = self.value(section, name)
        if not isinstance(text, str):
            raise TypeError(f"{section}.{name} is {shown(text)}")
        return text

    def take(self, entry: Entry) -> None:
        payload = entry.payload
        match payload:
            case InputsChanged():
                self._change(payload.changes)
                self.sources.update(dict.fromkeys(payload.changes, entry))
            case RecordsSet():
                self.records = None if payload.csv is None else Held(entry, payload)
            case TableSet():
                self.tables[payload.key] = Held(entry, payload)
            case MeterReading():
                self.readings.append(Held(entry, payload))
                self._mark(payload.reading, payload.date, entry)
            case OilChange():
                self.oil_changes.append(Held(entry, payload))
                self._mark(payload.reading, payload.date, entry)
                self._fresh_oil(payload.reading)
            case SampleTaken():
                self.samples[entry.uuid] = SampleState(Held(entry, payload))
                if payload.reading is None:
                    self.by_age[entry.uuid] = len(self.ended)
                else:
                    self._mark(payload.reading, payload.date, entry)
                    if payload.drained:
                        self._fresh_oil(payload.reading)
            case SampleSent() | SampleBack() | SampleTold():
                self._step(entry, payload)
            case Job():
                self._job(entry, payload)
            case Finding():
                if payload.job in self.jobs:
                    job = self.jobs[payload.job]
                    findings = (*job.findings, Held(entry, payload))
                    self.jobs[payload.job] = replace(job, findings=findings)
            case Quote():
                self._quote(entry, payload)
            case Decision():
                self.decisions.append(Held(entry, payload))
            case MachineRetired():
                self.retired = Held(entry, payload)
                self._mark(payload.reading, payload.date, entry)

    def _mark(self, reading: float, date: str | None, entry: Entry) -> None:
        self.marks.append(Mark(reading, date, entry))

    def _change(self, changes: Mapping[str, Any]) -> None:
        for key, value in changes.items():
            section, _, name = key.partition(".")
            if value is None:
                self.section(section).pop(name, None)
            else:
                self.section(section)[name] = copy.deepcopy(value)
            if section == "cost":
                self.quoted.pop(name, None)
        if "oil.next_change_in" in changes:
            self.oil_from = self.reading
            self.oil_due = self._stated_due()
        if "part.in_records" in changes:
            self.counted_to = self._counted()

    def _stated_due(self) -> float | None:
        """The meter at the next oil change as stated; None for a whole interval from there."""
        stated = self.raw.get("oil", {}).get("next_change_in")
        return None if stated is None else self.reading + float(stated)

    def _counted(self) -> float:
        """The age up to which life records that were brought along count the present part."""
        if not self.value("part", "in_records"):
            return 0.0
        return max(self.reading - float(self.value("part", "fitted_at")), 0.0)

    def _fresh_oil(self, reading: float) -> None:
        if reading >= self.oil_from:  # an older change, entered late, moves nothing
            self.oil_from, self.oil_due = reading, None
            self.section("oil").pop("next_change_in", None)

    def _step(self, entry: Entry, payload: Payload) -> None:
        match payload:
            case SampleSent() if payload.sample in self.samples:
                sample = self.samples[payload.sample]
                self.samples[payload.sample] = replace(sample, sent=Held(entry, payload))
            case SampleBack() if payload.sample in self.samples:
                sample = self.samples[payload.sample]
                self.samples[payload.sample] = replace(sample, back=Held(entry, payload))
            case SampleTold() if payload.sample in self.samples:
                sample = self.samples[payload.sample]
                if sample.elements:  # else its results were undone
                    self.samples[payload.sample] = replace(sample, told=Held(entry, payload))

    def _job(self, entry: Entry, job: Job) -> None:
        self.jobs[entry.uuid] = JobState(Held(entry, job))
        self._mark(job.reading, job.date, entry)
        if job.replaced or job.oil_changed:
            self._fresh_oil(job.reading)
        if job.failed or job.replaced:
            self._end_part(entry.uuid)
            self.section("machine")["symptoms"] = list(job.symptoms)
        if job.replaced:
            part = self.section("part")
            for name in ("entered_at", "in_records"):
                part.pop(name, None)
            part["fitted_at"] = job.reading
            self._begin_use_anew(job.reading)
            if job.new_code is not None:
                part["code"] = job.new_code
            if job.new_lining is not None:
                part["lining"] = job.new_lining
            self.fitted, self.counted_to = True, 0.0

    def _begin_use_anew(self, fitted_at: float) -> None:
        """Stretches of use that ended before the part was fitted are the old part's."""
        stretches = self.raw.get("use", {}).get("stretches")
        if stretches is None:
            return
        left = [row for row in stretches if row["until"] > fitted_at]
        if left:
            self.section("use")["stretches"] = left
        else:
            self.section("use").pop("stretches")

    def _end_part(self, job: str) -> None:
        if self.fitted:
            self.ended.append(replace(self._part(), ended=self.jobs[job]))
            self.fitted = False

    def _part(self) -> PartState:
        return PartState(
            name=self.words("part", "name"),
            code=self.words("part", "code"),
            lining=self.words("part", "lining"),
            fitted_at=float(self.value("part", "fitted_at")),
            entered_at=float(self.value("part", "entered_at")),
            counted_to=self.counted_to,
            traits=dict(self.value("part", "traits")),
        )

    def _quote(self, entry: Entry, quote: Quote) -> None:
        self.quotes.append(Held(entry, quote))
        for name, price in quote.prices.items():
            if quote.date >= self.quoted.get(name, ""):
                self.quoted[name] = quote.date
                self.section("cost")[name] = copy.deepcopy(price)
                self.sources[f"cost.{name}"] = entry

    def state(self, machine: str, last: int) -> MachineState:
        overdue = self._next_change()
        raw, marks = self.raw, self.marks
        # What was stated first stays as it was written while nothing newer is known.
        if len(marks) > 1:
            raw["machine"]["reading"] = self.reading
            dates = [mark.date for mark in marks if mark.date is not None]
            if dates:
                raw["machine"]["date"] = max(dates)
        # The findings came after the job that ended a part.
        parts = [replace(p, ended=self.jobs[p.ended.uuid]) for p in self.ended if p.ended]
        if self.fitted:
            parts.append(self._part())
        samples = [self._of_part(sample, parts) for sample in self.samples.values()]
        state = MachineState(
            id=machine,
            added=self.added,
            contents=raw,
            sources=dict(self.sources),
            sample_columns=self.columns,
            name=self.words("machine", "name"),
            unit=self.unit,
            group=None,
            records=self.records,
            tables={key: held for key, held in self.tables.items() if held.what.csv is not None},
            parts=tuple(parts),
            marks=tuple(marks),
            readings=tuple(self.readings),
            oil_changes=tuple(self.oil_changes),
            samples=tuple(samples),
            jobs=tuple(self.jobs.values()),
            quotes=tuple(self.quotes),
            decisions=tuple(self.decisions),
            retired=self.retired,
            overdue_oil=overdue,
            last=last,
        )
        return replace(state, group=group_of(state, parts[-1]))

    def _next_change(self) -> float:
        """Works the next oil change into the contents; returns the usage it is overdue by."""
        if self.reading == self.oil_from:
            return 0.0  # as it was stated, or a whole interval from here
        interval = usage_between_services(
            float(self.value("oil", "interval")),
            self.raw.get("oil", {}).get("every_months"),
            float(self.value("machine", "usage_per_year")),
        )
        due = self.oil_due if self.oil_due is not None else self.oil_from + interval
        left = due - self.reading
        self.section("oil")["next_change_in"] = min(max(left, LEAST_TO_CHANGE), interval)
        return max(-left, 0.0)

    def _of_part(self, sample: SampleState, parts: Sequence[PartState]) -> SampleState:
        """The sample with the part it is of: oil drawn at a replacement is the old part's."""
        if sample.uuid in self.by_age:
            number = self.by_age[sample.uuid]
            return replace(sample, part=number if number < len(parts) else None)
        at = sample.taken.what.reading
        assert at is not None
        before = [number for number, part in enumerate(parts) if part.fitted_at < at]
        if not before:
            return sample
        ended = parts[before[-1]].ended
        if ended is not None and at > ended.job.what.reading:
            return sample  # after a failure, with nothing fitted
        return replace(sample, part=before[-1])


def _text(value: object) -> str | None:
    return None if value is None else str(value)


def machines_in(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """The entries about each machine, oldest first."""
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.machine is not None:
            found.setdefault(entry.machine, []).append(entry)
    return found
