"""The command: what it prints, on which stream, with which exit status."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from riskmodel.cli import main
from riskmodel.words import cautions
from tests.decision.exact_case import case_of

ROAD_CAR = Path(__file__).parents[2] / "data" / "road-car"
RECORDS = Path(__file__).parents[1] / "reference" / "shock_absorber.csv"


def test_weigh_prints_one_json_object_with_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["weigh", str(ROAD_CAR), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["unit"] == "km"
    assert found["example"].startswith("EXAMPLE")
    assert [chance["what"] for chance in found["risk"]] == [
        "next_oil_change", "one_year", "keep_until",
    ]  # fmt: skip
    for chance in found["risk"]:
        assert 0 <= chance["low"] <= chance["probability"] <= chance["high"] <= 1
    assert found["plans"][0]["at"] == 0
    assert found["plans"][-1]["at"] is None
    assert found["recommended"] in [plan["name"] for plan in found["plans"]]
    assert sum(plan["chance_cheapest"] for plan in found["plans"]) == pytest.approx(1)
    assert set(found["break_even"]) == {"failure_cost", "probability"}
    assert len(found["cautions"]) >= 4


def test_weigh_says_the_verdict_the_example_and_the_cautions(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["weigh", str(ROAD_CAR)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert text.startswith("EXAMPLE")
    assert "it costs least to" in text
    for caution in cautions(case_of_unit()):
        assert caution in text


def case_of_unit():  # type: ignore[no-untyped-def]
    return case_of(
        {
            "machine": {"unit": "km", "reading": 1, "usage_per_year": 1},
            "life": {"shape_prior": 2, "b50_prior": 9},
            "oil": {"interval": 1, "turnaround": 0},
            "cost": {"planned": 1, "failure": 2},
            "plan": {"keep_usage": 1},
        }
    )


@pytest.fixture
def knocking(tmp_path: Path) -> Path:
    for file in ROAD_CAR.iterdir():
        text = file.read_text()
        (tmp_path / file.name).write_text(
            text.replace("symptoms = []", 'symptoms = ["knock"]')
            if file.suffix == ".toml"
            else text
        )
    return tmp_path


def test_symptoms_replace_every_figure(knocking: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["weigh", str(knocking), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["stop"]
    assert found["recommended"] is None
    assert found["plans"] == found["risk"] == []
    assert main(["weigh", str(knocking)]) == 0
    text = capsys.readouterr().out
    assert "Do not start the engine" in text
    assert "of 100" not in text


def test_life_keeps_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["life", str(RECORDS), "--at", "15000", "--ahead", "3000", "--json"]
    assert main(asked) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["n"] == 38
    assert found["failures"] == 11
    # O'Connor 1985, from memory: 3.16 and 27,719
    assert found["shape"]["estimate"] == pytest.approx(3.16, abs=0.005)
    assert found["scale"]["estimate"] == pytest.approx(27719, abs=0.5)
    assert found["conditional"][0]["at"] == 15000
    assert {"distribution", "loglik", "aic"} == set(found["comparison"][0])


def test_a_case_filled_in_from_the_template_can_be_checked_and_weighed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for unit in ("km", "mi", "h"):
        folder = str(tmp_path / unit)
        assert main(["new", folder, "--unit", unit]) == 0
        assert main(["check", folder]) == 0
        assert main(["weigh", folder]) == 0
    assert not capsys.readouterr().err


def test_bad_input_is_told_on_standard_error_with_status_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["weigh", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert not said.out
    assert "case.toml" in said.err
    assert main(["life", str(RECORDS), "--at", "5"]) == 2
    assert "go in pairs" in capsys.readouterr().err
