"""The charts: valid, complete, saying the same as the figures behind them."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import altair as alt
import numpy as np
import pytest

from riskmodel import charts, page
from riskmodel.charts import style, tables
from riskmodel.charts.ahead import LABEL
from riskmodel.charts.engines import FAILS, LASTS, MAY_FAIL, icon_states
from riskmodel.charts.style import Spec
from riskmodel.decision.results import Ahead, Interval, Weighing
from riskmodel.page.serve import script
from riskmodel.words import formats, screen
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


@pytest.mark.parametrize(("lasts", "now"), [(900.0, 2740.0), (3170.0, 3630.0), (60.0, 9000.0)])
def test_no_line_of_the_trade_off_runs_through_the_label_of_the_engine(
    lasts: float, now: float
) -> None:
    w = weighing(chance=0.04)
    assert w.trade_off is not None
    trade = replace(
        w.trade_off,
        now=Interval(now, now, now),
        if_lasts=lasts,
        if_fails=lasts + 9000,
        break_even_chance=(now - lasts) / 9000,
    )
    spec = charts.trade_off(replace(w, trade_off=trade))
    assert spec is not None
    low, high = spec["encoding"]["y"]["scale"]["domain"]
    (label,) = [
        rows(text)[0] for text in layers(spec, "text") if "this engine" in str(rows(text)[0])
    ]
    for line in layers(spec, "line"):
        (a, b) = rows(line)
        at = a["y"] + (b["y"] - a["y"]) * (label["x"] - a["x"]) / (b["x"] - a["x"])
        assert abs(at - label["y"]) > 0.08 * (high - low)


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


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio"."""
    low, high = sorted(luminance({"white": "#ffffff"}.get(each, each)) for each in (one, other))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colour", [style.INK, style.QUIET, style.COST, style.RISK])
def test_what_is_written_stands_out_from_its_ground(colour: str) -> None:
    """Contrast of at least 4.5 to 1, WCAG 2.2, success criterion 1.4.3; so too in the dark."""
    for ground in (style.PAPER, style.BAND, style.HIGHLIGHT):
        assert contrast(ground, colour) >= 4.5
        assert contrast(style.DARK[ground], style.DARK[colour]) >= 4.5


@pytest.mark.parametrize(
    ("mark", "ground"),
    [
        (style.COST, style.COST_BAND),
        (style.RISK, style.RISK_BAND),
        (style.INK, style.RISK_BAND),
        (style.COST, style.PAPER),
        (style.RISK, style.PAPER),
    ],
)
def test_marks_stand_out_from_their_bands(mark: str, ground: str) -> None:
    """At least 3 to 1, WCAG 2.2, success criterion 1.4.11, by day and by night."""
    assert contrast(mark, ground) >= 3
    assert contrast(style.DARK[mark], style.DARK[ground]) >= 3


def seen_without(cone: str, colour: str) -> tuple[float, float, float]:
    """A colour as it looks to an eye without one kind of cone.

    Linear RGB matrices at full severity of Machado, Oliveira and Fernandes (2009), "A
    physiologically-based model for simulation of color vision deficiency"; recalled from memory.
    """
    matrices = {
        "red": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216),
                (-0.003882, -0.048116, 1.051998)),
        "green": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413),
                  (-0.011820, 0.042940, 0.968881)),
    }  # fmt: skip
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    red, green, blue = (
        sum(weight * part for weight, part in zip(row, linear, strict=True))
        for row in matrices[cone]
    )
    return red, green, blue


@pytest.mark.parametrize("cone", ["red", "green"])
@pytest.mark.parametrize("night", [False, True])
def test_cost_and_failure_differ_for_a_colour_blind_eye(cone: str, night: bool) -> None:
    """One is yellowish, the other bluish, to an eye without red or green cones; shapes and dashes
    differ besides. The margin is a judgement."""
    pair = (style.COST, style.RISK)
    cost, risk = (seen_without(cone, style.DARK[each] if night else each) for each in pair)
    assert cost[2] - cost[0] > 0.1
    assert risk[0] - risk[2] > 0.1


def colours_of(spec: object) -> set[str]:
    """Every colour that a specification names."""
    if isinstance(spec, dict):
        return set().union(*(colours_of(part) for part in spec.values()), set())
    if isinstance(spec, list | tuple):
        return set().union(*(colours_of(part) for part in spec), set())
    named = isinstance(spec, str) and (spec == "white" or re.fullmatch(r"#[0-9a-fA-F]{6}", spec))
    return {str(spec)} if named else set()


