"""Other engines' samples as `riskmodel oil` tells them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from riskmodel.cli import main
from riskmodel.records.files import write_files
from tests.broken.made import VALID

DATA = Path(__file__).parents[2] / "data"


def told(folder: Path, capsys: pytest.CaptureFixture[str]) -> dict:
    assert main(["oil", str(folder), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def test_json_tells_what_is_usual_and_the_limits(capsys: pytest.CaptureFixture[str]) -> None:
    found = told(DATA / "work-boat", capsys)
    fleet = found["fleet"]
    assert (fleet["file"], fleet["engines"], fleet["samples"], fleet["left_out"]) == (
        "fleet.csv", 12, len(fleet["rates"]), 0,
    )  # fmt: skip
    assert set(fleet["elements"]) == {"Pb", "Cu", "Sn", "Fe", "Si"}
    assert {row["engine"] for row in fleet["rates"]} == {f"boat {i}" for i in range(1, 13)}
    for held in fleet["elements"].values():
        low, high = held["usual"]["typical"]
        assert 0 < low < high
        assert held["usual"]["scatter_range"][0] < held["usual"]["scatter"]
        assert held["used"]["typical_from"] == held["used"]["scatter_from"] == "case"
        for limit in (*held["limits"]["control"], *held["limits"]["percentile"]):
            assert all(0 <= place < len(found["samples"]) for place in limit["above"])
    lead = fleet["elements"]["Pb"]["limits"]["percentile"][0]
    rates = [sample["rates"]["Pb"] for sample in found["samples"]]
    assert lead["above"] == [i for i, rate in enumerate(rates) if rate > lead["limit"]] == [0]
    # what was there stays as it was
    assert {"unit", "samples", "limits", "factor", "foresight", "cautions"} <= set(found)


def test_json_without_other_engines_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert told(DATA / "road-car", capsys)["fleet"] is None


def test_text_tells_levels_and_limits_and_decides_nothing(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["oil", str(DATA / "work-boat")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "80 samples of 12 other engines tell what is usual" in said
    assert "by other engines and as stated here" in said
    assert "Limits from other engines, for the eye" in said
    assert "of the other engines' samples 90 of 100 below" in said
    assert "This engine's sample at 1,168 h on the meter" in said
    assert "decide nothing" in said
    assert main(["oil", str(DATA / "road-car")]) == 0
    assert "other engines' samples 90 of 100" not in capsys.readouterr().out


def test_a_level_left_out_is_learned_and_without_a_fleet_it_is_missed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    toml = VALID["case.toml"].replace("typical = [0.5, 2]\n", "")
    files = {name: text.encode() for name, text in VALID.items()}
    write_files({**files, "case.toml": toml.encode()}, tmp_path / "without")
    assert main(["oil", str(tmp_path / "without")]) == 2
    error = capsys.readouterr().err
    assert "oil.element[1].typical" in error
    assert "oil.fleet" in error

    toml = toml.replace('samples = "oil.csv"', 'samples = "oil.csv"\nfleet = "fleet.csv"')
    fleet = b"engine,age,oil_age,Pb,Fe\na,20000,8000,4,20\na,28000,8000,5,18\nb,9000,8000,7,9\n"
    write_files({**files, "case.toml": toml.encode(), "fleet.csv": fleet}, tmp_path / "with")
    held = told(tmp_path / "with", capsys)["fleet"]["elements"]
    assert held["Pb"]["used"]["typical"] == pytest.approx(held["Pb"]["usual"]["typical"], rel=0.005)
    assert held["Pb"]["used"]["typical_from"] == "fleet"
    assert held["Fe"]["used"]["typical_from"] == "case"
    assert held["Fe"]["used"]["typical"] == [1, 5]


def test_faults_of_the_file_end_with_2_and_are_all_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    toml = VALID["case.toml"].replace('samples = "oil.csv"', 'fleet = "fleet.csv"')
    files = {name: text.encode() for name, text in VALID.items() if name != "oil.csv"}
    fleet = b"engine,age,oil_age,Pb,Fe\n,20000,8000,4,20\na,28000,0,5,x\n"
    write_files({**files, "case.toml": toml.encode(), "fleet.csv": fleet}, tmp_path / "case")
    assert main(["oil", str(tmp_path / "case"), "--json"]) == 2
    out, error = capsys.readouterr()
    assert out == ""
    for place in ("line 2, column engine", "line 3, column oil_age", "line 3, column Fe"):
        assert f"fleet.csv, {place}" in error
