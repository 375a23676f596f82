"""Cases into a log and out again; what the log learns changes the case that comes out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from riskmodel.records.case import Case
from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files, changed, read_case
from riskmodel.records.log.bridge import (
    case_of_decision,
    decision_inputs,
    differences,
    export_case,
    export_files,
    import_case,
)
from riskmodel.records.log.entries import (
    Decision,
    InputsChanged,
    MeterReading,
    OilChange,
    Quote,
    SampleBack,
    SampleSent,
    SampleTaken,
    TableSet,
)
from riskmodel.records.log.log import Log
from riskmodel.records.tables import Reading
from tests.log.made import AUTHOR, DATA, TRAITS, log_with, made_case, new_log
from tests.records.strategies import case_files

EXAMPLES = ["road-car", "work-boat"]


def same(one: Case, other: Case) -> bool:
    return one == other and one.stated == other.stated


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_come_out_as_they_went_in(name: str, tmp_path: Path) -> None:
    case = read_case(DATA / name)
    with new_log(tmp_path) as log:
        brought = import_case(log, case, author=AUTHOR)
        assert not brought.own_records
        assert same(export_case(log, brought.machine), case)
        assert export_case(log, brought.machine).samples == case.samples
        machine = log.machine(brought.machine)
        assert len(machine.samples) == 10
        assert {sample.stage for sample in machine.samples} == {"back"}


def test_both_examples_stand_in_one_log(tmp_path: Path) -> None:
    cases = [read_case(DATA / name) for name in EXAMPLES]
    log, names = log_with(tmp_path, *cases)
    assert [export_case(log, name) for name in names] == cases
    assert len(set(names)) == 2
    log.close()
    with Log.open(log.path) as again:
        assert [export_case(again, name) for name in names] == cases


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(files=case_files())
def test_any_case_comes_out_as_it_went_in(
    tmp_path_factory: pytest.TempPathFactory, files: Mapping[str, bytes]
) -> None:
    case = case_from_files(files)
    with new_log(tmp_path_factory.mktemp("log")) as log:
        machine = import_case(log, case, author=AUTHOR).machine
        out = export_case(log, machine)
        assert same(out, case)
        if case.samples is not None:
            assert out.samples == case.samples


def test_a_reading_moves_meter_day_and_next_oil_change(tmp_path: Path) -> None:
    case = made_case()
    log, [car] = log_with(tmp_path, case)
    log.add(MeterReading(101_500, "2026-02-20"), machine=car, author=AUTHOR)
    out = export_case(log, car)
    assert out.machine.reading == 101_500
    assert out.machine.date == "2026-02-20"
    assert out.age == case.age + 1_500
    assert out.next_change_in == 2_500
    assert out.cost == case.cost

    log.add(OilChange(103_000, "2026-04-01"), machine=car, author=AUTHOR)
    assert export_case(log, car).next_change_in == 10_000
    log.add(MeterReading(104_000, "2026-05-01"), machine=car, author=AUTHOR)
    assert export_case(log, car).next_change_in == 9_000
    assert log.machine(car).overdue_oil == 0
    log.add(MeterReading(114_000, "2027-02-01"), machine=car, author=AUTHOR)
    assert log.machine(car).overdue_oil == 1_000
    assert export_case(log, car).next_change_in == 1


def test_an_old_oil_change_entered_late_moves_nothing(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    log.add(OilChange(94_000, "2025-06-01"), machine=car, author=AUTHOR)
    assert export_case(log, car).next_change_in == 4_000
    assert export_case(log, car).machine.reading == 100_000


def test_without_a_stated_change_a_whole_interval_counts_from_the_first_reading(
    tmp_path: Path,
) -> None:
    log, [car] = log_with(tmp_path, made_case(oil={"next_change_in": 10_000}))
    log.add(InputsChanged({"oil.next_change_in": None}), machine=car, author=AUTHOR)
    assert export_case(log, car).oil.next_change_in is None
    log.add(MeterReading(102_000, "2026-03-01"), machine=car, author=AUTHOR)
    assert export_case(log, car).oil.next_change_in == 8_000


def test_a_sample_enters_the_case_once_it_is_back(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    taken = SampleTaken(6_000, 102_000, date="2026-03-01", lab="laboratory A", drained=True)
    sample = log.add(taken, machine=car, author=AUTHOR).entry.uuid
    assert export_case(log, car).samples is None
    assert export_case(log, car).machine.reading == 102_000  # the meter was seen, though
    assert export_case(log, car).next_change_in == 10_000  # and the oil changed
    log.add(SampleSent(sample, "2026-03-02"), machine=car, author=AUTHOR)
    results = {"pb": Reading(4.0), "Sn": Reading(1.0, below=True)}
    log.add(SampleBack(sample, "2026-03-12", results), machine=car, author=AUTHOR)
    out = export_case(log, car)
    assert out.samples is not None
    [row] = out.samples.rows
    assert (row.reading, row.oil_age, row.date) == (102_000, 6_000, "2026-03-01")
    assert row.elements == {"Pb": Reading(4.0)}  # as declared; tin is not
    assert export_files(log, car).elements_left_out == ("Sn",)
    tin = [*log.machine(car).contents["oil"]["element"]]
    tin.append({"symbol": "Sn", "typical": 0.1, "from_part": True})
    log.add(InputsChanged({"oil.element": tin}), machine=car, author=AUTHOR)
    assert export_files(log, car).elements_left_out == ()
    samples = export_case(log, car).samples
    assert samples is not None
    assert samples.rows[0].elements["Sn"] == Reading(1.0, below=True)


def test_new_samples_stand_among_the_old_ones_by_the_meter(tmp_path: Path) -> None:
    case = read_case(DATA / "road-car")
    log, [car] = log_with(tmp_path, case)
    lead = {"Pb": Reading(5.0)}
    for reading, date in ((125_000, "2026-11-20"), (50_000, "2020-03-01")):
        sample = SampleTaken(3_000, reading, date=date, elements=lead)
        log.add(sample, machine=car, author=AUTHOR)
    out = export_case(log, car)
    assert out.samples is not None
    assert case.samples is not None
    at = [row.reading for row in out.samples.rows]
    assert at == sorted([row.reading for row in case.samples.rows] + [50_000, 125_000])
    assert out.samples.columns == case.samples.columns
    assert out.machine.reading == 125_000


def test_samples_by_age_take_the_meter_when_one_comes_by_it(tmp_path: Path) -> None:
    case = changed(
        made_case(part={"fitted_at": 20_000, "entered_at": 0}),
        {"oil.samples": "oil.csv"},
        {"oil.csv": b"age,oil_age,Pb\n60000,9000,3\n70000,9500,4\n"},
    )
    log, [car] = log_with(tmp_path, case)
    assert same(export_case(log, car), case)
    sample = SampleTaken(2_000, 101_000, date="2026-03-01", elements={"Pb": Reading(2.0)})
    log.add(sample, machine=car, author=AUTHOR)
    samples = export_case(log, car).samples
    assert samples is not None
    assert [row.reading for row in samples.rows] == [80_000, 90_000, 101_000]


def test_the_latest_quote_by_its_date_sets_the_prices(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())

    def planned() -> tuple[float, float]:
        cost = export_case(log, car).cost
        return cost.planned.low, cost.planned.high

    log.add(Quote("2026-03-01", {"planned": 2500, "urgent": [3000, 3500]}, by="A workshop"),
            machine=car, author=AUTHOR)  # fmt: skip
    assert planned() == (2500, 2500)
    log.add(Quote("2026-02-01", {"planned": 1900}), machine=car, author=AUTHOR)  # an older one
    assert planned() == (2500, 2500)
    log.add(InputsChanged({"cost.planned": [2100, 2300]}), machine=car, author=AUTHOR)
    assert planned() == (2100, 2300)
    latest = log.add(Quote("2026-04-01", {"planned": 2700}), machine=car, author=AUTHOR)
    assert planned() == (2700, 2700)
    log.undo(latest.entry.seq, author=AUTHOR)
    assert planned() == (2100, 2300)
    sources = log.machine(car).sources
    assert {key: (entry.kind, entry.seq) for key, entry in sources.items()} == {
        "cost.planned": ("inputs", 4),
        "cost.urgent": ("quote", 2),
    }
    urgent = export_case(log, car).cost.urgent
    assert urgent is not None
    assert urgent.high == 3500


def test_a_lay_up_is_over_once_its_day_has_passed(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case(plan={"lay_up": "2026-02-01"}))
    assert export_case(log, car).plan.lay_up == "2026-02-01"
    log.add(MeterReading(100_500, "2026-02-02"), machine=car, author=AUTHOR)
    assert export_files(log, car).lay_up_passed
    assert export_case(log, car).plan.lay_up is None


def test_changes_of_inputs_are_those_of_the_page(tmp_path: Path) -> None:
    case = read_case(DATA / "work-boat")
    log, [boat] = log_with(tmp_path, case)
    edited = changed(
        case, {"cost.planned": [4000, 5000], "plan.most_risk": None, "oil.element[2].rise": 5}
    )
    change = differences(case, edited)
    assert change is not None
    assert change.changes.keys() == {"cost.planned", "plan.most_risk", "oil.element"}
    assert change.changes["plan.most_risk"] is None
    log.add(change, machine=boat, author=AUTHOR)
    assert same(export_case(log, boat), edited)
    assert differences(edited, edited) is None


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"cost.plannd": 3}, "cost.plannd: found an unknown key"),
        ({"oil.element[1].rise": 3}, "found an unknown key"),
        ({"machine.reading": 3}, "expected a meter reading entered as such"),
        ({"machine.unit": "h"}, "found a change of this input"),
        ({"life.records": "other.csv"}, "expected life records entered as such"),
        ({"cost.planned": -3}, "cost.planned: found -3; expected a number"),
        ({"cost.planned": None}, "cost.planned: found nothing; expected a value"),
        ({"life.b50_prior": None}, "case of Invented car.*neither records nor b50_prior"),
        ({"oil.interval": 3_000}, "found 4000; expected not more than"),
        ({"part.fitted_at": 200_000}, "found 200000; expected not more than machine.reading"),
    ],
)
def test_no_change_makes_a_case_unreadable(
    change: dict[str, object], message: str, tmp_path: Path
) -> None:
    log, [car] = log_with(tmp_path, made_case())
    before = log.history()
    with pytest.raises(InputError, match=message):
        log.add(InputsChanged(change), machine=car, author=AUTHOR)
    assert log.history() == before
    assert export_case(log, car) == made_case()


def test_a_decision_keeps_what_it_was_taken_on(tmp_path: Path) -> None:
    case = read_case(DATA / "road-car")
    log, [car] = log_with(tmp_path, case)
    shown = "Replace at the next oil change.\n  With a tab\tand a line of its own.\n"
    decision = Decision(
        "2026-11-02", 124_000, "next oil change", shown, decision_inputs(case), 8_000.0,
        chosen="never", declined=True, by="the owner",
    )  # fmt: skip
    entry = log.add(decision, machine=car, author=AUTHOR).entry
    log.add(MeterReading(130_000, "2027-05-01"), machine=car, author=AUTHOR)
    log.close()
    with Log.open(log.path) as again:
        [held] = again.machine(car).decisions
    assert held.entry == entry
    assert held.what.shown == shown
    assert same(case_of_decision(held.what), case)


def test_other_tables_of_a_case_go_with_its_machine(tmp_path: Path) -> None:
    fleet = b"engine,age,oil_age,Pb\nA,50000,9000,3\nB,60000,9000,5\n"
    case = changed(made_case(), {"oil.fleet": "fleet.csv"}, {"fleet.csv": fleet})
    log, [car] = log_with(tmp_path, case)
    assert same(export_case(log, car), case)
    log.add(TableSet("oil.fleet", None), machine=car, author=AUTHOR)
    assert export_case(log, car).fleet is None


def test_a_case_that_would_not_come_out_the_same_is_not_taken_in(tmp_path: Path) -> None:
    case = made_case()
    bad = replace(case, machine=replace(case.machine, reading=-5.0))
    with new_log(tmp_path) as log:
        with pytest.raises(InputError, match=r"machine\.reading"):
            import_case(log, bad, author=AUTHOR)
        assert log.history() == ()


def test_one_group_holds_its_records_once(tmp_path: Path) -> None:
    one, two = made_case(TRAITS), made_case(TRAITS, machine={"name": "Second"})
    other = made_case(TRAITS + b"70000,failed,town\n", machine={"name": "Third"})
    with new_log(tmp_path) as log:
        brought = [import_case(log, case, author=AUTHOR) for case in (one, two, other)]
        assert [b.own_records for b in brought] == [False, False, True]
        assert len(log.state().records) == 1
        for case, b in zip((one, two, other), brought, strict=True):
            assert same(export_case(log, b.machine, shared=False), case)
