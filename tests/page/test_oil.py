"""What the oil says, on the page between the answer and the records; its charts."""

from __future__ import annotations

import math
from functools import cache
from html import escape

import altair as alt
import numpy as np
import pytest

from riskmodel import charts
from riskmodel.charts import oil_tables
from riskmodel.charts.oil_factor import FactorCurve
from riskmodel.charts.oil_rates import symbols
from riskmodel.charts.style import Spec
from riskmodel.decision.weigh import weigh
from riskmodel.oil.limits import own_limits
from riskmodel.oil.mass_balance import wear_rates
from riskmodel.page.examples import example
from riskmodel.records.archive import case_to_zip
from riskmodel.records.case import Case
from riskmodel.risk.oil_look import OilLook, oil_look
from riskmodel.words import oil as words
from riskmodel.words import screen
from tests.oil.made import case_with_oil, element
from tests.page.conftest import Page
from tests.page.test_charts import layers, rows
from tests.page.test_life_charts import numbers
from tests.words.test_wording import NEVER
from tests.words.weighings import weighing

CASES = ("road-car", "work-boat", "surge")


@cache
def case_of(name: str) -> Case:
    if name != "surge":
        return example(name)
    samples = [f"{10_000 * i},10000,4,{5 + i % 2}" for i in range(1, 10)]
    return case_with_oil([*samples, "98000,8000,70,60"])


@cache
def looked_at(name: str) -> tuple[OilLook, FactorCurve]:
    look, case = oil_look(case_of(name)), case_of(name)
    assert look.taken is not None
    return look, charts.factor_curve(look.taken, case.keep)


def rate_charts(name: str) -> dict[str, Spec]:
    case, (look, _) = case_of(name), looked_at(name)
    own, others = symbols(case, look.rows)
    drawn = {s: charts.oil_rates(case, look.rows, look.limits[s], s) for s in (*own, *others)}
    return {symbol: spec for symbol, spec in drawn.items() if spec is not None}


def factor_chart(name: str) -> Spec:
    return charts.oil_factor(weighing(case_of(name)), looked_at(name)[1])


def as_text(sentences: list[str]) -> list[str]:
    return [escape(text).replace("\u00a0", " ") for text in sentences]


# --- the section -------------------------------------------------------------------------------


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_both_examples_tell_what_the_oil_says(page: Page, folder: str) -> None:
    if folder != "road-car":
        page.open(folder)
    case, (look, _) = case_of(folder), looked_at(folder)
    assert look.foresight is not None
    for text in as_text(
        [
            *words.factor_sentences(weigh(case)),
            *words.rate_sentences(case, look.rows),
            *words.limit_sentences(case, look.rows, look.limits),
            *words.foresight_sentences(case, look.foresight),
            *words.sampling_well(),
        ]
    ):
        assert text in page.text
    titles = [title for title in page.headers if title in (screen.OIL_SAYS, screen.RECORDS_SAY)]
    assert titles == [screen.OIL_SAYS, screen.RECORDS_SAY]
    assert page.headers.index(screen.OIL_SAYS) > page.headers.index(screen.CHANCE)


def test_beside_a_stop_nothing_is_said_of_the_oil(page: Page) -> None:
    page.tick("A knock")
    assert screen.OIL_SAYS not in page.headers
    assert "times as likely" not in page.text


def test_without_samples_only_what_sampling_could_catch(page: Page) -> None:
    page.offer(("case.zip", case_to_zip(case_with_oil(None))))
    assert screen.NO_SAMPLES in page.text
    assert "would be caught in time" in page.text
    assert "These samples" not in page.text
    assert words.sampling_well()[0] in page.text


def test_samples_that_are_no_evidence_have_no_factor(page: Page) -> None:
    case = case_with_oil(["60000,9000,8"], "reading,oil_age,Fe", elements=[element("Fe")])
    page.offer(("case.zip", case_to_zip(case)))
    assert "in this case say nothing about the part" in page.text
    assert screen.OIL_AHEAD not in [header.value for header in page.app.main.subheader]


# --- the charts --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CASES)
def test_every_chart_is_a_valid_specification_with_a_text_alternative(name: str) -> None:
    for spec in (*rate_charts(name).values(), factor_chart(name)):
        alt.LayerChart.from_dict(spec, validate=True)  # the published Vega-Lite schema
        assert len(spec["description"]) > 60
        assert not NEVER.search(spec["description"])
        assert all(math.isfinite(x) for x in numbers(spec)), "JSON has no infinity"


@pytest.mark.parametrize("name", CASES)
def test_every_sample_is_drawn_once_where_its_rate_lies(name: str) -> None:
    look, _ = looked_at(name)
    for symbol, spec in rate_charts(name).items():
        full, hollow = layers(spec, "point")
        told = [row for row in look.rows if symbol in row.rates]
        at = {row["x"]: row["y"] for part in (full, hollow) for row in rows(part)}
        assert at == {row.age: max(row.rates[symbol].point, 0.0) for row in told}
        assert [row["x"] for row in rows(hollow)] == [row.age for row in told if not row.used]
        assert hollow["mark"]["fill"] == "white"


