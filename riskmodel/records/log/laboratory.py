"""A laboratory's table of many machines' samples, into the log: all of it or nothing.

Which column is what is guessed from the headings, may be put right, and is remembered for the
laboratory's next table. A row whose sample stands in the log already, with the same readings, is
a duplicate and is left out; one that gives the results of a sample that is under way brings that
sample back; the others are new samples.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from riskmodel.records.errors import InputError, Problem, by_line, shown
from riskmodel.records.inputs import Unit
from riskmodel.records.log.lab_entries import LabColumns
from riskmodel.records.log.laboratory_guess import DATE, guessed
from riskmodel.records.log.log import Log
from riskmodel.records.log.oil_entries import SampleBack, SampleTaken
from riskmodel.records.log.payload import Payload
from riskmodel.records.log.rows import New, Written
from riskmodel.records.log.rules import check_entry
from riskmodel.records.log.state import LogState, MachineState, SampleState
from riskmodel.records.loose_cells import read_loose_number
from riskmodel.records.loose_text import LooseTable, read_loose
from riskmodel.records.scalars import UnreadableError, read_date
from riskmodel.records.tables import Reading

_NOT_MEASURED = ("", "-", "–", "n/a")


@dataclass(frozen=True, slots=True)
class Row:
    """What one line of the table comes to: an entry about a machine."""

    line: int
    machine: str
    entry: Payload


@dataclass(frozen=True, slots=True)
class Batch:
    """A table held against the log. `new` samples and results that came `back` for samples under
    way would be written; `duplicates` are lines of samples that the log has, `unlike` lines at a
    place where it has another sample (they count as new: two of one fill). `unknown` gives by
    name in the table the lines of machines that the log has not; `problems` what cannot be read."""

    columns: LabColumns
    new: tuple[Row, ...] = ()
    back: tuple[Row, ...] = ()
    duplicates: tuple[tuple[int, str], ...] = ()
    unlike: tuple[tuple[int, str], ...] = ()
    unknown: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()


def held_against(
    loose: LooseTable, columns: LabColumns, state: LogState, today: datetime.date
) -> Batch:
    """What the table would bring into the log."""
    problems = [*_unsettled(loose, columns), *loose.ragged_problems()]
    if problems:
        return Batch(columns, problems=tuple(problems))
    names = _machine_names(state, columns)
    reader = _Reader(loose, columns, today)
    new: list[Row] = []
    back: list[Row] = []
    duplicates: list[tuple[int, str]] = []
    unlike: list[tuple[int, str]] = []
    unknown: dict[str, list[int]] = {}
    brought: dict[str, list[SampleTaken]] = {}
    ended: set[str] = set()
    for line, cells in loose.rows:
        if not any(cells):
            continue
        row = dict(zip(loose.headings, cells, strict=True))
        told = row[columns.columns["machine"]].strip()
        ids = names.get(told.casefold(), ())
        if len(ids) != 1:
            if not ids:
                unknown.setdefault(told, []).append(line)
            else:
                expected = f"one machine; it may be {', '.join(ids)}: say which"
                reader.note(line, columns.columns["machine"], shown(told), expected)
            continue
        machine = state.machines[ids[0]]
        sample = reader.sample(line, row, machine)
        if sample is None:
            continue
        others = [*(s.taken.what for s in machine.samples), *brought.get(machine.id, ())]
        if any(_same_place(sample, s) and _readings(s, machine) == sample.elements
               for s in others):  # fmt: skip
            duplicates.append((line, machine.id))
            continue
        waiting = next((s for s in machine.samples
                        if s.uuid not in ended and _awaits(s, sample)), None)  # fmt: skip
        entry: Payload = sample
        if waiting is not None:
            day = max(today.isoformat(), sample.date or "")
            entry = SampleBack(waiting.uuid, day, sample.elements)
            ended.add(waiting.uuid)
        elif any(_same_place(sample, s) for s in others):
            unlike.append((line, machine.id))
        if not reader.agrees(line, entry, machine):
            continue
        brought.setdefault(machine.id, []).append(sample)
        (new if waiting is None else back).append(Row(line, machine.id, entry))
    return Batch(
        columns,
        tuple(new),
        tuple(back),
        tuple(duplicates),
        tuple(unlike),
        {name: tuple(lines) for name, lines in unknown.items()},
        tuple(by_line(reader.problems)),
    )


def _readings(sample: SampleTaken, machine: MachineState) -> Mapping[str, Reading]:
    """The readings of a sample that the log has, those that came back later included."""
    for held in machine.samples:
        if held.taken.what is sample:
            return held.elements
    return sample.elements


def _same_place(one: SampleTaken, other: SampleTaken) -> bool:
    """Whether two samples are of one machine at one meter reading (or, by age, one age)."""
    if one.reading is not None and other.reading is not None:
        return one.reading == other.reading
    if one.age is not None and other.age is not None:
        return one.age == other.age
    return one.date is not None and one.date == other.date


def _awaits(held: SampleState, sample: SampleTaken) -> bool:
    """Whether a sample under way is the one whose results a row brings."""
    if held.stage not in ("taken", "sent"):
        return False
    bottle = held.taken.what.bottle
    if bottle and sample.bottle:
        return bottle.casefold() == sample.bottle.casefold()
    return _same_place(held.taken.what, sample)


def _machine_names(state: LogState, columns: LabColumns) -> dict[str, tuple[str, ...]]:
    """The ids that a name in the table may mean, by the name in lower case."""
    found: dict[str, dict[str, None]] = {}
    for machine in state.machines.values():
        for name in (machine.id, machine.name):
            found.setdefault(name.casefold(), {})[machine.id] = None
    for name, told in columns.machines.items():
        if told in state.machines:
            found[name.casefold()] = {told: None}
    return {name: tuple(ids) for name, ids in found.items()}


def _unsettled(loose: LooseTable, columns: LabColumns) -> list[Problem]:
    """What stands in the way of reading any row."""
    found = []
    have = ", ".join(loose.headings)
    for name in ("machine", "oil_age"):
        if name not in columns.columns:
            expected = f"the column that holds it, of {have}"
            found.append(Problem(loose.file, name, "no column", expected))
    if not {"reading", "age"} & set(columns.columns):
        expected = f"the column of the meter (reading) or of the part's age, of {have}"
        found.append(Problem(loose.file, "reading", "no column", expected))
    if not columns.elements:
        expected = f"a column for at least one element, of {have}"
        found.append(Problem(loose.file, "elements", "no column", expected))
    for name, heading in (*columns.columns.items(), *columns.elements.items()):
        if heading not in loose.headings:
            found.append(Problem(loose.file, name, f"no column {shown(heading)}", have))
    return found


class _Reader:
    """Reads rows; what cannot be read goes into `problems`."""

    def __init__(self, loose: LooseTable, columns: LabColumns, today: datetime.date) -> None:
        self._loose, self._columns, self._today = loose, columns, today
        self.problems: list[Problem] = []

    def note(self, line: int, heading: str, found: str, expected: str) -> None:
        where = f"line {line}, column {heading}" if heading else f"line {line}"
        self.problems.append(Problem(self._loose.file, where, found, expected))

    def agrees(self, line: int, entry: Payload, machine: MachineState) -> bool:
        """Whether an entry agrees with its machine as it stands."""
        try:
            check_entry(entry, machine, machine.id, True)
        except InputError as fault:
            for p in fault.problems:
                self.note(line, self._columns.columns.get(p.where, p.where), p.found, p.expected)
            return False
        return True

    def sample(
        self, line: int, row: Mapping[str, str], machine: MachineState
    ) -> SampleTaken | None:
        """The sample of a row; None where something of it cannot be read."""
        before, unit = len(self.problems), machine.unit
        at = {
            name: self._number(line, row, name, unit)
            for name in ("reading", "age", "oil_age", "top_up")
        }
        date = self._date(line, row)
        elements: dict[str, Reading] = {}
        for symbol, heading in self._columns.elements.items():
            if (reading := self._reading(line, heading, row[heading], unit)) is not None:
                elements[symbol] = reading
        for name in ("reading", "age", "oil_age"):
            if name in self._columns.columns and at[name] is None and before == len(self.problems):
                self.note(line, self._columns.columns[name], "an empty cell", "a number")
        if not elements and before == len(self.problems):
            self.note(line, "", "no element measured", "at least one in each sample")
        if len(self.problems) > before:
            return None
        bottle = self._columns.columns.get("bottle")
        try:
            return SampleTaken(
                oil_age=at["oil_age"] or 0.0,
                reading=at["reading"],
                age=at["age"],
                date=date,
                top_up=at["top_up"] or 0.0,
                lab=self._columns.laboratory,
                bottle="" if bottle is None else row[bottle].strip(),
                elements=elements,
            )
        except InputError as fault:
            for p in fault.problems:
                self.note(line, self._columns.columns.get(p.where, p.where), p.found, p.expected)
            return None

    def _number(self, line: int, row: Mapping[str, str], name: str, unit: Unit) -> float | None:
        heading = self._columns.columns.get(name)
        if heading is None or row[heading].strip() in _NOT_MEASURED:
            return None
        try:
            return read_loose_number(row[heading], self._columns.decimal, unit)
        except UnreadableError as fault:
            self.note(line, heading, shown(row[heading]), str(fault))
            return None

    def _reading(self, line: int, heading: str, cell: str, unit: Unit) -> Reading | None:
        text = cell.strip()
        if text.lower() in _NOT_MEASURED:
            return None
        below = text.startswith("<")
        number = re.sub(r"(?i)\s*(ppm|mg/kg)$", "", text.removeprefix("<").strip())
        try:
            value = read_loose_number(number, self._columns.decimal, unit)
        except UnreadableError:
            value = -1.0
        if value < 0 or (below and value == 0):
            self.note(line, heading, shown(cell), "a number of 0 or more in ppm, such as 12 or <1")
            return None
        return Reading(value, below)

    def _date(self, line: int, row: Mapping[str, str]) -> str | None:
        heading = self._columns.columns.get("date")
        if heading is None or not row[heading].strip():
            return None
        match = DATE.fullmatch(row[heading].strip())
        order = self._columns.dates
        if match is not None:
            told = dict(zip(order if len(match[1]) < 4 else "ymd", match.groups(), strict=True))
            year = told["y"] if len(told["y"]) == 4 else f"20{told['y']}"
            iso = f"{year}-{int(told['m']):02d}-{int(told['d']):02d}"
            try:
                read_date(iso)
            except UnreadableError:
                pass
            else:
                if iso <= self._today.isoformat():
                    return iso
                self.note(line, heading, shown(row[heading]), "a day that is not in the future")
                return None
        names = {"y": "year", "m": "month", "d": "day"}
        expected = f"a day as {', '.join(names[part] for part in order)}"
        self.note(line, heading, shown(row[heading]), expected)
        return None


def read_laboratory(
    data: bytes,
    file: str,
    state: LogState,
    laboratory: str,
    today: datetime.date,
    changes: LabColumns | None = None,
) -> Batch:
    """A laboratory's table held against the log; nothing is written.

    `changes` puts single columns, names, the order of dates right (what it leaves out is guessed
    or remembered). Raises InputError where the file is no table.
    """
    loose = read_loose(data, file)
    held = state.laboratories.get(laboratory)
    columns = guessed(loose, laboratory, state, None if held is None else held.what)
    if changes is not None:
        columns = _with_changes(columns, changes)
    return held_against(loose, columns, state, today)


def _with_changes(columns: LabColumns, changes: LabColumns) -> LabColumns:
    own = {*changes.columns.values(), *changes.elements.values()}
    kept = {name: h for name, h in columns.columns.items() if h not in own}
    if "age" in changes.columns:
        kept.pop("reading", None)
    if "reading" in changes.columns:
        kept.pop("age", None)
    return replace(
        changes,
        columns={**kept, **changes.columns},
        elements={
            **{symbol: h for symbol, h in columns.elements.items() if h not in own},
            **changes.elements,
        },
        machines={**columns.machines, **{k.casefold(): v for k, v in changes.machines.items()}},
    )


def write_batch(
    log: Log, batch: Batch, *, author: str, file: str, leave_out_unknown: bool = False
) -> Written | None:
    """Writes a batch, with the columns to be remembered, in one step: all of it or nothing.

    Raises InputError with every problem, and for machines that the log has not unless they are to
    be left out. None where there is nothing to write.
    """
    problems = list(batch.problems)
    if not leave_out_unknown:
        for name, lines in batch.unknown.items():
            where = f"line {lines[0]}" + (f" and {len(lines) - 1} more" if lines[1:] else "")
            found = f"the machine {shown(name)}, which the log has not"
            expected = "a machine of the log, or one said to be it; nothing was written"
            problems.append(Problem(file, where, found, expected))
    if problems:
        raise InputError(by_line(problems))
    new = [New(row.entry, row.machine) for row in (*batch.new, *batch.back)]
    held = log.state().laboratories.get(batch.columns.laboratory)
    if held is None or held.what != batch.columns:
        new.append(New(batch.columns))
    return log.add_all(new, author=author) if new else None


__all__ = ["Batch", "Row", "guessed", "held_against", "read_laboratory", "write_batch"]
