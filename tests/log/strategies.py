"""Arbitrary logs: any entries in any order, those that the log refuses left out."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from hypothesis import strategies as st

from riskmodel.records.errors import InputError
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.entries import (
    LOOKS,
    PRICES,
    Decision,
    Finding,
    Group,
    InputsChanged,
    Job,
    MachineRetired,
    MeterReading,
    OilChange,
    Payload,
    Quote,
    RecordsSet,
    Said,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
)
from riskmodel.records.log.log import Log
from riskmodel.records.tables import CAUSES, WHYS, Reading
from tests.log.made import TRAITS, made_case, new_log, ticking
from tests.records.strategies import TABLE_WORDS, WORDS

CASES = (
    made_case(),
    made_case(TRAITS, machine={"name": "Other car"}),
    made_case(TRAITS, machine={"name": "In the records"}, part={"in_records": True}),
    made_case(machine={"name": "Own boat", "unit": "h", "reading": 3_000, "date": "2026-01-02"},
              part={"code": "", "entered_at": 0}, oil={"interval": 150, "next_change_in": 40},
              life={"b50_prior": [1500, 9000]}),
)  # fmt: skip

READINGS = st.integers(0, 200_000).map(float)
DAYS = st.dates(date(2026, 1, 1), date(2029, 12, 31)).map(str)


@st.composite
def moments(draw: st.DrawFn) -> tuple[float, str]:
    """A meter reading and its day: mostly on one line through time, now and then anything."""
    if draw(st.integers(0, 9)) == 0:
        return draw(READINGS), draw(DAYS)
    days = draw(st.integers(0, 1400))
    return 100_000 + 40.0 * days, str(date(2026, 1, 10) + timedelta(days))


LATE = st.just("2031-01-01") | DAYS
NOTES = st.just("") | WORDS | st.just("two\nlines, = 1; ''\"quoted\"")
PPM = st.builds(Reading, st.floats(0.01, 500), st.booleans())
ELEMENTS = st.dictionaries(st.sampled_from(["Pb", "pb", "Cu", "PQ_index"]), PPM, max_size=3)
RAW = st.floats(1, 1e5) | st.tuples(st.floats(1, 10), st.floats(10, 1e4)).map(list)
_uuid = st.text("0123456789abcdef-", min_size=1, max_size=36)


def _payloads(samples: list[str], jobs: list[str]) -> st.SearchStrategy[Payload]:
    sample = st.sampled_from(samples) if samples else _uuid
    job = st.sampled_from(jobs) if jobs else _uuid
    maybe = st.none() | st.floats(0, 1e5)
    return st.one_of(
        st.tuples(moments(), NOTES).map(lambda d: MeterReading(*d[0], d[1])),
        st.tuples(moments(), NOTES).map(lambda d: OilChange(*d[0], d[1])),
        st.tuples(
            moments(), st.floats(1, 20_000), st.floats(0, 5), st.just("") | TABLE_WORDS, WORDS,
            st.booleans(), ELEMENTS, NOTES,
        ).map(lambda d: SampleTaken(d[1], d[0][0], None, d[0][1], *d[2:])),
        st.builds(
            SampleTaken, st.floats(1, 9e3), st.none(), st.floats(0, 1e5), st.none() | DAYS,
            elements=ELEMENTS,
        ),
        st.builds(SampleSent, sample, LATE),
        st.builds(SampleBack, sample, LATE, ELEMENTS.filter(bool)),
        st.builds(SampleTold, sample, LATE, NOTES),
        st.tuples(
            moments(), st.booleans(), st.booleans(), st.sampled_from(WHYS),
            st.sampled_from(CAUSES), st.booleans(), maybe, NOTES,
        ).map(lambda d: Job(
            *d[0], *d[1:5], oil_changed=d[5], price=d[6], note=d[7],
            symptoms=("knock",) if d[5] else (),
        )),
        st.builds(Finding, job, WORDS, st.sampled_from(LOOKS), maybe, NOTES, WORDS),
        st.builds(Quote, DAYS, st.dictionaries(st.sampled_from(PRICES), RAW, min_size=1), WORDS),
        st.builds(
            Decision, DAYS, READINGS, WORDS, st.text(st.characters(exclude_categories=["Cs"])),
            st.dictionaries(WORDS, NOTES), maybe, WORDS, maybe, st.booleans(), WORDS,
            st.lists(st.builds(Said, st.floats(1, 9e4), *[st.floats(0, 1)] * 3)).map(tuple),
        ),
        st.just(MachineRetired(170_000, "2032-01-01")),
        st.builds(InputsChanged, st.fixed_dictionaries(
            {}, optional={"cost.planned": RAW, "machine.symptoms": st.just(["knock"]),
                          "oil.next_change_in": st.none() | st.floats(1, 12_000),
                          "part.code": st.sampled_from(["EX-1", "EX-2", ""]),
                          "life.b50_prior": st.none() | st.just([1e5, 2e5])},
        ).filter(bool)),
        st.builds(RecordsSet, st.none() | st.just(TRAITS.decode())),
    )  # fmt: skip


def history_of(log: Log, uuid: str) -> str | None:
    """The machine that an entry is about."""
    return next(entry.machine for entry in log.history() if entry.uuid == uuid)


@st.composite
def _step(draw: st.DrawFn, log: Log, machines: list[str]) -> None:
    """One thing that somebody does, which the log may refuse."""
    history = log.history()
    kind = draw(st.integers(0, 9))
    if kind == 0:
        log.undo(draw(st.integers(1, len(history))), author="Bob", reason=draw(NOTES))
        return
    if kind == 1:
        group = Group("EX-1", "lead-tin", "km", True)
        csv = draw(st.none() | st.just(TRAITS.decode()) | st.just("age,outcome\n9,failed\n"))
        log.add(RecordsSet(csv, group, draw(WORDS)), author="Bob")
        return
    uuids: dict[str, list[str]] = {}
    for entry in history:
        uuids.setdefault(entry.kind, []).append(entry.uuid)
    if kind == 2 and uuids.get("sample"):  # the whole way of a sample
        for step in (SampleSent, SampleBack, SampleTold):
            sample = uuids["sample"][-1]
            more = (draw(ELEMENTS.filter(bool)),) if step is SampleBack else ()
            before = log.history()  # an earlier step may have been taken
            try:
                payload = step(sample, "2031-01-01", *more)
                log.add(payload, machine=history_of(log, sample), author="Ann")
            except InputError:
                assert log.history() == before
                return
        return
    payload = draw(_payloads(uuids.get("sample", []), uuids.get("job", [])))
    log.add(payload, machine=draw(st.sampled_from(machines)), author="Ann")


def filled(folder: Path, data: st.DataObject, most: int = 25) -> tuple[Log, list[str], int]:
    """A new log with some machines and whatever was done; the ids, and how much was refused."""
    log = new_log(folder, clock=ticking())
    machines, refused = [], 0
    for case in data.draw(st.lists(st.sampled_from(CASES), min_size=1, max_size=3)):
        try:
            machines.append(import_case(log, case, author="Ann").machine)
        except InputError:
            refused += 1
    for _ in range(data.draw(st.integers(0, most))):
        before = log.history()
        try:
            data.draw(_step(log, machines))
        except InputError:
            refused += 1
            assert log.history() == before
    return log, machines, refused
