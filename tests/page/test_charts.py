"""The charts: valid, complete, saying the same as the figures behind them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import altair as alt
import pytest

from riskmodel import charts
from riskmodel.charts import style, tables
from riskmodel.charts.engines import FAILS, LASTS, MAY_FAIL, icon_states
from riskmodel.charts.style import Spec
from riskmodel.decision.results import Interval, Weighing
from riskmodel.words import formats
from tests.words.weighings import plain_case, weighing, with_values

MANY = tuple(6000.0 - 40 * i + 3 * i * i for i in range(16))
MANY_RISKS = tuple(0.04 + 0.02 * i for i in range(16))


def every_chart(w: Weighing) -> dict[str, Spec]:
    drawn = {
        "trade-off": charts.trade_off(w),
        "costs": charts.plan_costs(w),
        "chances": charts.plan_chances(w),
        "ahead": charts.ahead(w),
        "engines": charts.engines(w.risk[0].chance, "before the next oil change"),
    }
    return {name: spec for name, spec in drawn.items() if spec is not None}


CASES = {
    "plain": weighing(),
    "no crossing": weighing(crosses=False),
    "many plans": weighing(costs=MANY, failures=MANY_RISKS),
    "tiny chance": weighing(chance=0.0004),
    "hours": weighing(plain_case("h")),
    "no currency": weighing(with_values(plain_case(), "cost", currency="")),
}


@pytest.mark.parametrize("w", CASES.values(), ids=CASES.keys())
def test_every_chart_is_a_valid_specification_with_a_text_alternative(w: Weighing) -> None:
    for spec in every_chart(w).values():
        alt.LayerChart.from_dict(spec, validate=True)  # the published Vega-Lite schema
        assert len(spec["description"]) > 20


def layers(spec: Spec, mark: str) -> Iterator[Spec]:
    return (layer for layer in spec["layer"] if layer["mark"]["type"] == mark)


def rows(layer: Spec) -> list[dict[str, Any]]:
    values: list[dict[str, Any]] = layer["data"]["values"]
    return values


def test_the_crossing_lies_on_both_lines_and_the_engine_on_that_of_waiting() -> None:
    w = weighing()
    spec = charts.trade_off(w)
    assert spec is not None
    now, wait = (rows(line) for line in layers(spec, "line"))
    ring, engine = (rows(point)[0] for point in layers(spec, "point"))

    def on(line: list[dict[str, Any]], x: float) -> float:
        (a, b) = line
        height: float = a["y"] + (b["y"] - a["y"]) * (x - a["x"]) / (b["x"] - a["x"])
        return height

    assert on(now, ring["x"]) == pytest.approx(ring["y"])
    assert on(wait, ring["x"]) == pytest.approx(ring["y"])
    assert on(wait, engine["x"]) == pytest.approx(engine["y"])
    assert w.trade_off is not None
    assert engine["y"] == pytest.approx(w.trade_off.wait.value)


@pytest.mark.parametrize("chance", [0.002, 0.03, 0.06, 0.2, 0.7])
def test_everything_of_the_trade_off_lies_within_its_axes(chance: float) -> None:
    spec = charts.trade_off(weighing(chance=chance))
    assert spec is not None
    most = spec["encoding"]["x"]["scale"]["domain"][1]
    floor, top = spec["encoding"]["y"]["scale"]["domain"]
    for layer in spec["layer"]:
        for row in rows(layer):
            assert 0 <= row["x"] <= most
            assert row.get("high", 0) <= most
            assert floor <= row["y"] <= top


def test_the_two_lines_differ_in_more_than_colour() -> None:
    spec = charts.trade_off(weighing())
    assert spec is not None
    now, wait = layers(spec, "line")
    assert "strokeDash" not in now["mark"]
    assert wait["mark"]["strokeDash"]


def test_the_marks_of_costs_and_of_failures_differ_in_more_than_colour() -> None:
    w = weighing()
    shapes = [
        {layer["mark"]["shape"] for layer in layers(spec, "point")}
        for spec in (charts.plan_costs(w), charts.plan_chances(w))
    ]
    assert not shapes[0] & shapes[1]


def luminance(colour: str) -> float:
    parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("colour", [style.INK, style.QUIET, style.COST, style.RISK])
def test_what_is_written_stands_out_from_its_ground(colour: str) -> None:
    """Contrast of at least 4.5 to 1, WCAG 2.2, success criterion 1.4.3."""
    for ground in ("#ffffff", style.BAND, style.HIGHLIGHT):
        contrast = (luminance(ground) + 0.05) / (luminance(colour) + 0.05)
        assert contrast >= 4.5


def test_few_plans_are_all_shown() -> None:
    assert charts.shown_plans(weighing()) == [0, 1, 2, 3, 4, 5]


def test_of_many_plans_the_ends_the_verdict_and_an_even_choice_are_shown() -> None:
    w = weighing(costs=MANY, failures=MANY_RISKS)
    shown = charts.shown_plans(w)
    assert len(shown) == 9
    assert shown == sorted(set(shown))
    assert {0, 1, w.recommended, 15} <= set(shown)
    assert max(b - a for a, b in pairwise(shown)) <= 4


@pytest.mark.parametrize(
    ("chance", "fails", "may"),
    [
        (Interval(0.06, 0.04, 0.08), 6, 2),
        (Interval(0.004, 0.001, 0.008), 0, 1),
        (Interval(0.0, 0.0, 0.0), 0, 0),
        (Interval(0.999, 0.99, 1.0), 100, 0),
    ],
)
def test_there_are_always_a_hundred_engines(chance: Interval, fails: int, may: int) -> None:
    states = icon_states(chance)
    assert len(states) == 100
    assert states.count(FAILS) == fails
    assert states.count(MAY_FAIL) == may
    assert states == sorted(states, key=[FAILS, MAY_FAIL, LASTS].index), "grouped"


def test_the_icons_their_table_and_the_sentence_agree() -> None:
    chance = Interval(0.06, 0.04, 0.08)
    spec = charts.engines(chance, "before the next oil change")
    drawn = [len(rows(layer)) for layer in spec["layer"]]
    assert drawn == list(tables.engines(chance)["Of 100"]) == [6, 2, 92]
    assert "about 6 of 100" in spec["description"]
    assert "as many as 8" in spec["description"]


def test_the_table_of_plans_shows_what_the_charts_draw() -> None:
    w = weighing()
    frame = tables.plans(w)
    (estimates,) = (layer for layer in layers(charts.plan_chances(w), "point"))
    for row, shown in zip(rows(estimates), frame["Failures of 100"], strict=True):
        assert str(shown).startswith(str(formats.count_of_100(row["value"] / 100)))
    assert frame["Plan"].iloc[0] == "Replace now"
    assert frame["Plan"].iloc[-1] == "Never replace while you keep it"


def test_the_table_of_the_trade_off_has_equal_costs_where_they_cross() -> None:
    frame = tables.trade_off(weighing()).set_index("At")
    cross = frame.loc["Where the costs cross"]
    assert cross["Cost of replacing now"] == cross["Cost of waiting"]


def test_the_table_of_the_chance_ahead_starts_at_nothing_and_grows() -> None:
    w = weighing()
    frame = tables.ahead(w)
    assert len(frame) == 13
    assert frame.iloc[0, 1] == "0"
    assert str(frame.iloc[-1, 0]) == formats.number(w.keep)


def test_no_table_shows_a_name_of_the_program() -> None:
    w = weighing()
    frames = [tables.plans(w), tables.trade_off(w), tables.ahead(w)]
    frames.append(tables.engines(w.risk[0].chance))
    for frame in frames:
        for column in frame.columns:
            assert "_" not in str(column)
            assert str(column)[0].isupper()


def test_symptoms_leave_nothing_to_trade_off() -> None:
    case = with_values(plain_case(), "machine", symptoms=("knock",))
    assert charts.trade_off(weighing(case)) is None
