"""A laboratory's table of many machines: guessed, remembered, all of it or nothing."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from riskmodel.records.errors import InputError
from riskmodel.records.log.bridge import export_case
from riskmodel.records.log.entries import LabColumns, SampleSent, SampleTaken
from riskmodel.records.log.laboratory import Batch, read_laboratory, write_batch
from riskmodel.records.log.log import Log
from riskmodel.records.tables import Reading
from tests.log.made import AUTHOR, log_with, made_case

TODAY = datetime.date(2026, 6, 1)
LAB = "An invented laboratory"
TABLE = """Unit;Date drawn;Odometer (km);km on oil;Lead (Pb) ppm;Iron;Sample no.
car-one;17.03.2026;103.500;7.500;4,5;31;A1
CAR-TWO;18.03.2026;104.000;9.000;<1;28;A2
"""


@pytest.fixture
def log(tmp_path: Path) -> Log:
    cases = [made_case(machine={"name": name}) for name in ("Car-one", "Car-two")]
    made, names = log_with(tmp_path, *cases)
    assert names == ["car-one", "car-two"]
    return made


def read(log: Log, table: str, changes: LabColumns | None = None) -> Batch:
    return read_laboratory(table.encode(), "lab.csv", log.state(), LAB, TODAY, changes)


def write(log: Log, table: str, **more: bool) -> Batch:
    batch = read(log, table)
    write_batch(log, batch, author=AUTHOR, file="lab.csv", **more)
    return batch


def test_columns_are_guessed_from_the_headings(log: Log) -> None:
    batch = read(log, TABLE)
    assert batch.columns.columns == {
        "machine": "Unit",
        "date": "Date drawn",
        "reading": "Odometer (km)",
        "oil_age": "km on oil",
        "bottle": "Sample no.",
    }
    assert batch.columns.elements == {"Pb": "Lead (Pb) ppm", "Fe": "Iron"}
    assert (batch.columns.dates, batch.columns.decimal) == ("dmy", "comma")
    assert not batch.problems


def test_a_table_becomes_samples_of_each_machine(log: Log) -> None:
    write(log, TABLE)
    one = log.machine("car-one").samples[0].taken.what
    assert (one.reading, one.oil_age, one.date) == (103_500, 7_500, "2026-03-17")
    assert (one.lab, one.bottle) == (LAB, "A1")
    assert one.elements == {"Pb": Reading(4.5), "Fe": Reading(31.0)}
    two = export_case(log, "car-two").samples
    assert two is not None
    assert two.rows[0].elements == {"Pb": Reading(1.0, below=True)}  # Fe is not declared there


def test_the_columns_are_remembered_for_the_next_table(log: Log) -> None:
    table = "A;B;C;D;E\ncar-one;103500;7500;4;17.03.2026\n"
    told = LabColumns(
        LAB, {"machine": "A", "reading": "B", "oil_age": "C", "date": "E"}, {"Pb": "D"}, {}, "dmy"
    )
    batch = read(log, table, told)
    write_batch(log, batch, author=AUTHOR, file="lab.csv")
    again = read(log, table.replace("103500", "104500").replace("17.03", "01.04"))
    assert [row.machine for row in again.new] == ["car-one"]
    assert again.columns == batch.columns
    write_batch(log, again, author=AUTHOR, file="lab.csv")
    kinds = [entry.kind for entry in log.history()]
    assert kinds.count("lab_columns") == 1  # the same columns are not kept twice
    with Log.open(log.path) as other:
        assert other.state().laboratories[LAB].what == batch.columns


def test_duplicates_are_told_and_left_out(log: Log) -> None:
    write(log, TABLE)
    before = len(log.history())
    again = write(log, TABLE)
    assert [line for line, _ in again.duplicates] == [2, 3]
    assert not again.new
    assert len(log.history()) == before
    row = "car-one;2.4.2026;106000;10000;7;30;A3\n"
    within = read(log, TABLE + row + row)
    assert len(within.new) == 1
    assert [line for line, _ in within.duplicates] == [2, 3, 5]


def test_another_sample_at_the_same_reading_is_told(log: Log) -> None:
    write(log, TABLE)
    other = write(log, TABLE.replace("4,5", "9,5"))
    assert [line for line, _ in other.unlike] == [2]
    assert len(log.machine("car-one").samples) == 2


def test_results_come_back_for_samples_under_way(log: Log) -> None:
    taken = SampleTaken(7_500, 103_500, date="2026-03-17", bottle="a1")
    uuid = log.add(taken, machine="car-one", author=AUTHOR).entry.uuid
    log.add(SampleSent(uuid, "2026-03-18"), machine="car-one", author=AUTHOR)
    batch = write(log, TABLE)
    assert [(row.line, row.machine) for row in batch.back] == [(2, "car-one")]
    samples = log.machine("car-one").samples
    assert [sample.stage for sample in samples] == ["back"]
    assert samples[0].elements["Pb"] == Reading(4.5)
    assert [line for line, _ in write(log, TABLE).duplicates] == [2, 3]


@pytest.mark.parametrize(
    ("spoilt", "told"),
    [
        ("nobody;17.03.2026;103500;7500;4;31;A3", "the machine \"nobody\", which the log has not"),
        ("car-one;17.03.2026;x;7500;4;31;A3", "column Odometer (km): found \"x\""),
        ("car-one;33.03.2026;103500;7500;4;31;A3", "a day as day, month, year"),
        ("car-one;17.03.2027;103500;7500;4;31;A3", "a day that is not in the future"),
        ("car-one;17.03.2026;103500;;4;31;A3", "column km on oil: found an empty cell"),
        ("car-one;17.03.2026;103500;7500;-;;A3", "no element measured"),
        ("car-one;17.03.2026;103500;7500;-4;31;A3", "column Lead (Pb) ppm: found \"-4\""),
        ("car-one;17.01.2026;90000;7500;4;31;A3", "at least 100000, the meter on 2026-01-10"),
    ],
)  # fmt: skip
def test_nothing_is_half_imported(log: Log, spoilt: str, told: str) -> None:
    before = log.history()
    with pytest.raises(InputError) as fault:
        write(log, TABLE + spoilt + "\n")
    assert told in str(fault.value)
    assert "line 4" in str(fault.value)
    assert log.history() == before


def test_unknown_machines_may_be_left_out_or_named(log: Log) -> None:
    table = TABLE + "their-7;17.03.2026;103.500;7.500;4;31;A3\n"
    batch = read(log, table)
    assert batch.unknown == {"their-7": (4,)}
    columns = batch.columns
    named = LabColumns(LAB, {}, {}, {"Their-7": "car-two"}, columns.dates, columns.decimal)
    assert [row.machine for row in read(log, table, named).new] == [
        "car-one", "car-two", "car-two",
    ]  # fmt: skip
    write(log, table, leave_out_unknown=True)
    assert len(log.machine("car-two").samples) == 1


def test_a_name_that_two_machines_have_is_asked_about(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(), made_case())
    batch = read(log, TABLE.replace("car-one", "Invented car"))
    assert f"one machine; it may be {names[0]}, {names[1]}" in str(batch.problems[0])


def test_a_table_without_a_needed_column_is_refused(log: Log) -> None:
    batch = read(log, "Unit;Odometer;Note\ncar-one;103500;x\n")
    told = [problem.where for problem in batch.problems]
    assert told == ["oil_age", "elements"]
    with pytest.raises(InputError):
        write_batch(log, batch, author=AUTHOR, file="lab.csv")
