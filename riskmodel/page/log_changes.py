"""From what was changed on the page to entries of the log: only what differs is written."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator

from riskmodel.records.case import Case
from riskmodel.records.errors import InputError, Problem, plain
from riskmodel.records.files import CASE_FILE, case_to_files
from riskmodel.records.log.bridge import differences, group_of_case
from riskmodel.records.log.entries import (
    TABLES,
    MeterReading,
    RecordsSet,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
    TableSet,
    Undone,
)
from riskmodel.records.log.rows import New, new_uuid
from riskmodel.records.log.state import LogState, MachineState, Mark, SampleState
from riskmodel.records.tables import OilSample
from riskmodel.words import log_page as words


def entries(
    state: LogState, machine: MachineState, before: Case, after: Case, today: str
) -> list[New]:
    """What to add to the log of a machine so that its case `before` becomes `after`.

    `before` is its case without what the log itself made into life records. Raises InputError
    for what the log can't hold, such as a meter that runs backwards.
    """
    found = list(_meter(machine, before, after, today))
    stated = differences(before, after)
    if stated is not None:
        found.append(New(stated, machine.id))
    old, new = _tables(before), _tables(after)
    found += _records(state, machine, old.get("life.records"), new.get("life.records"), after)
    for key in TABLES:
        if old.get(key) != new.get(key):
            found.append(New(TableSet(key, new.get(key), words.FROM_THE_PAGE), machine.id))
    found += _samples(machine, _rows(before), _rows(after))
    return found


def same_figures(one: Case, other: Case) -> bool:
    """Whether two cases state the same figures, whatever their tables hold."""
    meters = [(case.machine.reading, case.machine.date) for case in (one, other)]
    return meters[0] == meters[1] and differences(one, other) is None


def _meter(machine: MachineState, before: Case, after: Case, today: str) -> Iterator[New]:
    """A reading as it was typed; one entered as such that it corrects is undone."""
    reading, date = after.machine.reading, after.machine.date
    if (reading, date) == (before.machine.reading, before.machine.date):
        return
    if date == before.machine.date:
        date = max(today, date or today)
    elif date is None:
        raise InputError([Problem(words.THE_LOG, "machine.date", "no day", words.A_DAY)])
    wrong = [
        mark
        for mark in machine.marks
        if mark.reading > reading or (mark.date is not None and mark.date > date)
    ]
    for mark in wrong:
        if not isinstance(mark.entry.payload, MeterReading):
            raise InputError([_against(mark, reading, date, machine)])
    for mark in wrong:
        yield New(Undone(words.CORRECTED), machine.id, undoes=mark.entry.seq)
    left = [mark for mark in machine.marks if mark not in wrong]
    days = [mark.date for mark in left if mark.date is not None]
    stated = after.machine.date
    known = max(mark.reading for mark in left) == reading
    if not (wrong and known and max(days, default=None) == stated):
        yield New(MeterReading(reading, date), machine.id)


def _against(mark: Mark, reading: float, date: str, machine: MachineState) -> Problem:
    """A reading below the one of `mark`, or on a day before it."""
    if mark.reading > reading:
        expected = words.meter_bound(mark.reading, mark.date, machine.unit, mark.entry)
        return Problem(words.THE_LOG, "machine.reading", plain(reading), expected)
    assert mark.date is not None
    expected = words.day_bound(mark.date, mark.entry)
    return Problem(words.THE_LOG, "machine.date", date, expected)


def _tables(case: Case) -> dict[str, str]:
    """The texts of a case's tables by the inputs that name them."""
    files = case_to_files(case)
    raw = tomllib.loads(files[CASE_FILE].decode("utf-8"))
    found = {}
    for key in ("life.records", *TABLES):
        section, _, name = key.partition(".")
        file = raw.get(section, {}).get(name)
        if file in files:
            found[key] = files[file].decode("utf-8")
    return found


