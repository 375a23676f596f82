"""A machine of the log as it was at an earlier entry."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from riskmodel.page import log_past
from riskmodel.page.answer import digest
from riskmodel.records.log.bridge import export_case, import_case
from riskmodel.records.log.entries import Decision, InputsChanged, Job, MeterReading
from riskmodel.records.log.log import Log
from tests.risk.cases import case_with

START = datetime.datetime(2026, 12, 1, tzinfo=datetime.UTC)


class Clock:
    """Tells the time that it was last set to."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime.datetime:
        return self.now

    def wait(self, seconds: float) -> None:
        self.now += datetime.timedelta(seconds=seconds)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def log(tmp_path: Path, clock: Clock) -> Log:
    made = Log.create(tmp_path / "log.sqlite", clock=clock)
    case = case_with(
        None,
        machine={"name": "My car", "date": "2026-11-01"},
        part={"code": "EX-1"},
        life={"shape_prior": 3, "b50_prior": 180_000},
    )
    import_case(made, case, author="Ann", machine="car")
    return made


def change(log: Log, clock: Clock, years: float, author: str = "Ann") -> int:
    clock.wait(60)
    log.add(InputsChanged({"plan.keep_years": years}), machine="car", author=author)
    return log.last("car")


def test_each_entry_has_the_case_as_it_was_then(log: Log, clock: Clock) -> None:
    first = export_case(log, "car")
    at = [change(log, clock, years) for years in (4, 5)]
    assert log_past.case_at(log, "car", at[0] - 1) == first
    for seq, years in zip(at, (4, 5), strict=True):
        found = log_past.case_at(log, "car", seq)
        assert found is not None
        assert found.plan.keep_years == years
    assert log_past.case_at(log, "car", 10_000) == export_case(log, "car")


def test_before_it_was_there_and_without_a_part_there_is_none(log: Log, clock: Clock) -> None:
    assert log_past.case_at(log, "car", 0) is None
    assert log_past.case_at(log, "another", 1) is None
    clock.wait(60)
    job = Job(101_000.0, "2026-12-02", replaced=False, failed=True)
    log.add(job, machine="car", author="Ann")
    assert log_past.case_at(log, "car", log.last("car")) is None
    assert log_past.parts_at(log, "car", log.last("car")) == 1


def test_lives_of_its_mates_count_as_they_were_then(log: Log, clock: Clock) -> None:
    """What another machine's part came to later is no record of the earlier case."""
    clock.wait(60)
    mate = case_with(
        None,
        machine={"name": "Mate", "date": "2026-11-01"},
        part={"code": "EX-1"},
        life={"shape_prior": 3, "b50_prior": 180_000},
    )
    import_case(log, mate, author="Ann", machine="mate")
    before = log.state().last
    clock.wait(60)
    job = Job(120_000.0, "2026-12-02", replaced=True, failed=True)
    log.add(job, machine="mate", author="Ann")
    then, now = (log_past.case_at(log, "car", seq) for seq in (before, before + 1))
    assert then is not None
    assert now is not None
    assert then.records is not None
    assert now.records is not None
    assert "failed" not in then.records.outcome
    assert "failed" in now.records.outcome
    alone = log_past.case_at(log, "car", before, shared=False)
    assert alone is not None
    assert alone.records is None


def test_entries_written_at_once_are_one_step_and_others_their_own(log: Log, clock: Clock) -> None:
    now = digest(export_case(log, "car"))
    assert log_past._before(log, "car", now) is None  # there was nothing before it
    clock.wait(60)
    for reading in (101_000.0, 102_000.0):
        log.add(MeterReading(reading, "2026-12-02"), machine="car", author="Ann")
    before = log_past._before(log, "car", digest(export_case(log, "car")))
    assert before is not None
    assert before.machine.reading == 100_000
    change(log, clock, 4)
    before = log_past._before(log, "car", digest(export_case(log, "car")))
    assert before is not None
    assert (before.machine.reading, before.plan.keep_years) == (102_000, 3)


def test_what_enters_no_case_is_looked_past(log: Log, clock: Clock) -> None:
    change(log, clock, 4)
    clock.wait(60)
    decided = Decision("2026-12-02", 100_000.0, advised="Never", shown="told", inputs={})
    log.add(decided, machine="car", author="Bert")
    before = log_past._before(log, "car", digest(export_case(log, "car")))
    assert before is not None
    assert before.plan.keep_years == 3
