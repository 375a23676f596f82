"""How it was driven, as the command tells it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from riskmodel.cli import main
from riskmodel.records.files import write_case
from riskmodel.words import use, use_habits
from tests.risk.cases import case_with


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A case of which nothing is told but what it is believed to last."""
    case = case_with(None, life={"shape_prior": 2.5, "b50_prior": [1e5, 3e5]})
    write_case(case, tmp_path / "car")
    return tmp_path / "car"


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["weigh", *arguments]) == 0
    return capsys.readouterr().out


def test_json_has_the_effective_age_and_in_full_the_habits(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    full = json.loads(run(capsys, str(folder), "--json"))
    age = full["effective_age"]
    assert age["low"] < age["median"] < age["high"]
    # nothing is told: ages as in such engines on average, a lognormal's median just below its mean
    assert age["median"] == pytest.approx(full["age"], rel=0.02)
    keys = [habit["key"] for habit in full["habits"]]
    assert keys == ["as_now", "warm_up", "no_competition", "half_usage"]
    now = full["habits"][0]
    year = next(each for each in full["risk"] if each["what"] == "one_year")
    assert now["within_a_year"]["probability"] == pytest.approx(year["probability"])
    assert sum(full["interval_parts"].values()) == pytest.approx(1)
    short = json.loads(run(capsys, str(folder), "--json", "--detail", "short"))
    assert short["effective_age"] == age
    assert short["habits"] is short["interval_parts"] is None


def test_text_tells_the_age_always_and_the_habits_in_full(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    short = run(capsys, str(folder))
    assert use.HEADING in short
    assert use_habits.HEADING not in short
    full = run(capsys, str(folder), "--detail", "full")
    assert use_habits.HEADING in full
    assert use_habits.PARTS_HEADING in full
    assert "Half the yearly usage" in full
