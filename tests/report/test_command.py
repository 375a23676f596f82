"""The command `riskmodel report`: what it writes, what it prints, what it refuses."""

from __future__ import annotations

import json
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
    monkeypatch.setattr("riskmodel.report.owner.write.what_if_figures", lambda *_: ())
    monkeypatch.setattr("riskmodel.report.owner.write.life_curves", lambda _: None)


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
        (["-o", "no-such-folder/report.pdf"], "a place that can be written to"),
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


def test_help_explains_itself_with_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["report", "--help"])
    assert stop.value.code == 0
    assert "Example: riskmodel report" in " ".join(capsys.readouterr().out.split())


def test_the_sheets_of_the_command_are_those_of_the_report() -> None:
    assert cli_report.SHEETS == owner.SHEETS
