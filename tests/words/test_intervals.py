"""What is said, drawn and printed of other oil intervals."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import pytest

from riskmodel.charts.intervals import interval_costs
from riskmodel.decision.intervals import IntervalStudy, interval_study
from riskmodel.decision.results import Interval
from riskmodel.report.intervals_report import intervals_json, print_intervals
from riskmodel.words import intervals as words
from tests.decision.sampled_case import sampled_case
from tests.words.test_wording import NEVER


@cache
def study(gamma: float = 0.0, *, sample: bool = True) -> IntervalStudy:
    case = sampled_case("road_car", sample=sample)
    return interval_study(replace(case, oil=replace(case.oil, life_gamma=gamma)))


def plain(texts: list[str]) -> str:
    return " ".join(texts).replace("\N{NO-BREAK SPACE}", " ")


def test_each_interval_has_a_row_and_the_one_now_is_named() -> None:
    frame = words.table(study())
    assert len(frame) == 4
    named = [name.replace("\N{NO-BREAK SPACE}", " ") for name in frame["Oil change every"]]
    assert named == ["5,000 km", "7,500 km", "10,000 km (as now)", "15,000 km"]
    assert frame["Against now"].iloc[2] == ""
    assert "Other alarms per 100" in frame


def test_two_effects_stand_in_two_tables() -> None:
    claimed = study(0.5)
    assert words.table(study(), longer=True).empty
    longer = words.table(claimed, longer=True)
    assert len(longer) == 4
    assert "× 1.41" in longer["Oil change every"].iloc[0].replace("\N{NO-BREAK SPACE}", " ")
    assert words.table(claimed).equals(words.table(study()))
    assert not words.table(claimed)["Cost a year"].equals(longer["Cost a year"])


def test_without_a_claim_it_is_said_that_there_is_none() -> None:
    told = plain(words.summary(study()))
    assert "Nothing is claimed here for fresher oil" in told
    assert "as claimed here" not in told
    assert "as claimed here" in plain(words.summary(study(0.5)))


def test_no_interval_beyond_the_makers_is_recommended_without_a_word_on_it() -> None:
    for each in (study(), study(0.5), study(sample=False)):
        assert words.summary(each)[-1] == words.MAKER


def test_the_best_interval_is_the_one_that_costs_least() -> None:
    best = min(study().rows, key=lambda row: row.sooner.cost.value)
    assert f"every {words.every(study().case, best)} costs least" in words.summary(study())[0]
    dear = replace(best.sooner, cost=Interval(9e4, 8e4, 1e5))
    rows = tuple(row if row.now else replace(row, sooner=dear) for row in study().rows)
    assert "the interval now" in words.summary(replace(study(), rows=rows))[0]


def test_without_samples_there_are_no_alarms_and_no_rule() -> None:
    unsampled = study(sample=False)
    assert not any("per 100" in name for name in words.table(unsampled))
    assert words.warning_sentences(unsampled) == []
    assert words.warning_table(unsampled).empty
    assert "alarm" not in words.note(unsampled)
    assert intervals_json(unsampled.case, unsampled)["warning"] is None


def test_the_rule_of_thumb_stands_beside_the_model() -> None:
    told = plain(words.warning_sentences(study()))
    assert "about 10,000 km, nine times in ten between 3,500 and 30,000 km" in told
    assert "at most 10 of 100 are missed" in told
    assert len(words.warning_table(study())) == 4
    short = replace(study(), net=(0.0, 0.0, 100.0), needed=float("inf"))
    assert "No sample drawn in that time" in words.warning_sentences(short)[1]


@pytest.mark.parametrize(
    ("counted", "text"),
    [
        (Interval(0.0, 0.0, 0.0), "0"),
        (Interval(0.004, 0.001, 0.02), "under 1 (0 to 2)"),
        (Interval(0.123, 0.1, 0.2), "12 (10 to 20)"),
        (Interval(1.756, 1.2, 2.411), "176 (120 to 242)"),
    ],
)
def test_counts_to_a_hundred_engines(counted: Interval, text: str) -> None:
    assert words.per_100(counted).replace("\N{NO-BREAK SPACE}", " ") == text


@pytest.mark.parametrize(("gamma", "sample"), [(0.0, True), (0.5, True), (0.0, False)])
def test_no_word_calls_an_engine_what_nobody_can_know(gamma: float, sample: bool) -> None:
    each = study(gamma, sample=sample)
    tables = (words.table(each), words.table(each, longer=True), words.warning_table(each))
    cells = [str(value) for frame in tables for value in (*frame.columns, *frame.to_numpy().flat)]
    told = (*words.summary(each), words.note(each), words.longer_note(each), *cells)
    for text in (*told, *words.warning_sentences(each)):
        assert not NEVER.search(text), text
        assert "None" not in text


def test_the_chart_has_a_mark_for_each_effect() -> None:
    plain_chart, both = interval_costs(study()), interval_costs(study(0.5))
    assert [layer["mark"]["type"] for layer in plain_chart["layer"]] == ["rule", "point"]
    shapes = [layer["mark"].get("shape") for layer in both["layer"]]
    assert shapes == [None, "circle", None, "diamond"]
    drawn = [row["value"] for row in both["layer"][3]["data"]["values"]]
    assert drawn == [row.longer.cost.value for row in study(0.5).rows if row.longer is not None]


def test_json_is_unrounded_and_plain() -> None:
    told = json.loads(json.dumps(intervals_json(study(0.5).case, study(0.5)), allow_nan=False))
    assert [row["every"] for row in told["rows"]] == [5000, 7500, 10000, 15000]
    assert [row["as_now"] for row in told["rows"]] == [False, False, True, False]
    for row, ours in zip(told["rows"], study(0.5).rows, strict=True):
        assert row["sooner"]["cost_per_year"]["value"] == ours.sooner.cost.value
        assert row["longer_life"]["replace_at"] == (ours.longer and ours.longer.at)
        for column in ("sooner", "longer_life"):
            for key in ("cost_per_year", "failure_probability", "urgent_replacements"):
                assert row[column][key]["low"] <= row[column][key]["high"]
    assert told["warning"]["samples_needed"] == study(0.5).needed


def test_printed_within_eighty_columns(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    print_intervals(study(0.5).case, study(0.5))
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    assert "…" not in text
    assert words.SOONER in text
    assert words.LONGER in text
    assert "Cautions" in text


def test_a_plan_between_services_is_told_to_no_digit_more_than_it_bears() -> None:
    """The workshop's first slot falls on no round figure: five weeks at 11,500 km a year."""
    outcome = replace(study().rows[0].sooner, at=5 / 52.18 * 11_500)
    told = words.plan(sampled_case("road_car"), outcome).replace("\N{NO-BREAK SPACE}", " ")
    assert told == "In 1,100 km"
