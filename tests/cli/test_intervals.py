"""The verb `intervals`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from riskmodel.cli import main

ROAD_CAR = Path(__file__).parents[2] / "data" / "road-car"


def test_intervals_asked_for_and_the_one_now(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["intervals", str(ROAD_CAR), "--every", "6000", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["example"].startswith("EXAMPLE")
    assert told["interval"] == 10000
    assert [row["every"] for row in told["rows"]] == [6000, 10000]
    assert told["rows"][0]["longer_life"] is None
    assert told["rows"][1]["sooner"]["dearer_than_now"]["value"] == 0


def test_an_interval_shorter_than_the_turnaround(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["intervals", str(ROAD_CAR), "--every", "400"]) == 2
    told = capsys.readouterr()
    assert not told.out
    assert "found 400 km, expected more than the 500 km" in told.err


@pytest.mark.parametrize("power", ["-1", "3", "nan"])
def test_a_power_that_cannot_be(power: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["intervals", str(ROAD_CAR), "--life-gamma", power]) == 2
    assert "--life-gamma" in capsys.readouterr().err


def test_symptoms_replace_every_figure(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for file in ROAD_CAR.iterdir():
        text = file.read_text()
        if file.suffix == ".toml":
            text = text.replace("symptoms = []", 'symptoms = ["knock"]')
        (tmp_path / file.name).write_text(text)
    assert main(["intervals", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["stop"]
    assert told["rows"] == []
    assert main(["intervals", str(tmp_path)]) == 0
    text = capsys.readouterr().out
    assert "a year" not in text
    assert "Cautions" in text


def test_help_has_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["intervals", "--help"])
    assert ended.value.code == 0
    assert "Example: riskmodel intervals my-car --every 5000" in capsys.readouterr().out
