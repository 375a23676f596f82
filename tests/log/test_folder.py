"""A whole log out into a folder of text files and in again."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.files import read_case
from riskmodel.records.life_table import read_records
from riskmodel.records.log.bridge import export_case, import_case
from riskmodel.records.log.entries import Finding, Job, MeterReading, Quote
from riskmodel.records.log.errors import LogError, RefusedError
from riskmodel.records.log.folder import ABOUT_FILE, ENTRIES_FILE, export_log, import_log
from riskmodel.records.log.log import Log
from tests.log.made import AUTHOR, DATA, TRAITS, log_with, made_case, new_log
from tests.log.strategies import filled

SETTINGS = settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@SETTINGS
@given(data=st.data())
def test_any_log_comes_in_as_it_went_out(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    folder = tmp_path_factory.mktemp("any")
    log, _, _ = filled(folder, data)
    with log:
        export_log(log, folder / "out")
        import_log(folder / "out", folder / "again.sqlite")
        with Log.open(folder / "again.sqlite") as again:
            assert again.history() == log.history()
            assert again.state() == log.state()
            assert again.rows() == log.rows()
            export_log(again, folder / "out again")
        for file in (folder / "out").iterdir():
            assert (folder / "out again" / file.name).read_bytes() == file.read_bytes()

        # And whatever it holds gives cases that read, whoever opens it.
        with Log.open(log.path) as reopened:
            assert reopened.state() == log.state()
        for machine in log.state().machines:
            try:
                export_case(log, machine)
            except CannotAnswer:
                assert log.machine(machine).part is None


def exported(tmp_path: Path) -> tuple[Log, Path]:
    log, [car, _] = log_with(
        tmp_path, made_case(TRAITS), made_case(machine={"name": "=Second, invented"})
    )
    log.add(MeterReading(105_000, "2026-03-01"), machine=car, author=AUTHOR)
    job = Job(110_000, "2026-06-01", replaced=True, note="-1 shell")
    uuid = log.add(job, machine=car, author=AUTHOR).entry.uuid
    log.add(Finding(uuid, "rod 1, upper", "worn", 0.06), machine=car, author=AUTHOR)
    log.add(Quote("2026-05-01", {"planned": [1, 2]}, by="Somebody"), machine=car, author=AUTHOR)
    export_log(log, tmp_path / "out")
    return log, tmp_path / "out"


def test_the_files_beside_it_can_be_read(tmp_path: Path) -> None:
    _, out = exported(tmp_path)
    tables = {
        path.name: list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
        for path in out.glob("*.csv")
    }
    assert [row["name"] for row in tables["machines.csv"]] == [
        "Invented car", "'=Second, invented",
    ]  # fmt: skip
    assert [row["reading"] for row in tables["readings.csv"]] == [
        "100000", "105000", "110000", "100000",
    ]  # fmt: skip
    assert tables["jobs.csv"][0]["worst_look"] == "worn"
    assert tables["jobs.csv"][0]["note"] == "'-1 shell"
    assert tables["findings.csv"][0]["clearance_mm"] == "0.06"
    assert (tables["quotes.csv"][0]["low"], tables["quotes.csv"][0]["high"]) == ("1", "2")
    assert [row["ended_at"] for row in tables["parts.csv"]] == ["110000", "", ""]
    [lives] = out.glob("life-records-*.csv")
    records = read_records(lives.read_bytes())
    assert len(records) == 3 + 2  # the table, what came out, and the second car in service
    assert "Second" not in lives.read_text(encoding="utf-8")


def test_samples_of_both_examples_are_in_the_sheet(tmp_path: Path) -> None:
    with new_log(tmp_path) as log:
        for name in ("road-car", "work-boat"):
            import_case(log, read_case(DATA / name), author=AUTHOR)
        export_log(log, tmp_path / "out")
    text = (tmp_path / "out" / "samples.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 20
    assert rows[3]["Sn"] == "<1"
    assert rows[1]["Sn"] == ""


def test_nothing_is_written_over(tmp_path: Path) -> None:
    log, out = exported(tmp_path)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    with pytest.raises(InputError, match="expected an empty one"):
        export_log(log, out)
    with pytest.raises(LogError, match="found a file of this name"):
        import_log(out, log.path)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("105000.0", "106000.0", "entries that were changed since they were written"),
        ('"seq":2', '"seq":9', "entries that were changed"),
        ("105000.0", "-5", r"line 4.*reading: found -5; expected a number of 0 or more"),
        ("105000.0", "NaN", "found NaN|no JSON|changed"),
        ('"author":"Ann"', '"author":"Bob"', "entries that were changed"),
        ('"kind":"job"', '"kind":"jbo"', r"the unknown kind \"jbo\".*did you mean job"),
        ('"uuid"', '"id"', "line 1: found something else; expected one entry with seq, uuid"),
        ("{", "[", "line 1: found no JSON"),
    ],
)
def test_changed_entries_are_refused(old: str, new: str, message: str, tmp_path: Path) -> None:
    _, out = exported(tmp_path)
    file = out / ENTRIES_FILE
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError, match=message):
        import_log(out, tmp_path / "new.sqlite")
    assert not [path for path in tmp_path.iterdir() if "new" in path.name]


def test_a_missing_line_or_file_is_refused(tmp_path: Path) -> None:
    _, out = exported(tmp_path)
    lines = (out / ENTRIES_FILE).read_text(encoding="utf-8").splitlines(keepends=True)
    (out / ENTRIES_FILE).write_text("".join(lines[:-1]), encoding="utf-8")
    with pytest.raises(RefusedError, match=r"found 6 entries; expected 7, by log\.json"):
        import_log(out, tmp_path / "new.sqlite")
    (out / ENTRIES_FILE).unlink()
    with pytest.raises(InputError, match="no such file"):
        import_log(out, tmp_path / "new.sqlite")
    about = json.loads((out / ABOUT_FILE).read_text())
    (out / ABOUT_FILE).write_text(json.dumps({**about, "format": 2}))
    with pytest.raises(RefusedError, match="found 2; expected 1, the format"):
        import_log(out, tmp_path / "new.sqlite")
    (out / ABOUT_FILE).unlink()
    with pytest.raises(InputError, match=r"no log\.json; expected the folder of an exported log"):
        import_log(out, tmp_path / "new.sqlite")
    assert not (tmp_path / "new.sqlite").exists()
