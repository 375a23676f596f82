"""`riskmodel log` and `riskmodel rank`: an entry a line, what is printed where, exit statuses."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from riskmodel.cli import main
from riskmodel.cli_log import EXAMPLES
from riskmodel.records.files import read_case
from riskmodel.records.log.log import Log
from riskmodel.records.log.place import FILE, VARIABLE, place
from riskmodel.words.plan_names import INSPECTION_NAME, lower_first
from tests.decision.many_machines import machines
from tests.log.made import made_case

Run = Any


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs one command on a log of its own; gives its status, output and errors."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "log.sqlite"))

    def one(*arguments: object, status: int = 0) -> str:
        got = main([str(each) for each in arguments])
        out, err = capsys.readouterr()
        assert got == status, out + err
        return out if status == 0 else err

    return one


@pytest.fixture
def car(run: Run, tmp_path: Path) -> Run:
    """The same with a machine "car" in the log, at 100,000 km on 10 January 2026."""
    from riskmodel.records.files import write_case

    write_case(made_case(), tmp_path / "case")
    run("log", "start")
    run("log", "import", tmp_path / "case", "--as", "car")
    return run


def told(run: Run, *arguments: object) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(run(*arguments, "--json"))
    return found


def test_a_log_is_started_once_and_found_again(run: Run, tmp_path: Path) -> None:
    assert "start one with: riskmodel log start" in run("log", "list", status=2)
    started = run("log", "start").replace("\n", "")  # a long path is wrapped
    assert str(tmp_path / "log.sqlite") in started
    assert "No machine yet" in run("log", "list")
    run("log", "start", status=2)
    assert told(run, "log", "start", "--log", tmp_path / "other" / "one.sqlite")["log"]


def test_without_a_name_it_lies_in_the_users_data(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    for system, name in (("linux", "XDG_DATA_HOME"), ("win32", "LOCALAPPDATA")):
        monkeypatch.setattr(sys, "platform", system)
        monkeypatch.setenv(name, "/somewhere")
        assert place() == Path("/somewhere/riskmodel") / FILE
    monkeypatch.setattr(sys, "platform", "darwin")
    assert place().parts[-4:-1] == ("Library", "Application Support", "riskmodel")
    monkeypatch.setenv(VARIABLE, "/elsewhere/mine.sqlite")
    assert place() == Path("/elsewhere/mine.sqlite")
    assert place(Path("told.sqlite")) == Path("told.sqlite")


@pytest.mark.parametrize("what", EXAMPLES)
def test_every_sub_verb_explains_itself(what: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["log", what, "--help"])
    assert ended.value.code == 0
    text = capsys.readouterr().out
    assert f"riskmodel log {what}" in text
    assert "Example:" in text


def test_entries_are_one_line_each(car: Run) -> None:
    read = car("log", "reading", "car", 101_000, "--date", "2026-02-01")
    assert "Entry 2, car: meter reading" in read
    car("log", "sample", "car", "--oil-age", 7000, "--bottle", "7", "--date", "2026-02-02")
    car("log", "sent", "car", "--bottle", "7", "--date", "2026-02-03", "--lab", "A")
    car("log", "back", "car", "Pb=<2", "--date", "2026-02-10")
    car("log", "told", "car", "--date", "2026-02-11")
    car("log", "oil", "car", 101_500, "--date", "2026-02-12")
    car("log", "quote", "car", "planned=2200..2600", "sample=35", "--date", "2026-02-12")
    car("log", "set", "car", "machine.usage_per_year=14000", "plan.keep_years=5")
    job = car("log", "job", "car", 102_000, "--found", "rod 1=worn", "--found", "rod 2=unworn",
              "--date", "2026-03-01")  # fmt: skip
    assert "rod 1: worn" in job
    listed = told(car, "log", "list", "--date", "2026-03-02")
    assert listed["machines"][0]["reading"] == 102_000
    assert listed["samples"][0]["state"] == "told"
    kinds = [e["kind"] for e in told(car, "log", "history", "car")["entries"]]
    assert kinds[:7] == [
        "machine", "reading", "sample", "sample_sent", "sample_back", "sample_told", "oil_change",
    ]  # fmt: skip
    car("log", "undo", 2, "--reason", "a slip")
    assert told(car, "log", "history", "car")["entries"][1]["undone"]


def test_a_case_goes_in_and_out_without_loss(car: Run, tmp_path: Path) -> None:
    car("log", "export", "car", tmp_path / "out", "--as-it-came")
    assert read_case(tmp_path / "out") == read_case(tmp_path / "case")


def test_backup_and_restore_and_csv(car: Run, tmp_path: Path) -> None:
    car("log", "backup", tmp_path / "copy.sqlite")
    car("log", "reading", "car", 105_000, "--date", "2026-05-01")
    found = told(car, "log", "restore", tmp_path / "copy.sqlite")
    assert Path(found["kept"]).is_file()
    with Log.open(tmp_path / "log.sqlite") as log:
        assert log.machine("car").reading == 100_000
    files = told(car, "log", "csv", tmp_path / "text")["files"]
    assert {"machines.csv", "samples.csv", "entries.jsonl"} <= set(files)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        (("reading", "nobody", 1), "the unknown machine"),
        (("reading", "car", 1, "--date", "2026-02-01"), "at least 100000"),
        (("reading", "car", 101_000, "--date", "1.2.2026"), "date: found 1.2.2026"),
        (("back", "car", "Pb=4"), "0 samples that are taken or sent"),
        (("job", "car", 101_000, "--found", "rod 1=rusty"), "expected not_seen, unworn"),
        (("job", "car", 101_000, "--found", "rod 1"), "expected SHELL=LOOK"),
        (("quote", "car", "planned=cheap"), "quote, planned: found \"cheap\""),
        (("set", "car", "machine.reading=5"), "a meter reading entered as such"),
        (("undo", 99), "entry 99"),
    ],
)  # fmt: skip
def test_bad_input_is_told_and_changes_nothing(
    car: Run, typed: tuple[object, ...], message: str
) -> None:
    before = told(car, "log", "history")
    assert message in car("log", *typed, status=2)
    assert told(car, "log", "history") == before


def test_a_laboratorys_table(car: Run, tmp_path: Path) -> None:
    table = tmp_path / "lab.csv"
    table.write_text("Engine,Drawn,Km,Oil km,Lead\ncar,2026-02-01,101000,5000,3\n")
    typed = ("log", "lab", table, "--laboratory", "A", "--column", "oil_age=Oil km",
             "--date", "2026-03-01")  # fmt: skip
    assert "--try" in car(*typed, "--try")
    assert "1 new sample" in car(*typed)
    assert "the very same sample (line 2)" in car(*typed)
    table.write_text(table.read_text() + "who,2026-02-01,101000,5000,3\n")
    assert 'the machine "who"' in car(*typed, status=2)


def test_what_was_said_is_held_against_what_came(car: Run) -> None:
    assert "No decision on record" in car("log", "said")
    decided = told(car, "log", "decide", "car", "--date", "2026-02-01")
    assert decided["said"]
    car("log", "job", "car", 103_000, "--found", "rod 1=worn", "--date", "2026-06-01")
    found = told(car, "log", "said")
    assert found["few"]
    assert 0 < found["expected"] < 1
    assert found["replaced"]["worn"] == found["replaced"]["told"] == 1
    assert found["decisions_followed"][0]["ended"] == "replaced"
    assert "too few to judge" in car("log", "said")


def test_the_same_is_advised_by_decide_and_by_rank_and_lies_in_the_table(
    car: Run, tmp_path: Path
) -> None:
    car("log", "set", "car", "inspection.cost=5", "plan.keep_years=1")
    decided = told(car, "log", "decide", "car", "--date", "2026-02-01")
    assert (decided["advised"], decided["advised_at"]) == (INSPECTION_NAME, None)
    [full] = told(car, "rank", "--today", "2026-02-01", "--full", 1)["machines"]
    assert (full["instead"], full["unweighed"]) == ("inspection", [])
    assert full["advice"] == lower_first(INSPECTION_NAME)
    assert f"{INSPECTION_NAME}: that costs" in full["why"]
    car("log", "csv", tmp_path / "text")
    assert INSPECTION_NAME in (tmp_path / "text" / "decisions.csv").read_text()


def test_rank_reads_a_folder_and_tells_what_it_cannot_read(
    run: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from riskmodel.records.files import write_case

    for number, case in enumerate(machines(2, samples=2)):
        write_case(case, tmp_path / "many" / f"m{number}")
    found = told(run, "rank", tmp_path / "many", "--within", "2027-12", "--today", "2026-11-01")
    assert {m["name"] for m in found["machines"]} == {"m0", "m1"}
    assert all(m["why"] for m in found["machines"])
    assert found["to_book"] is not None
    (tmp_path / "many" / "m2").mkdir()
    (tmp_path / "many" / "m2" / "case.toml").write_text("format = 1\n")
    assert main(["rank", str(tmp_path / "many"), "--json"]) == 2
    out, err = capsys.readouterr()
    assert len(json.loads(out)["machines"]) == 2
    assert "m2: case.toml" in err
    assert "3 of 3 machines done" in err


def test_rank_reads_a_log(car: Run) -> None:
    car("log", "sample", "car", "--oil-age", 5000, "--date", "2026-01-11")
    found = told(car, "rank", "--today", "2026-03-01")
    assert [m["name"] for m in found["machines"]] == ["car"]
    assert found["machines"][0]["overdue_days"] == 35
    text = car("rank", "--today", "2026-03-01", "--within", "2026-03")
    assert "overdue by 35" in " ".join(text.split())
    assert told(car, "rank", "--group", "none")["machines"] == []
    assert "No machine whose part has the code none." in car("rank", "--group", "none")
    assert "expected a month" in car("rank", "--within", "soon", status=2)