def test_the_style_sheet_swaps_every_colour_of_the_charts_in_the_dark() -> None:
    sheet = (Path(page.__file__).parent / "style.css").read_text(encoding="utf-8")
    for light, dark in style.DARK.items():
        for channel in ("fill", "stroke"):
            rule = f'[{channel}="{light}"] {{ {channel}: light-dark({light}, {dark}); }}'
            assert rule in sheet
    drawn = colours_of([list(every_chart(w).values()) for w in CASES.values()])
    assert style.INK in drawn
    assert drawn <= set(style.DARK)


def test_the_page_s_own_themes_match_the_charts_by_day_and_by_night() -> None:
    themes = tomllib.loads((script().parent / ".streamlit" / "config.toml").read_text())["theme"]
    assert "base" not in themes, "the browser chooses"
    light, dark = themes["light"], themes["dark"]
    assert (light["textColor"], light["primaryColor"]) == (style.INK, style.COST)
    assert light["backgroundColor"] == "#ffffff"
    assert dark["backgroundColor"] == style.DARK[style.PAPER]
    assert (dark["textColor"], dark["primaryColor"]) == (
        style.DARK[style.INK],
        style.DARK[style.COST],
    )
    for theme in (light, dark):
        for ground in (theme["backgroundColor"], theme["secondaryBackgroundColor"]):
            assert contrast(theme["textColor"], ground) >= 7
            assert contrast(theme["primaryColor"], ground) >= 4.5


def test_no_chart_module_has_a_colour_of_its_own() -> None:
    for path in Path(charts.__file__).parent.glob("*.py"):
        if path.name != "style.py":
            found = re.findall(r"#[0-9a-fA-F]{6}|\"(?:white|black)\"", path.read_text("utf-8"))
            assert not found, path.name


def test_the_chances_ahead_are_written_clear_of_the_axis() -> None:
    """Left of its mark a chance is written only where there is room for it."""
    for w in CASES.values():
        for layer in layers(charts.ahead(w), "text"):
            if layer["mark"]["align"] == "right" and layer["mark"].get("fontWeight") == "bold":
                assert all(row["x"] >= LABEL * w.keep for row in rows(layer))


@pytest.mark.parametrize(("share", "align"), [(0.3, "left"), (0.7, "left"), (0.9, "right")])
def test_the_words_at_the_year_stand_on_the_side_that_has_room(share: float, align: str) -> None:
    w = weighing()
    year = share * w.keep
    spec = charts.ahead(replace(w, case=with_values(w.case, "machine", usage_per_year=year)))
    [mark] = [
        each["mark"]
        for each in spec["layer"]
        if any(row.get("text") == screen.ONE_YEAR_MARK for row in each["data"]["values"])
    ]
    assert mark["align"] == align


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


def test_a_bad_case_below_the_average_is_explained() -> None:
    """With so few failures nineteen in twenty pay for the job alone."""
    w = weighing()
    assert "below the average" not in tables.plans_note(w)
    first = replace(w.plans[0], bad_case=0.9 * w.plans[0].cost.value)
    assert "below the average" in tables.plans_note(replace(w, plans=(first, *w.plans[1:])))


def test_the_table_of_the_trade_off_has_equal_costs_where_they_cross() -> None:
    frame = tables.trade_off(weighing()).set_index("At")
    cross = frame.loc["Where the costs cross"]
    assert cross["Cost of replacing now"] == cross["Cost of waiting"]


def test_the_table_of_the_chance_ahead_starts_at_nothing_and_grows() -> None:
    w = weighing()
    frame = tables.ahead(w)
    assert len(frame) == 13
    assert frame.iloc[0, 1] == "0"
    assert str(frame.iloc[-1, 0]) == formats.usage(w.keep, "km")


@pytest.mark.parametrize("points", [2, 13, 20, 41, 61, 100])
def test_the_table_of_the_chance_ahead_goes_to_the_end_however_many_points(points: int) -> None:
    w = weighing()
    usage = np.linspace(0.0, 34_500.0, points)
    ahead = Ahead(usage, usage / 1e5, usage / 2e5, usage / 0.6e5)
    told = tables.ahead(replace(w, ahead=ahead))["Usage from now"]
    assert told.iloc[-1] == formats.usage(34_500.0, "km")
    assert told.is_unique
    assert len(told) <= 25


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
