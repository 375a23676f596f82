"""The case of a machine from everything that the log knows of it.

A case is read from files, so its files are put together here and then read like any other:
what the reader would refuse cannot come out of a log.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import CASE_FILE, RECORDS_FILE, SAMPLES_FILE, case_from_files
from riskmodel.records.life_table import read_records, write_records
from riskmodel.records.log.entries import TABLES
from riskmodel.records.log.faults import NO_SENSE
from riskmodel.records.log.lives import lives_of, own_lives, with_lives
from riskmodel.records.log.state import LogState, MachineState, SampleState
from riskmodel.records.oil_table import COLUMNS, write_samples
from riskmodel.records.tables import LifeRecords, OilSample, OilSamples, Reading


@dataclass(frozen=True, slots=True)
class Assembled:
    """The files of a machine's case by name, and what had to be left out of them.

    `lives_left_out` counts life records of the group without a number that the machine's table
    asks for; `traits_left_out` are traits of the machine that no part of its group is known to
    share, where there is no table; `elements_left_out` are symbols that its case does not
    declare; `lay_up_passed` says that the day of the lay-up has gone by.
    """

    files: Mapping[str, bytes]
    lives_left_out: int = 0
    traits_left_out: tuple[str, ...] = ()
    elements_left_out: tuple[str, ...] = ()
    lay_up_passed: bool = False

    def case(self) -> Case:
        """The case. Raises InputError, as every reader of one does."""
        return case_from_files(self.files)


def assembled(state: LogState, machine: str, *, shared: bool = True) -> Assembled:
    """The files of a machine's case: its inputs as they stand by now, its samples, the life
    records of its group and what became of the parts in the log.

    `shared = False` leaves out what the log itself made into life records, so that a case that
    was brought in comes out as it came. Raises CannotAnswer for a machine with no part in
    service: there is nothing to weigh.
    """
    of = state.machines[machine]
    if of.part is None:
        raise CannotAnswer(
            f"{of.name}: its part failed and none has been fitted since, so there is nothing to "
            "weigh. Enter the job that fitted one."
        )
    try:
        return _assembled(state, of, shared)
    except NO_SENSE as fault:
        if isinstance(fault, InputError | CannotAnswer):
            raise
        found = f"inputs that make no case ({type(fault).__name__} {fault})"
        raise InputError([Problem(machine, "", found, "the inputs of a case")]) from None


def _assembled(state: LogState, of: MachineState, shared: bool) -> Assembled:
    raw: dict[str, Any] = copy.deepcopy(dict(of.contents))
    files: dict[str, bytes] = {}
    passed = _drop_passed_lay_up(raw)
    records, left_out, strange = _records(state, of, shared)
    for name in strange:
        del raw["part"]["traits"][name]
    life = raw.setdefault("life", {})
    if records is None:
        life.pop("records", None)
    else:
        files[_named(raw, "life", "records", RECORDS_FILE)] = records
    samples, undeclared = _samples(of, raw)
    oil = raw.setdefault("oil", {})
    if samples is None:
        oil.pop("samples", None)
    else:
        files[_named(raw, "oil", "samples", SAMPLES_FILE)] = write_samples(samples)
    for key in TABLES:
        section, _, name = key.partition(".")
        if key in of.tables:
            file = _named(raw, section, name, f"{name}.csv")
            files[file] = (of.tables[key].what.csv or "").encode("utf-8")
        else:
            raw.get(section, {}).pop(name, None)
    files[CASE_FILE] = tomli_w.dumps(raw).encode("utf-8")
    return Assembled(files, left_out, strange, undeclared, passed)


def _named(raw: dict[str, Any], section: str, name: str, usual: str) -> str:
    """The name of a table's file: as stated, else the usual one or, where another table has
    that, one like it."""
    held = [
        str(raw.get(part, {}).get(key, "")).lower()
        for part, _, key in (table.partition(".") for table in ALL_TABLES)
    ]
    if usual.lower() in held:
        usual = f"{section}-{name}-{usual}"
    file: str = raw.setdefault(section, {}).setdefault(name, usual)
    return file


ALL_TABLES = ("life.records", "oil.samples", *TABLES)


def _drop_passed_lay_up(raw: Mapping[str, Any]) -> bool:
    """Takes a lay-up that lies before the last reading out: it is over."""
    lay_up, date = raw.get("plan", {}).get("lay_up"), raw["machine"].get("date")
    if lay_up is None or date is None or str(lay_up) >= str(date):
        return False
    del raw["plan"]["lay_up"]
    return True


def table_of(state: LogState, machine: MachineState) -> str | None:
    """The text of the life records that a machine goes by: its own, else its group's."""
    if machine.records is not None:
        return machine.records.what.csv
    held = None if machine.group is None else state.records.get(machine.group)
    return None if held is None else held.what.csv