def test_the_break_in_of_the_boat_is_hollow() -> None:
    hollow = list(layers(rate_charts("work-boat")["Pb"], "point"))[1]
    assert [row["x"] for row in rows(hollow)] == [48.0]


@pytest.mark.parametrize("name", CASES)
def test_each_sample_stands_under_the_limit_it_was_held_against(name: str) -> None:
    look, _ = looked_at(name)
    for symbol, spec in rate_charts(name).items():
        limit = look.limits[symbol]
        assert limit is not None
        dashed = next(r for r in layers(spec, "rule") if "strokeDash" in r["mark"])
        against = {row["to"]: row["y"] for row in rows(dashed)}
        for row, level in zip(look.rows, limit.against, strict=True):
            if np.isfinite(level):
                assert against[row.age] == level
        named = [t for t in layers(spec, "text") if rows(t)[0]["text"] == screen.OIL_ABOVE]
        assert [rows(t)[0]["x"] for t in named] == [look.rows[i].age for i in limit.above]


def test_the_name_of_the_limit_makes_room_for_the_word_beside_a_sample() -> None:
    """On the right, unless a sample there lies barely above the limit."""
    before = [f"{10_000 * i},10000,{4 + i % 2},5" for i in range(1, 10)]
    sides = []
    for reading in range(4, 15):
        case = case_with_oil([*before, f"98000,8000,{reading},5"])
        samples = wear_rates(case)
        limit = own_limits(samples, 0.02)["Pb"]
        spec = charts.oil_rates(case, samples, limit, "Pb")
        assert limit is not None
        assert spec is not None
        (name,) = [t for t in layers(spec, "text") if rows(t)[0]["text"] == screen.OIL_LIMIT]
        sides.append((bool(limit.above), name["mark"]["align"]))
    assert sides[0] == (False, "right")
    assert sides[sum(not above for above, _ in sides)] == (True, "left"), "the first one above"


def test_metals_of_the_part_are_told_from_others_by_a_word_and_not_by_colour_alone() -> None:
    drawn = rate_charts("road-car")
    said = {symbol: spec["title"]["subtitle"][0] for symbol, spec in drawn.items()}
    assert {s for s, text in said.items() if text == screen.OIL_FROM_PART} == {"Pb", "Cu", "Sn"}
    assert said["Fe"] == said["Si"] == screen.OIL_NOT_FROM_PART


@pytest.mark.parametrize("name", CASES)
def test_the_factor_is_that_of_the_history_and_lies_in_its_band(name: str) -> None:
    look, curve = looked_at(name)
    assert look.taken is not None
    assert curve.age[0] == look.taken.today
    assert curve.age[-1] == pytest.approx(look.taken.today + case_of(name).keep)
    some = curve.age[::12]
    assert curve.factor[::12] == pytest.approx(look.taken.factor(some))
    assert (curve.low <= curve.factor).all()
    assert (curve.factor <= curve.high).all()
    silent = look.taken.silent
    assert (curve.low >= silent.low - 1e-12).all(), "silent failures stay as likely as they were"


@pytest.mark.parametrize("name", CASES)
def test_the_factor_is_drawn_on_a_scale_of_ratios_with_one_marked(name: str) -> None:
    spec, (_, curve) = factor_chart(name), looked_at(name)
    scale = spec["encoding"]["y"]["scale"]
    assert scale["type"] == "log"
    assert scale["domain"][0] <= min(0.5, curve.low.min())
    assert scale["domain"][1] >= max(2.0, curve.high.max())
    assert len(spec["encoding"]["y"]["axis"]["values"]) >= 3
    assert [row["y"] for row in rows(next(layers(spec, "rule")))] == [1.0]


# --- the figures behind them -------------------------------------------------------------------


@pytest.mark.parametrize("name", CASES)
def test_the_tables_hold_every_sample_and_no_placeholder(name: str) -> None:
    case, (look, curve) = case_of(name), looked_at(name)
    frame = oil_tables.rates(case, look.rows, look.limits)
    assert len(frame) == len(look.rows) + 1
    factor = oil_tables.factor(case, curve)
    said = " ".join([*frame.astype(str).to_numpy().ravel(), *factor.to_numpy().ravel()])
    assert "nan" not in said
    assert "None" not in said


def test_the_table_names_the_laboratories_where_there_are_several() -> None:
    samples = [f"{10_000 * i},10000,4,{5 + i % 2},{'A' if i < 4 else 'B'}" for i in range(1, 6)]
    case = case_with_oil(samples, "reading,oil_age,Pb,Cu,lab")
    look = oil_look(case)
    frame = oil_tables.rates(case, look.rows, look.limits)
    assert frame["Laboratory"].tolist() == ["A", "A", "A", "B", "B", ""]
    look = looked_at("road-car")[0]
    assert "Laboratory" not in oil_tables.rates(case_of("road-car"), look.rows, look.limits)


def test_a_sample_that_does_not_count_says_so_in_the_table() -> None:
    case, (look, _) = case_of("work-boat"), looked_at("work-boat")
    assert oil_tables.rates(case, look.rows, look.limits)["Counts"].tolist()[:2] == [
        "no: running in",
        "yes",
    ]
