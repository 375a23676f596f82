"""The command `riskmodel report`: what it writes, what it prints, what it refuses."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from riskmodel import cli_report
from riskmodel.cli import main
from riskmodel.report import owner
from tests.report import made

ROAD_CAR = str(made.DATA / "road-car")


@pytest.fixture(autouse=True)
def made_by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command weighs the case; here its answer is one made by hand."""
    w = made.on_case("road-car")
    monkeypatch.setattr("riskmodel.report.owner.write.weigh", lambda *_: w)
    monkeypatch.setattr("riskmodel.report.owner.write.other_figures", lambda *_: ((), ()))
    monkeypatch.setattr("riskmodel.report.owner.write.own_curves", lambda _: None)


def test_it_writes_a_pdf_and_tells_of_it_as_json(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "car.pdf"
    assert main(["report", ROAD_CAR, "-o", str(file), "--json"]) == 0
    said = capsys.readouterr()
    assert not said.err
    told = json.loads(said.out)
    data = file.read_bytes()
    assert data.startswith(b"%PDF-")
    assert told == {
        "file": str(file),
        "format": "pdf",
        "bytes": len(data),
        "contents": ["report"],
        "date": "2026-11-01",
        "stop": False,
    }
    assert data == owner.report_pdf(made.on_case("road-car"))


def test_it_writes_html_with_the_sheets_and_one_sheet_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "car.html"
    assert main(["report", ROAD_CAR, "-o", str(file), "--sheets", "--date", "2026-12-24"]) == 0
    assert "2026-12-24" in capsys.readouterr().out
    whole = file.read_text(encoding="utf-8")
    assert whole.startswith("<!DOCTYPE html>")
    assert whole.count("<h1>") == 5
    assert main(["report", ROAD_CAR, "-o", str(file), "--sheet", "until-then"]) == 0
    assert file.read_text(encoding="utf-8").count("<h1>") == 1


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["-o", "report.doc"], "ends in .pdf or .html"),
        (["-o", "report.pdf", "--date", "yesterday"], "--date: found yesterday"),
        (["-o", "report.PDF.txt"], "ends in .pdf or .html"),
        (["-o", "report"], "ends in .pdf or .html"),
        (["-o", ".pdf"], "ends in .pdf or .html"),
        (["-o", "report.pdf", "--date", "2026-02-30"], "--date: found 2026-02-30"),
        (["-o", "no-such-folder/report.pdf"], "found no such folder"),
        (["-o", f"{ROAD_CAR}/case.toml/report.pdf"], "found case.toml, no folder"),
        (["-o", f"{'n' * 300}.pdf"], "a place that can be written to"),
    ],
)
def test_what_cannot_be_done_is_told_with_status_2(
    options: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["report", ROAD_CAR, *options]) == 2
    told = capsys.readouterr()
    assert not told.out
    assert said in told.err
    assert not list(tmp_path.iterdir())


def test_a_folder_of_that_name_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "car.pdf"
    folder.mkdir()
    (folder / "kept.txt").write_text("kept", encoding="utf-8")
    assert main(["report", ROAD_CAR, "-o", str(folder)]) == 2
    assert "found a folder" in capsys.readouterr().err
    assert [file.name for file in folder.iterdir()] == ["kept.txt"]
    assert list(tmp_path.iterdir()) == [folder]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write all")
def test_a_folder_that_may_not_be_written_to_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    closed = tmp_path / "closed"
    closed.mkdir()
    closed.chmod(0o500)
    try:
        assert main(["report", ROAD_CAR, "-o", str(closed / "car.pdf")]) == 2
    finally:
        closed.chmod(0o700)
    assert "permission denied" in capsys.readouterr().err
    assert not list(closed.iterdir())


def test_where_writing_breaks_off_the_old_file_stays_whole_and_nothing_else_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As on a full disk, or where another program holds the file open and locked (Windows)."""
    file = tmp_path / "car.pdf"
    file.write_bytes(b"the old report")

    def held(*_: object) -> None:
        raise PermissionError(13, "The file is in use")

    monkeypatch.setattr(Path, "replace", held)
    assert main(["report", ROAD_CAR, "-o", str(file)]) == 2
    assert "the file is in use" in capsys.readouterr().err
    assert file.read_bytes() == b"the old report"
    assert list(tmp_path.iterdir()) == [file]


def test_a_fault_of_ours_while_it_is_made_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "car.html"
    file.write_text("the old report", encoding="utf-8")

    def broken(*_: object, **__: object) -> str:
        raise RuntimeError("out of paper")

    monkeypatch.setattr("riskmodel.report.owner.write.html_of", broken)
    with pytest.raises(RuntimeError, match="out of paper"):
        main(["report", ROAD_CAR, "-o", str(file)])
    assert file.read_text(encoding="utf-8") == "the old report"
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize(
    "name", ["Car.PDF", "the car's report (1).pdf", "Auto – Ä ü.html", "=1+1.html"]
)
def test_odd_names_are_written_as_they_are(name: str, tmp_path: Path) -> None:
    assert main(["report", ROAD_CAR, "-o", str(tmp_path / name)]) == 0
    assert [file.name for file in tmp_path.iterdir()] == [name]


def test_a_case_with_faults_writes_nothing_and_tells_them_all(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = (made.DATA / "road-car" / "case.toml").read_text(encoding="utf-8")
    folder, file = tmp_path / "case", tmp_path / "car.pdf"
    folder.mkdir()
    wrong = case.replace("reading = 124000", "reading = -1").replace("sees = 0.85", "sees = 8")
    (folder / "case.toml").write_text(wrong, encoding="utf-8")
    for table in ("records.csv", "oil.csv"):
        (folder / table).write_bytes((made.DATA / "road-car" / table).read_bytes())
    assert main(["report", str(folder), "-o", str(file)]) == 2
    told = capsys.readouterr().err
    assert "machine.reading" in told
    assert "inspection.sees" in told
    assert not file.exists()


def test_help_explains_itself_with_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["report", "--help"])
    assert stop.value.code == 0
    assert "Example: riskmodel report" in " ".join(capsys.readouterr().out.split())


def test_the_sheets_of_the_command_are_those_of_the_report() -> None:
    assert cli_report.SHEETS == owner.SHEETS