def _records(
    state: LogState, machine: MachineState, old: str | None, new: str | None, after: Case
) -> Iterator[New]:
    """Life records that were changed, or that a part code or lining stated anew would lose."""
    group = group_of_case(after)
    moved = group != machine.group
    if machine.records is not None or (group is None and new is not None):
        if old != new or (machine.records is None and moved):
            yield New(RecordsSet(new, None, words.FROM_THE_PAGE), machine.id)
    elif group is not None and (old != new or moved):
        held = state.records.get(group)
        if moved and held is not None and new is not None:
            yield New(RecordsSet(new, None, words.FROM_THE_PAGE), machine.id)
        elif new is not None or held is not None:
            yield New(RecordsSet(new, group, words.FROM_THE_PAGE))


def _rows(case: Case) -> tuple[OilSample, ...]:
    return () if case.samples is None else case.samples.rows


def _samples(
    machine: MachineState, before: Iterable[OilSample], after: Iterable[OilSample]
) -> Iterator[New]:
    """Rows taken out are undone, new ones added; a row that was changed keeps the bottle's
    number and how far its sample has come."""
    added, gone = list(after), []
    for row in before:
        if row in added:
            added.remove(row)
        else:
            gone.append(row)
    if not added and not gone:
        return
    held = [s for s in machine.samples if s.part == len(machine.parts) - 1 and s.elements]
    fitted = machine.parts[-1].fitted_at
    new: list[New] = []
    for row in gone:
        sample = next((s for s in held if _is(s, row, fitted)), None)
        if sample is None:  # somebody else changed or took it out meanwhile
            sample = next((s for s in held if _place(s) == _at(row)), None)
        if sample is None:
            continue
        held.remove(sample)
        yield New(Undone(words.CORRECTED), machine.id, undoes=sample.taken.entry.seq)
        instead = next((one for one in added if _at(one) == _at(row)), None)
        if instead is not None:
            added.remove(instead)
            new += _again(machine.id, sample, instead)
    yield from new
    for row in added:
        yield New(_taken(row), machine.id)


def _at(row: OilSample) -> tuple[float | None, float | None, str | None]:
    """What a sample is known by while its other figures are changed."""
    return row.reading, row.age, row.date


def _place(sample: SampleState) -> tuple[float | None, float | None, str | None]:
    taken = sample.taken.what
    return taken.reading, taken.age, taken.date


def _is(sample: SampleState, row: OilSample, fitted: float) -> bool:
    taken = sample.taken.what
    meter = taken.reading if taken.age is None else fitted + taken.age
    same = row.age == taken.age if row.reading is None else row.reading == meter
    told = {symbol.lower(): reading for symbol, reading in sample.elements.items()}
    return (
        same
        and (row.oil_age, row.date, row.top_up, row.lab)
        == (taken.oil_age, taken.date, taken.top_up, sample.lab)
        and all(told.get(symbol.lower()) == reading for symbol, reading in row.elements.items())
    )


def _taken(row: OilSample) -> SampleTaken:
    return SampleTaken(
        oil_age=row.oil_age,
        reading=row.reading,
        age=row.age,
        date=row.date,
        top_up=row.top_up,
        lab=row.lab,
        elements=row.elements,
    )


def _again(machine: str, sample: SampleState, row: OilSample) -> Iterator[New]:
    """A sample entered anew with other figures, and its steps after it."""
    was, uuid = sample.taken.what, new_uuid()
    yield New(
        SampleTaken(
            oil_age=row.oil_age,
            reading=row.reading,
            age=row.age,
            date=row.date,
            top_up=row.top_up,
            lab=row.lab,
            bottle=was.bottle,
            drained=was.drained,
            elements=row.elements if sample.back is None else {},
            note=was.note,
        ),
        machine,
        uuid,
    )
    if sample.sent is not None:
        yield New(SampleSent(uuid, sample.sent.what.date, row.lab), machine)
    if sample.back is not None:
        yield New(SampleBack(uuid, sample.back.what.date, row.elements), machine)
    if sample.told is not None:
        yield New(SampleTold(uuid, sample.told.what.date, sample.told.what.note), machine)