def _records(
    state: LogState, machine: MachineState, shared: bool
) -> tuple[bytes | None, int, tuple[str, ...]]:
    """The file of life records; how many lives, and which traits, could not go in."""
    text = table_of(state, machine)
    data = None if text is None else text.encode("utf-8")
    if not shared:
        return data, 0, ()
    table: LifeRecords | None = None if data is None else read_records(data)
    lives = list(own_lives(machine))
    if machine.group is not None:
        lives += lives_of(state, machine.group, machine.id)
    traits = machine.parts[-1].traits
    records, left_out = with_lives(table, lives, traits)
    if records is None or records is table:  # nothing added: the file as it came
        return data, left_out, ()
    strange = tuple(name for name in traits if name not in records.covariates)
    return write_records(records), left_out, strange


def _samples(
    machine: MachineState, raw: Mapping[str, Any]
) -> tuple[OilSamples | None, tuple[str, ...]]:
    """The present part's samples that are back, oldest first; and the symbols left out."""
    rows = raw.get("oil", {}).get("element", [])
    declared = {str(row["symbol"]).lower(): str(row["symbol"]) for row in rows}
    present = len(machine.parts) - 1
    mine = [s for s in machine.samples if s.part == present and s.elements]
    by_age = all(s.taken.what.age is not None for s in mine)
    fitted = machine.parts[-1].fitted_at
    left_out: dict[str, None] = {}
    found = []
    for sample in mine:
        elements: dict[str, Reading] = {}
        for symbol, reading in sample.elements.items():
            if symbol.lower() in declared:
                elements[declared[symbol.lower()]] = reading
            else:
                left_out[symbol] = None
        if elements:
            found.append(_row(sample, elements, by_age, fitted))
    if not found:
        return None, tuple(left_out)
    columns = [
        declared.get(name.lower(), name)
        for name in machine.sample_columns
        if name.lower() in declared or name in COLUMNS
    ]
    meter = "age" if by_age else "reading"
    columns = [meter if name in ("age", "reading") else name for name in columns]
    rows_in_order = tuple(_oldest_first(found))
    return OilSamples(rows_in_order, tuple(columns or (meter, "oil_age", "date"))), tuple(left_out)


def _oldest_first(rows: Iterable[OilSample]) -> Iterator[OilSample]:
    """By the meter; those at one reading as they were entered, unless their dates object."""

    def at(row: OilSample) -> float:
        return (row.age if row.reading is None else row.reading) or 0.0

    for _, together in groupby(sorted(rows, key=at), key=at):
        run = list(together)
        dates = [row.date for row in run if row.date is not None]
        yield from run if dates == sorted(dates) else sorted(run, key=lambda row: row.date or "")


def _row(
    sample: SampleState, elements: dict[str, Reading], by_age: bool, fitted: float
) -> OilSample:
    taken = sample.taken.what
    reading = taken.reading
    if not by_age and reading is None:
        assert taken.age is not None
        reading = fitted + taken.age
    return OilSample(
        reading=None if by_age else reading,
        age=taken.age if by_age else None,
        oil_age=taken.oil_age,
        date=taken.date,
        top_up=taken.top_up,
        lab=sample.lab,
        elements=elements,
    )
