"""A year in an invented workshop, from the first entry to what the records then say."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from riskmodel.life.likelihood import Likelihood
from riskmodel.records.life_table import read_records
from riskmodel.records.log.bridge import export_case, group_of_case, import_case
from riskmodel.records.log.entries import (
    Finding,
    Job,
    Look,
    MeterReading,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
)
from riskmodel.records.log.folder import export_log, import_log
from riskmodel.records.log.lives import records_csv
from riskmodel.records.log.log import Log
from riskmodel.records.log.waiting import sample_list
from riskmodel.records.tables import Reading
from tests.log.made import made_case, new_log, ticking

JOBS: dict[int, tuple[Look, ...]] = {
    3: ("unworn", "worn"),
    7: ("unworn", "unworn"),
    8: ("worn", "worn"),
    12: (),
    15: ("unworn", "worn", "not_seen"),
}
FAILED = 19


def day(number: int) -> str:
    return str(date(2026, 2, 1) + timedelta(number))


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """20 engines, three samples of each, 5 jobs with findings, 1 failure."""
    folder = tmp_path_factory.mktemp("workshop")
    with new_log(folder, clock=ticking()) as log:
        for number in range(20):
            reading = 80_000 + 4_000 * number
            case = made_case(
                machine={"name": f"Engine {number}", "reading": reading},
                part={"entered_at": reading / 2},
            )
            car = import_case(log, case, author="Ann", machine=f"engine-{number}").machine
            for step in range(3):
                taken = SampleTaken(
                    2_000 + 500 * step, reading + 2_000 + 3_000 * step, date=day(90 * step)
                )
                sample = log.add(taken, machine=car, author="Bob").entry.uuid
                log.add(SampleSent(sample, day(90 * step + 1)), machine=car, author="Bob")
                if step == 2 and number % 2:
                    continue  # still at the laboratory
                results = {"Pb": Reading(2.0 + step + number % 5)}
                log.add(SampleBack(sample, day(90 * step + 9), results), machine=car, author="Bob")
                log.add(SampleTold(sample, day(90 * step + 10)), machine=car, author="Ann")
            if number in JOBS:
                job = Job(reading + 9_000, day(200), replaced=True)
                uuid = log.add(job, machine=car, author="Ann").entry.uuid
                for shell, look in enumerate(JOBS[number], start=1):
                    log.add(Finding(uuid, f"rod {shell}", look), machine=car, author="Bob")
            if number == FAILED:
                failed = Job(reading + 10_000, day(210), replaced=True, failed=True)
                log.add(failed, machine=car, author="Ann")
            log.add(MeterReading(reading + 12_000, day(300)), machine=car, author="Ann")
    return log.path


def test_the_life_curve_follows(workshop: Path) -> None:
    with Log.open(workshop) as log:
        group = group_of_case(made_case())
        assert group is not None
        data = records_csv(log.state(), group)
        assert data is not None
        records = read_records(data)
        out = sorted(outcome for outcome in records.outcome if outcome != "running")
        assert out == ["failed", "removed"] + ["removed_unworn"] + ["removed_worn"] * 3
        assert records.outcome.count("running") == 20  # new parts among them
        # Every mate's case sees them; its own part in service is not among them.
        case = export_case(log, "engine-0")
        assert case.records is not None
        assert len(case.records) == 25
        failed = case.records.outcome.index("failed")
        assert case.records.age[failed] == 80_000 + 4_000 * FAILED + 10_000
        counted = Likelihood(case.records, visible_lead=case.warning.visible_lead)
        assert (counted.n, counted.failures) == (25, 1)


def test_samples_follow(workshop: Path) -> None:
    with Log.open(workshop) as log:
        lines = sample_list(log.state(), day(230))
        assert len(lines) == 60
        assert [bool(line.overdue) for line in lines] == [True] * 10 + [False] * 50
        assert {line.machine.id for line in lines[:10]} == {f"engine-{n}" for n in range(1, 20, 2)}
        samples = export_case(log, "engine-4").samples
        assert samples is not None
        assert len(samples) == 3
        replaced = export_case(log, "engine-8")
        assert replaced.samples is None  # they were the old part's
        assert replaced.age == 3_000


def test_all_of_it_goes_out_and_comes_in(workshop: Path, tmp_path: Path) -> None:
    with Log.open(workshop) as log:
        export_log(log, tmp_path / "out")
        import_log(tmp_path / "out", tmp_path / "again.sqlite")
        with Log.open(tmp_path / "again.sqlite") as again:
            assert again.state() == log.state()
