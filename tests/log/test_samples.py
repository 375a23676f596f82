"""How far the samples have come, and which are overdue."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskmodel.records.errors import InputError
from riskmodel.records.log.entries import (
    MachineRetired,
    MeterReading,
    Payload,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
)
from riskmodel.records.log.log import Log
from riskmodel.records.log.waiting import OVERDUE_DAYS, overdue_samples, sample_list
from riskmodel.records.tables import Reading
from tests.log.made import AUTHOR, log_with, made_case

LEAD = {"Pb": Reading(3.0)}


def taken(log: Log, car: str, date: str, reading: float = 101_000) -> str:
    sample = SampleTaken(1_000, reading, date=date, bottle=f"of {date}")
    return log.add(sample, machine=car, author=AUTHOR).entry.uuid


def step(log: Log, car: str, payload: Payload) -> None:
    log.add(payload, machine=car, author=AUTHOR)


def test_overdue_ones_come_first(tmp_path: Path) -> None:
    log, [car, other] = log_with(tmp_path, made_case(), made_case(machine={"name": "Other"}))
    told = taken(log, car, "2026-02-01")
    step(log, car, SampleSent(told, "2026-02-02"))
    step(log, car, SampleBack(told, "2026-02-12", LEAD))
    step(log, car, SampleTold(told, "2026-02-13"))
    back = taken(log, car, "2026-03-01")
    step(log, car, SampleBack(back, "2026-03-10", LEAD))
    sent = taken(log, other, "2026-04-01")
    step(log, other, SampleSent(sent, "2026-04-10"))
    on_shelf = taken(log, car, "2026-04-03")
    fresh = taken(log, car, "2026-04-20")
    under_way = taken(log, other, "2026-04-18")
    step(log, other, SampleSent(under_way, "2026-04-19"))

    lines = sample_list(log.state(), "2026-04-25")
    assert [line.sample.uuid for line in lines] == [on_shelf, sent, under_way, fresh, back, told]
    assert [line.overdue for line in lines] == [8, 1, 0, 0, 0, 0]
    assert [line.days for line in lines[:2]] == [22, 15]
    assert [line.sample.stage for line in lines] == [
        "taken", "sent", "sent", "taken", "back", "told",
    ]  # fmt: skip
    assert overdue_samples(log.state(), "2026-04-25") == lines[:2]
    assert OVERDUE_DAYS == 14
    assert [line.overdue for line in sample_list(log.state(), "2026-04-24")][:2] == [7, 0]
    assert len(overdue_samples(log.state(), "2026-04-25", after_days=3)) == 4
    assert {line.machine.id for line in sample_list(log.state(), "2026-05-01", machine=car)} == {
        car
    }

    log.add(MachineRetired(102_000, "2026-05-01"), machine=car, author=AUTHOR)
    assert [line.machine.id for line in overdue_samples(log.state(), "2026-06-01")] == [other] * 2
    step(log, car, SampleBack(fresh, "2026-05-10", LEAD))  # it may still come back
    with pytest.raises(InputError, match="a machine that was given up on 2026-05-01"):
        taken(log, car, "2026-05-20", 103_000)


def test_without_a_day_nothing_is_overdue(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    log.add(SampleTaken(1_000, 99_000), machine=car, author=AUTHOR)
    [line] = sample_list(log.state(), "2030-01-01")
    assert (line.since, line.days, line.overdue) == (None, None, 0)


def test_the_steps_follow_one_another(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    sample = taken(log, car, "2026-02-05")

    def refused(payload: Payload, message: str) -> None:
        with pytest.raises(InputError, match=message):
            log.add(payload, machine=car, author=AUTHOR)

    refused(SampleSent("unknown", "2026-02-06"), 'the unknown sample "unknown"')
    refused(SampleSent(sample, "2026-02-04"), "found 2026-02-04; expected not before 2026-02-05")
    refused(SampleTold(sample, "2026-02-06"), "a sample that is taken; expected one that is back")
    step(log, car, SampleSent(sample, "2026-02-06"))
    refused(SampleSent(sample, "2026-02-07"), "a sample that is sent already")
    step(log, car, SampleBack(sample, "2026-02-16", LEAD))
    refused(SampleBack(sample, "2026-02-17", LEAD), "a sample that is back already")
    refused(SampleSent(sample, "2026-02-17"), "a sample that is back already")
    step(log, car, SampleTold(sample, "2026-02-17"))
    refused(SampleTold(sample, "2026-02-18"), "a sample that is told; expected one that is back")

    # Wrong results are undone and entered again; the sample waits meanwhile.
    wrong = next(entry for entry in log.history() if entry.kind == "sample_back")
    log.undo(wrong.seq, author=AUTHOR)
    assert log.machine(car).samples[0].stage == "sent"
    step(log, car, SampleBack(sample, "2026-02-17", {"Pb": Reading(30.0)}))
    assert log.machine(car).samples[0].elements == {"Pb": Reading(30.0)}


def test_meter_and_days_of_a_sample_agree_with_the_rest(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    log.add(MeterReading(110_000, "2026-06-01"), machine=car, author=AUTHOR)
    for sample, message in (
        (SampleTaken(1_000, 111_000, date="2026-05-01"), "expected at most 110000, the meter on"),
        (SampleTaken(1_000, 109_000, date="2026-07-01"), "expected at least 110000, the meter on"),
        (SampleTaken(200_000, 109_000), "oil_age: found 200000; expected not more than"),
        (SampleTaken(1_000, age=120_000), "age: found 120000; expected not more than the part's"),
    ):
        with pytest.raises(InputError, match=message):
            log.add(sample, machine=car, author=AUTHOR)
    log.add(SampleTaken(1_000, 109_000, date="2026-05-20"), machine=car, author=AUTHOR)
    log.add(SampleTaken(1_000, 60_000), machine=car, author=AUTHOR)


def test_days_of_samples_by_age_agree_too(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    first = SampleTaken(1_000, age=60_000, date="2024-05-01", elements=LEAD)
    log.add(first, machine=car, author=AUTHOR)
    with pytest.raises(InputError, match="expected dates that do not run backwards"):
        log.add(
            SampleTaken(1_000, age=70_000, date="2023-05-01", elements=LEAD),
            machine=car, author=AUTHOR,
        )  # fmt: skip
    assert len(log.machine(car).samples) == 1
