"""The command: what it prints, on which stream, with which exit status."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path

import pytest

from riskmodel.cli import main
from riskmodel.decision.sensitivity import WhatIf
from riskmodel.records.case import Case
from riskmodel.words import cautions, what_if
from tests.decision.exact_case import case_of
from tests.words import life_cases

ROAD_CAR = Path(__file__).parents[2] / "data" / "road-car"
RECORDS = Path(__file__).parents[1] / "reference" / "shock_absorber.csv"


@cache
def weighed(*options: str) -> str:
    """What weighing the road car prints: run once for all tests that read it."""
    with redirect_stdout(io.StringIO()) as out, redirect_stderr(io.StringIO()) as err:
        assert main(["weigh", str(ROAD_CAR), *options]) == 0
    assert not err.getvalue()
    return out.getvalue()


def test_weigh_prints_one_json_object_with_the_contract() -> None:
    found = json.loads(weighed("--json"))
    assert found["unit"] == "km"
    assert found["example"].startswith("EXAMPLE")
    assert [chance["what"] for chance in found["risk"]] == [
        "next_oil_change", "one_year", "keep_until",
    ]  # fmt: skip
    for chance in found["risk"]:
        assert 0 <= chance["low"] <= chance["probability"] <= chance["high"] <= 1
    assert found["plans"][0]["at"] == 0
    assert found["plans"][-1]["at"] is None
    # the example offers a look first, which costs least
    assert found["recommended"] == "Look at the part first, then decide"
    assert found["information"]["inspection"]["saves"]["amount"] > 0
    assert {"cost_per_unit", "age"} <= set(found["long_run"])
    assert sum(plan["chance_cheapest"] for plan in found["plans"]) == pytest.approx(1)
    assert set(found["break_even"]) == {"failure_cost", "probability"}
    assert len(found["cautions"]) >= 4
    life = found["life"]
    for source in ("both", "records_alone", "belief_alone"):
        assert set(life[source]) == {"probability", "low", "high", "why_not", "cautions"}
    assert life["belief_alone"]["probability"] is None
    assert life["belief_alone"]["why_not"]
    assert life["traits"]["used"] is True
    assert {remark["kind"] for remark in life["remarks"]} >= {"heaping", "suspicion"}
    assert all(remark["sentence"] for remark in life["remarks"])
    tried = found["sensitivity"]
    assert tried[0]["group"] == "as_it_stands"
    # the same integral twice, each by panels of its own
    assert tried[0]["probability"] == pytest.approx(found["risk"][0]["probability"], rel=1e-7)
    ratios = [row["setting"] for row in tried if row["group"] == "reporting_ratio"]
    assert ratios == [2, 3, 5, 10]
    groups = {row["group"] for row in tried}
    assert groups >= {"traits", "finding_error", "left_out", "cause", "belief"}


def test_weigh_tells_in_short_what_it_tells_in_full(monkeypatch: pytest.MonkeyPatch) -> None:
    found = json.loads(weighed("--json", "--detail", "short"))
    assert found["life"] is found["sensitivity"] is None
    short = weighed()
    assert "--detail full" in short
    assert what_if.HEADING not in short

    def tried_once(case: Case) -> tuple[WhatIf, ...]:
        """`--json`, above, has the command work it out for itself."""
        assert case == life_cases.case_of("road car")
        return life_cases.sensitivity_of("road car")

    monkeypatch.setattr("riskmodel.decision.sensitivity.life_sensitivity", tried_once)
    full = " ".join(weighed("--detail", "full").split())
    assert what_if.HEADING in full
    assert "By the records alone" in full
    assert "came out on suspicion" in full
    assert full.index(what_if.HEADING) < full.index("Cautions")


def test_weigh_says_the_verdict_the_example_and_the_cautions() -> None:
    text = " ".join(weighed().split())
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
    assert [choice["at"] for choice in found["choice"]] == [15000]
    assert found["covariates"] is found["weibayes"] is found["other_causes"] is None


def test_oil_keeps_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["oil", str(ROAD_CAR), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert len(found["samples"]) == 10
    first = found["samples"][0]
    assert {"age", "oil_age", "used", "rates"} <= set(first)
    # 7 ppm in 14,900 km, less a tenth of itself left by the drain; nearly no top-up
    assert first["rates"]["Pb"] == pytest.approx(7 * 0.9 / 14.9, rel=0.1)
    assert set(found["limits"]) == {"Pb", "Cu", "Sn", "Fe", "Si"}
    assert all(set(point) == {"failure_age", "factor"} for point in found["factor"])
    assert found["factor"][-1]["factor"] == pytest.approx(1, abs=0.02)
    assert found["cautions"]
    assert main(["oil", str(ROAD_CAR)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith("EXAMPLE")
    assert "Pb*" in said
    assert "decide nothing" in said
    assert "oil pressure" in said


def test_weigh_tells_the_risk_with_and_without_oil() -> None:
    found = json.loads(weighed("--json", "--detail", "short"))
    for chance in found["risk"]:
        without = chance["without_oil"]
        assert 0 < without["low"] < without["probability"] < without["high"] < 1
        ratio = chance["probability"] / without["probability"]
        assert chance["oil_factor"] == pytest.approx(ratio)
    assert found["plans"][0]["alarm_probability"] == 0
    assert found["plans"][-1]["alarm_probability"] > 0
    assert found["oil"]["used"] == 10


def test_life_bounds_life_where_nothing_failed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "five.csv"
    file.write_text("age,outcome\n40,running\n60,running\n75,running\n90,running\n110,running\n")
    assert main(["life", str(file), "--shape", "3", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["shape"]["estimate"] is None
    # the sum of age^3 over -ln 0.05, to the power 1/3
    assert found["weibayes"]["lower"] == pytest.approx(97.33, abs=5e-3)
    assert main(["life", str(file)]) == 0
    said = capsys.readouterr().out
    assert "--shape" in said
    assert "AIC" not in said
    assert "oil pressure" in said


def test_life_reads_looks_with_their_lead(capsys: pytest.CaptureFixture[str]) -> None:
    records = str(ROAD_CAR / "records.csv")
    told = []
    for more in ([], ["--visible-lead", "10000", "60000"], ["--reporting-ratio", "3"]):
        assert main(["life", records, "--json", *more]) == 0
        told.append(json.loads(capsys.readouterr().out))
    assert len({found["loglik"] for found in told}) == 3
    assert any("here they count only as removed" in text for text in told[0]["warnings"])
    assert {term["column"] for term in told[1]["covariates"]["terms"]} == {"use", "oil_interval"}


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--finding-error", "0.7"], "--finding-error: found 0.7"),
        (["--reporting-ratio", "0.5"], "--reporting-ratio: found 0.5"),
        (["--visible-lead", "9", "3"], "--visible-lead: found 9 and 3"),
        (["--shape", "0"], "--shape: found 0"),
        (["--at", "-1", "--ahead", "5"], "--at: found -1"),
        (["--at", "nan", "--ahead", "5"], "--at: found nan"),
    ],
)
def test_options_of_life_that_cannot_be(
    options: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["life", str(RECORDS), *options]) == 2
    told = capsys.readouterr()
    assert not told.out
    assert said in told.err


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
