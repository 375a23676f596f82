"""The charts of life: valid, complete, saying the same as the figures behind them."""

from __future__ import annotations

import math
from typing import Any

import altair as alt
import numpy as np
import pytest

from riskmodel import charts
from riskmodel.charts import life_tables
from riskmodel.charts.life_curve import steps
from riskmodel.charts.life_labels import Box, Line, places
from riskmodel.charts.style import Spec
from riskmodel.words import formats, screen
from tests.page.test_charts import layers, rows
from tests.words.life_cases import CASES, learned_of


def every_chart(name: str) -> dict[str, Spec]:
    case, learnt = learned_of(name)
    drawn = {
        "curve": charts.life_curve(case, learnt),
        "paper": charts.probability_plot(case, learnt),
        "effects": charts.effects(case, learnt),
    }
    return {name: spec for name, spec in drawn.items() if spec is not None}


def numbers(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [x for entry in value.values() for x in numbers(entry)]
    if isinstance(value, list):
        return [x for entry in value for x in numbers(entry)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("name", CASES)
def test_every_chart_is_a_valid_specification_with_a_text_alternative(name: str) -> None:
    for spec in every_chart(name).values():
        alt.LayerChart.from_dict(spec, validate=True)  # the published Vega-Lite schema
        assert len(spec["description"]) > 60
        assert all(math.isfinite(x) for x in numbers(spec)), "JSON has no infinity"


def test_what_there_is_nothing_to_draw_of_is_not_drawn() -> None:
    assert set(every_chart("road car")) == {"curve", "paper", "effects"}
    assert set(every_chart("few")) == {"curve", "paper"}
    assert set(every_chart("no failure")) == {"curve"}
    assert set(every_chart("no records")) == {"curve"}


def drawn_lines(name: str) -> dict[str, tuple[list[float], list[float]]]:
    """Lines of the life curve by how they are drawn."""
    found = {}
    for line in layers(every_chart(name)["curve"], "line"):
        mark = line["mark"]
        kind = f"{mark['strokeWidth']} {mark.get('strokeDash', '')}"
        found[kind] = ([row["x"] for row in rows(line)], [row["y"] for row in rows(line)])
    return found


@pytest.mark.parametrize("name", ["road car", "working boat", "late entry", "conflict"])
def test_the_curves_are_those_that_were_learned(name: str) -> None:
    _, learnt = learned_of(name)
    lines = drawn_lines(name)
    for kind, known in (
        ("3 ", learnt.both),
        ("2 [6, 4]", learnt.by_records),
        ("2 [2, 3]", learnt.by_belief),
    ):
        if known.curve is None:
            assert kind not in lines
            continue
        assert lines[kind][0] == known.curve.age.tolist()
        assert lines[kind][1] == (100 * known.curve.failed).tolist()
    (band,) = layers(every_chart(name)["curve"], "area")
    assert learnt.both.curve is not None
    assert [row["low"] for row in rows(band)] == (100 * learnt.both.curve.low).tolist()
    assert [row["high"] for row in rows(band)] == (100 * learnt.both.curve.high).tolist()


@pytest.mark.parametrize("name", ["road car", "late entry", "intervals", "few"])
def test_the_observed_curve_passes_through_each_rise(name: str) -> None:
    _, learnt = learned_of(name)
    seen = learnt.observed
    assert seen is not None
    x, y = steps(seen)
    assert (np.diff(x) >= 0).all()
    assert (np.diff(y) >= 0).all()
    corners = set(zip(x.tolist(), y.tolist(), strict=True))
    assert set(zip(seen.age.tolist(), seen.failed.tolist(), strict=True)) <= corners
    assert x[0] == min(seen.from_age, seen.since[0])
    assert y[0] == 0
    assert drawn_lines(name)["1.5 "][1] == (100 * y).tolist()


def test_each_line_of_the_curve_differs_in_more_than_colour() -> None:
    assert len(drawn_lines("working boat")) == 4
    names = [screen.OBSERVED_LINE, screen.FITTED_LINE, screen.BY_RECORDS_LINE]
    assert len({name.rpartition("(")[2] for name in [*names, screen.BY_BELIEF_LINE]}) == 4


@pytest.mark.parametrize("name", CASES)
def test_every_curve_is_named_beside_it_or_above_the_chart(name: str) -> None:
    spec = every_chart(name)["curve"]
    case, learnt = learned_of(name)
    texts = [row["text"] for text in layers(spec, "text") for row in rows(text)]
    told = " ".join([*texts, *spec["title"]["subtitle"]])
    wanted = [screen.this_engine(case, learnt.age)]
    wanted.append(screen.FITTED_LINE if case.records is not None else screen.BELIEF_ONLY_LINE)
    wanted += [screen.BY_RECORDS_LINE] if learnt.by_records.curve is not None else []
    for text in wanted:
        assert told.count(text) == 1


@pytest.mark.parametrize("name", CASES)
def test_everything_of_the_curve_lies_within_its_axes(name: str) -> None:
    spec = every_chart(name)["curve"]
    (low, high), (floor, top) = (spec["encoding"][axis]["scale"]["domain"] for axis in "xy")
    for layer in spec["layer"]:
        for row in rows(layer):
            assert low <= row["x"] <= high + 1e-6
            assert all(floor <= row[key] <= top for key in ("y", "low", "high") if key in row)


def test_names_keep_clear_of_lines_and_of_each_other() -> None:
    x = np.linspace(0, 100, 51)
    two = {"upper": Line(x, 0.9 * x), "lower": Line(x, 0.5 * x)}
    found = places(two, [], [], (0, 100), (0, 100))
    assert set(found) == {"upper", "lower"}
    for name, place in found.items():
        assert place.y == pytest.approx(float(np.interp(place.x, two[name].x, two[name].y)))
    assert places(two, [], [Box(0, 300, 0, 270)], (0, 100), (0, 100)) == {}
    crowd = [Line(x, np.full(51, y)) for y in np.arange(0.0, 100.0, 4)]
    assert set(places(two, crowd, [], (0, 100), (0, 100))) == {"upper", "lower"}, "faint lines"


@pytest.mark.parametrize("name", ["road car", "working boat", "late entry", "levels"])
def test_weibull_paper_holds_points_and_line_at_their_ages(name: str) -> None:
    _, learnt = learned_of(name)
    plot, spec = learnt.plot, every_chart(name)["paper"]
    assert plot is not None
    (points,) = (rows(layer) for layer in layers(spec, "point"))
    (line,) = (rows(layer) for layer in layers(spec, "line"))
    assert [row["x"] for row in points] == pytest.approx(np.exp(plot.x).tolist())
    assert [row["y"] for row in points] == plot.y.tolist()
    assert [row["x"] for row in line] == pytest.approx(np.exp(plot.line_x).tolist())
    assert [row["y"] for row in line] == plot.line_y.tolist()
    bars = [len(rows(layer)) for layer in layers(spec, "rule")]
    assert bars == ([] if plot.low is None else [len(plot.x)])


@pytest.mark.parametrize("name", ["road car", "working boat", "few", "late entry", "conflict"])
def test_the_axes_of_weibull_paper_tell_ages_and_shares(name: str) -> None:
    spec = every_chart(name)["paper"]
    across, up = spec["encoding"]["x"], spec["encoding"]["y"]
    assert across["scale"]["type"] == "log"
    for axis in (across, up):
        low, high = axis["scale"]["domain"]
        marks = axis["axis"]["values"]
        assert len(marks) >= 2
        assert all(low <= mark <= high for mark in marks)
    shares = [100 * (1 - math.exp(-math.exp(mark))) for mark in up["axis"]["values"]]
    for share in shares:
        assert share == pytest.approx(float(f"{share:.3g}")), "a round share"
    width = math.log(across["scale"]["domain"][1] / across["scale"]["domain"][0])
    ages = np.log(across["axis"]["values"])
    assert (np.diff(ages) >= 0.2 * width - 1e-9).all(), "room for the figures on a phone"


def test_points_known_only_between_two_ages_show_how_far_apart() -> None:
    _, learnt = learned_of("intervals")
    spec, seen = every_chart("intervals")["paper"], learnt.observed
    assert seen is not None
    (spans,) = (rows(layer) for layer in layers(spec, "rule"))
    ends = dict(zip(seen.age.tolist(), seen.since.tolist(), strict=True))
    for row in spans:
        age = min(ends, key=lambda end: abs(end - row["end"]))
        assert row["end"] == pytest.approx(age)
        assert row["x"] == pytest.approx(
            max(ends[age], spec["encoding"]["x"]["scale"]["domain"][0])
        )
    assert "thin lines: failed between two ages" in spec["title"]["subtitle"]


def test_the_effects_are_drawn_as_they_were_found() -> None:
    _, learnt = learned_of("road car")
    assert learnt.effects is not None
    assert learnt.effects.fit is not None
    spec = every_chart("road car")["effects"]
    (dots,) = (
        rows(layer) for layer in layers(spec, "point") if layer["mark"]["shape"] == "diamond"
    )
    bars = next(rows(layer) for layer in layers(spec, "rule") if "row" in rows(layer)[0])
    for term, dot, bar in zip(learnt.effects.fit.terms, dots, bars, strict=True):
        assert dot["row"] == bar["row"] == screen.effect_row(term)
        assert dot["x"] == term.factor.estimate
        assert (bar["x"], bar["end"]) == (term.factor.low, term.factor.high)
    assert 1.0 in spec["encoding"]["x"]["axis"]["values"]
    assert [row["row"] for row in dots] == spec["encoding"]["y"]["sort"]


def test_an_interval_without_an_end_ends_in_an_arrow() -> None:
    spec = every_chart("levels")["effects"]
    edge = spec["encoding"]["x"]["scale"]["domain"][1]
    (arrows,) = (
        rows(layer) for layer in layers(spec, "point") if layer["mark"]["shape"] == "triangle"
    )
    assert [(row["x"], row["angle"]) for row in arrows] == [(edge, 90)]
    assert arrows[0]["row"].startswith("Kind of use: motorway")
    texts = [row["text"] for text in layers(spec, "text") for row in rows(text)]
    assert any(text.startswith("at least") for text in texts)


def test_the_tables_tell_the_figures_found() -> None:
    case, learnt = learned_of("working boat")
    assert learnt.choice is not None
    assert learnt.both.curve is not None
    assert learnt.observed is not None
    sources = life_tables.sources(case, learnt)
    assert list(sources["In brackets"]) == [
        "19 times in 20 within",
        "nine times in ten within",
        "nine times in ten within",
    ]
    distributions = life_tables.distributions(learnt)
    aic = [float(value) for value in distributions.iloc[:, 1]]
    assert aic == sorted(round(fit.aic, 1) for fit in learnt.choice.fits)
    curves = life_tables.curves(case, learnt)
    assert curves.iloc[-1, 0] == f"by {formats.usage(float(learnt.both.curve.age[-1]), 'h')}"
    assert curves.iloc[0, 2] == "0"
    observed = life_tables.observed(case, learnt)
    ages = learnt.observed.age.tolist()
    assert list(observed.iloc[:, 0]) == [f"by {formats.usage(age, 'h')}" for age in ages]
    effects = life_tables.effects(learnt)
    assert list(effects["Times as long"]) == ["1.20", "0.78"]


@pytest.mark.parametrize("name", CASES)
def test_no_table_shows_a_name_of_the_program_or_a_missing_figure(name: str) -> None:
    case, learnt = learned_of(name)
    for frame in (
        life_tables.sources(case, learnt),
        life_tables.distributions(learnt),
        life_tables.curves(case, learnt),
        life_tables.observed(case, learnt),
        life_tables.effects(learnt),
    ):
        for column in frame.columns:
            assert "_" not in str(column)
            assert str(column)[0].isupper() or str(column)[0].isdigit()
        for text in frame.to_numpy().ravel().tolist():
            assert "nan" not in text
            assert "None" not in text
            assert "_" not in text
