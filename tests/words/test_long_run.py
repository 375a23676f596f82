"""What is said and drawn of the best age over the long run."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from riskmodel import charts
from riskmodel.charts.long_run import figures
from riskmodel.decision.results import LongRun, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.report.as_json import weighing_json
from riskmodel.words import long_run as words
from tests.decision.exact_case import case_of, simulated_case
from tests.words.test_wording import NEVER
from tests.words.weighings import weighing


def plain(texts: list[str]) -> str:
    return " ".join(texts).replace("\N{NO-BREAK SPACE}", " ")


@cache
def boat() -> Weighing:
    return weigh(simulated_case("work_boat"))


def of(w: Weighing) -> LongRun:
    assert w.long_run is not None
    return w.long_run


@cache
def worn(shape: float, planned: float = 100, failure: float = 2000) -> Weighing:
    return weigh(
        case_of(
            {
                "machine": {"unit": "h", "reading": 10, "usage_per_year": 100},
                "life": {"shape_prior": shape, "b50_prior": 100},
                "oil": {"interval": 50, "turnaround": 0},
                "cost": {"planned": planned, "failure": failure, "install_fault": 0},
                "plan": {"keep_usage": 100},
            }
        )
    )


def test_age_and_rate_with_their_ranges_and_how_little_the_exact_age_matters() -> None:
    told, found = plain(words.lead(boat())), of(boat())
    assert found.age is not None
    assert found.window[1] is not None
    assert "nine times in ten between" in told
    assert "per 100 h" in told
    assert "a year" in told
    assert "until it fails" in told
    assert "The exact age matters little: any between about" in told
    assert "within 5 % of the least" in told


def test_figures_said_are_those_worked_out() -> None:
    w = boat()
    found, case = of(w), w.case
    hundred = replace(found, age=1000.0, age_low=800.0, age_high=None, window=(700.0, None))
    said = plain(words.lead(replace(w, long_run=hundred)))
    assert "at about 1,000 h (nine times in ten at 800 h or later, or never)" in said
    assert "any from about 700 h on, or none at all" in said
    assert f"{round(100 * found.cost.value, -0):,.0f} per 100 h" in said
    assert plain([words.rate(case, 1.234)]).endswith("123 per 100 h")


@pytest.mark.parametrize("shape", [0.7, 1.0])
def test_a_part_that_does_not_wear(shape: float) -> None:
    w = worn(shape)
    told = plain(words.lead(w))
    assert told.startswith("Over the long run, never replace such parts for their age")
    assert "no likelier to last than an old one" in told
    assert "the later, the less" in plain([words.caption(w)])
    assert figures(w)["Replaced at"].iloc[-1] == "Replaced only after a failure"


def test_a_failure_that_costs_no_more_than_the_job() -> None:
    assert "a failure costs no more than the job" in plain(words.lead(worn(4, 500, 500)))


def test_convention_and_chance_are_told() -> None:
    told = plain(words.details(boat()))
    assert "for ever, and no money is discounted" in told
    assert "no advice on the part that is in now" in told
    assert "no limit to trust a part up to" in told
    assert "are not." in told


@pytest.mark.parametrize("shape", [None, 0.7, 3])
def test_no_word_calls_a_part_what_nobody_can_know(shape: float | None) -> None:
    w = boat() if shape is None else worn(shape)
    for text in (*words.lead(w), *words.details(w), words.caption(w), words.TITLE, *words.KEY):
        assert not NEVER.search(text)
        assert "None" not in text
        assert "inf" not in text.split()


def test_nothing_beside_symptoms_or_where_none_was_worked_out() -> None:
    w = weighing()
    assert w.long_run is None
    assert words.lead(w) == words.details(w) == []
    assert charts.long_run(w) is None
    assert figures(w).empty
    assert weighing_json(w)["long_run"] is None


def test_the_table_holds_the_best_age_in_its_place() -> None:
    frame = figures(boat())
    named = [text for text in frame["Replaced at"] if text.endswith(words.BEST_LABEL)]
    assert len(named) == 1
    ages = [
        float(text.split("\N{NO-BREAK SPACE}")[0].replace(",", ""))
        for text in frame["Replaced at"].iloc[:-1]
    ]
    assert ages == sorted(ages)


def test_the_chart_draws_window_band_line_and_best_age() -> None:
    spec = charts.long_run(boat())
    assert spec is not None
    found = of(boat())
    marks = [layer["mark"]["type"] for layer in spec["layer"]]
    assert marks[:3] == ["rect", "area", "line"]
    window = spec["layer"][0]["data"]["values"][0]
    assert (window["x"], window["high"]) == found.window
    point = next(layer for layer in spec["layer"] if layer["mark"]["type"] == "point")
    assert point["data"]["values"][0]["x"] == found.age
    assert spec["description"] == words.caption(boat())
    assert charts.long_run(worn(0.7)) is not None


def test_json_holds_the_contract() -> None:
    found = of(boat())
    told = weighing_json(boat())["long_run"]
    assert told["age"] == found.age
    assert told["cost_per_unit"] == found.cost.value
    assert told["cost_per_unit_low"] <= told["cost_per_unit"] <= told["cost_per_unit_high"]
    assert told["within_5_percent"] == {"from": found.window[0], "to": found.window[1]}
    assert told["never"]["cost_per_unit"] > told["cost_per_unit"]
    year = boat().case.machine.usage_per_year
    assert told["cost_per_year"] == pytest.approx(year * told["cost_per_unit"])
    assert weighing_json(worn(0.7))["long_run"]["age"] is None
