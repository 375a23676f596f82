"""Entries: checked when they are made, written as JSON and read back the same; undone."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any, get_args

import pytest

from riskmodel import __version__
from riskmodel.records.errors import InputError
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.log.bridge import export_case, import_case
from riskmodel.records.log.entries import (
    KINDS,
    PRICES,
    Decision,
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
    Said,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
    TableSet,
    Undone,
)
from riskmodel.records.log.json_text import from_json, to_json
from riskmodel.records.log.log import Log
from riskmodel.records.tables import Reading
from tests.log.made import AUTHOR, log_with, made_case, new_log, raw_case

DAY = "2026-02-01"
ONE_OF_EACH: tuple[Payload, ...] = (
    MachineAdded(raw_case(), ("reading", "oil_age", "Pb")),
    InputsChanged({"cost.planned": [1, 2], "oil.next_change_in": None}, "new prices"),
    RecordsSet("age,outcome\n9,failed\n", Group("A", "", "km"), "a club"),
    TableSet("oil.fleet", None),
    MeterReading(1.5, DAY, "a\nb"),
    OilChange(0.1 + 0.2, DAY),
    SampleTaken(9.0, 10.0, None, DAY, 0.5, "L", "7", True, {"Pb": Reading(1.0, True)}),
    SampleSent("u", DAY, "L"),
    SampleBack("u", DAY, {"Pb": Reading(12.5)}),
    SampleTold("u", DAY),
    Job(10.0, DAY, True, True, "suspected", "unknown", 5.0, "A", "", True, ("knock",), 2.0),
    Finding("u", "rod 1, upper", "worn", 0.05, "overlay gone", "photos/1.jpg"),
    Quote(DAY, {"planned": [1, 2], "sample": 35}, "B", DAY),
    Decision(DAY, 1.0, "now", "shown\n", {"case.toml": "x"}, 0.0, "never", None, True, "C",
             (Said(1.0, 0.1, 0.05, 0.2),), "", 0.3),
    MachineRetired(1.0, DAY, "sold"),
    LabColumns("A laboratory", {"machine": "Unit", "date": "Drawn"}, {"Fe": "Iron"}, {"a": "b"},
               "dmy", "comma"),
    Undone("a slip"),
)  # fmt: skip


def test_there_is_one_of_each_kind() -> None:
    assert [type(payload) for payload in ONE_OF_EACH] == list(KINDS.values())
    assert len({kind.title for kind in KINDS.values()}) == len(KINDS)


@pytest.mark.parametrize("payload", ONE_OF_EACH, ids=lambda payload: payload.kind)
def test_json_and_back(payload: Payload) -> None:
    text = to_json(payload)
    assert "\n" not in text
    assert from_json(payload.kind, text) == payload
    assert to_json(from_json(payload.kind, text)) == text


@pytest.mark.parametrize("payload", ONE_OF_EACH, ids=lambda payload: payload.kind)
def test_json_of_another_shape_is_refused(payload: Payload) -> None:
    raw: dict[str, Any] = json.loads(to_json(payload))
    with pytest.raises(InputError, match='unknown field "extra"'):
        from_json(payload.kind, json.dumps({**raw, "extra": 1}))
    for text in ("[]", "3", '"x"', "null", "{", ""):
        with pytest.raises(InputError):
            from_json(payload.kind, text)
    for field in fields(payload):  # type: ignore[arg-type]
        for wrong in ({"a": {"b": []}}, [[]], "x", True, 10**400, -1):
            text = json.dumps({**raw, field.name: wrong})
            with contextlib.suppress(InputError):  # nothing else is raised
                again = from_json(payload.kind, text)  # it is what the field may hold
                assert from_json(payload.kind, to_json(again)) == again


def test_a_field_from_before_it_was_there_takes_its_default() -> None:
    old = json.dumps({"reading": 1, "date": DAY})
    assert from_json("reading", old) == MeterReading(1.0, DAY)
    with pytest.raises(InputError, match="meter reading, date: found nothing; expected a value"):
        from_json("reading", '{"reading": 1}')
    with pytest.raises(InputError, match=r'unknown kind "readin".*did you mean reading'):
        from_json("readin", old)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: MeterReading(-1, DAY), "meter reading, reading: found -1; expected a number of 0"),
        (lambda: MeterReading(float("nan"), DAY), "expected a number of 0 or more"),
        (lambda: MeterReading(10**400, DAY), "expected a number of 0 or more"),
        (lambda: MeterReading(1e13, DAY), "not larger than 1000000000000"),
        (lambda: MeterReading("12", DAY), 'found "12"'),  # type: ignore[arg-type]
        (lambda: MeterReading(1, "1.2.2026"), "expected a date written year-month-day"),
        (lambda: MeterReading(1, "2026-02-30"), "a day that is in the calendar"),
        (lambda: MeterReading(1, DAY, "x" * 2001), "at most 2000 characters"),
        (lambda: MeterReading(1, DAY, "a\x00b"), "without control characters"),
        (lambda: SampleTaken(0, 5), "sample, oil_age: found 0; expected a number above 0"),
        (lambda: SampleTaken(1), "found neither reading nor age; expected one of the two"),
        (lambda: SampleTaken(1, 5, 5), "found both reading and age"),
        (lambda: SampleTaken(1, 5, lab="=1+1"), "does not begin with ="),
        (lambda: SampleTaken(1, 5, elements={"P b": Reading(1)}), "a chemical symbol"),
        (lambda: SampleBack("u", DAY, {}), "no element measured"),
        (lambda: SampleBack("u", DAY, {"Pb": Reading(0, True)}), "a number above 0"),
        (lambda: Job(5, DAY, True, whole_at=3), "only a failure has it"),
        (lambda: Job(5, DAY, True, True, whole_at=6), "whole_at: found 6; expected less than"),
        (lambda: Job(5, DAY, False, new_code="A"), "no part was fitted"),
        (lambda: Finding("u", " ", "worn"), "expected which shell it is"),
        (lambda: Quote(DAY, {}), "at least one price"),
        (lambda: Quote(DAY, {"plannd": 3}), "the unknown price"),
        (lambda: InputsChanged({}), "at least one input"),
        (lambda: RecordsSet(None, Group("", "tin", "km")), "a part code"),
        (lambda: TableSet("life.records", ""), r"expected oil\.fleet"),
        (lambda: Decision(DAY, 1, "a", "b", {}, said=(Said(1, 1.2, 0, 1),)), "not larger than 1"),
    ],
)
def test_what_cannot_be_is_told_at_once(make: Callable[[], Payload], message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()


def test_prices_of_a_quote_are_prices_of_a_case() -> None:
    assert all(f"cost.{name}" in BY_KEY for name in PRICES)


def test_an_entry_says_who_when_and_by_which_version(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    entry = log.add(MeterReading(101_000, DAY), machine=car, author="Zoë").entry
    assert (entry.seq, entry.author, entry.machine, entry.program) == (2, "Zoë", car, __version__)
    assert entry.recorded.endswith("+00:00")
    with Log.open(log.path, program="0.0.9") as other:
        assert other.history()[-1] == entry
        assert other.add(OilChange(101_000, DAY), machine=car, author="B").entry.program == "0.0.9"


@pytest.mark.parametrize("author", ["", "  ", "a\nb", "x" * 201])
def test_an_entry_needs_an_author(author: str, tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    with pytest.raises(InputError, match="entry, author"):
        log.add(MeterReading(101_000, DAY), machine=car, author=author)


def test_an_entry_is_about_what_it_may_be_about(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    reading, group = MeterReading(101_000, DAY), RecordsSet(None, Group("A", "", "km"))
    for payload, machine, message in (
        (reading, None, "found nothing; expected the machine it is about"),
        (reading, "boat", 'found the unknown machine "boat"'),
        (group, car, "expected no machine"),
        (RecordsSet(None), None, "expected the machine it is about"),
        (MachineAdded(raw_case()), car, "which the log has already"),
        (MachineAdded({"format": 1}), "new", "found nothing; expected"),
        (MachineAdded({**raw_case(), "cost": {}}), "new", "cost.planned: found nothing"),
        (MachineAdded(raw_case()), " ", "expected a name for it in the log"),
        (Undone(), car, "an undo without what it undoes"),
    ):
        with pytest.raises(InputError, match=message):
            log.add(payload, machine=machine, author=AUTHOR)
    with pytest.raises(InputError, match="unknown machine"):
        log.machine("boat")
    assert len(log.history()) == 1


def test_undo_is_a_counter_entry_and_can_be_undone(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    wrong = log.add(MeterReading(1_010_000, DAY), machine=car, author="Ann").entry
    assert export_case(log, car).machine.reading == 1_010_000
    undo = log.undo(wrong.seq, author="Bob", reason="a digit too many").entry
    assert export_case(log, car) == made_case()
    assert log.undone_by(wrong.seq) == undo
    assert [entry.seq for entry in log.history()] == [1, 2, 3]  # nothing is gone
    with pytest.raises(InputError, match=r"undone already by entry 3 .*undo entry 3 to restore"):
        log.undo(wrong.seq, author="Bob")
    log.undo(undo.seq, author="Ann")
    assert log.undone_by(wrong.seq) is None
    assert export_case(log, car).machine.reading == 1_010_000
    log.undo(4, author="Ann")  # and again
    assert log.undone_by(wrong.seq) == undo
    assert export_case(log, car) == made_case()
    for seq in (0, 99, -1):
        with pytest.raises(InputError, match=f"found entry {seq}; expected an entry from 1 to 5"):
            log.undo(seq, author="Ann")


def test_a_machine_that_was_undone_is_away_until_it_is_restored(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    log.add(MeterReading(101_000, DAY), machine=car, author=AUTHOR)
    log.undo(1, author=AUTHOR)
    assert not log.state().machines
    with pytest.raises(InputError, match="unknown machine"):
        log.add(MeterReading(102_000, DAY), machine=car, author=AUTHOR)
    assert import_case(log, made_case(), author=AUTHOR).machine == f"{car}-2"
    log.undo(3, author=AUTHOR)
    assert log.machine(car).reading == 101_000


def test_what_hangs_on_an_undone_entry_goes_and_comes_with_it(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    job = log.add(Job(101_000, DAY, replaced=True), machine=car, author=AUTHOR).entry
    log.add(Finding(job.uuid, "rod 1", "worn"), machine=car, author=AUTHOR)
    sample = log.add(SampleTaken(500, 101_500, date=DAY), machine=car, author=AUTHOR).entry
    log.add(SampleBack(sample.uuid, DAY, {"Pb": Reading(3)}), machine=car, author=AUTHOR)
    before = log.state()
    undone = [log.undo(entry.seq, author=AUTHOR).entry for entry in (job, sample)]
    state = log.machine(car)
    assert (state.jobs, state.samples, len(state.parts)) == ((), (), 1)
    for entry in undone:
        log.undo(entry.seq, author=AUTHOR)
    after = log.machine(car)
    assert after.jobs == before.machines[car].jobs
    assert after.samples == before.machines[car].samples
    assert after.parts == before.machines[car].parts


def test_an_empty_log_says_nothing(tmp_path: Path) -> None:
    with new_log(tmp_path) as log:
        assert log.state().machines == {}
        assert log.history() == ()
        assert log.seal == ""
        log.backup(tmp_path / "backup.sqlite")
        with pytest.raises(InputError, match="there is none yet"):
            log.undo(1, author=AUTHOR)


def test_stages_are_those_of_the_state() -> None:
    from riskmodel.records.log.state import Stage

    assert get_args(Stage) == ("taken", "sent", "back", "told")
