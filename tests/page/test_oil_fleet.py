"""Other engines' samples and linings on the page: shown, brought in, kept, taken back."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace
from functools import cache
from html import escape

import altair as alt
import pytest

from riskmodel import charts
from riskmodel.charts import oil_tables
from riskmodel.charts.oil_rates import DOTS, near
from riskmodel.charts.style import Spec
from riskmodel.oil.linings import LININGS, starting_elements
from riskmodel.page import oil_fleet as page_of_fleet
from riskmodel.page import state
from riskmodel.page.examples import example
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.files import changed
from riskmodel.risk.oil_look import OilLook, oil_look
from riskmodel.words import oil_fleet as words
from riskmodel.words import oil_fleet_limits as limits
from riskmodel.words import oil_linings, screen
from tests.oil.made import case_with_oil
from tests.page.conftest import Page
from tests.page.test_charts import layers, rows

FLEET = b"engine,age,oil_age,Pb,Cu,Sn,Fe,Si\n" + b"".join(
    f"{name},{8000 * i + 12000},8000,{3 + i},{4 + i % 2},1,{9 + i},5\n".encode()
    for name in ("a", "b", "c")
    for i in range(4)
)


@cache
def boat() -> tuple[Case, OilLook]:
    case = example("work-boat")
    return case, oil_look(case)


def rate_chart(symbol: str) -> Spec:
    case, look = boat()
    others = page_of_fleet.drawn(look, symbol)
    spec = charts.oil_rates(case, look.rows, look.limits[symbol], symbol, others)
    assert spec is not None
    return spec


def dotted(spec: Spec) -> list[float]:
    found = [rule for rule in layers(spec, "rule") if rule["mark"].get("strokeDash") == DOTS]
    return [row["y"] for rule in found for row in rows(rule)]


def open_bring(page: Page) -> None:
    opened = page.app.session_state[state.OPENED]
    page.app.session_state[f"fleet.bring#{opened}"] = True
    page.run()


def choose(page: Page, name: str) -> None:
    """A lining from the list."""
    box = next(box for box in page.app.selectbox if box.label == oil_linings.CHOOSE)
    box.set_value(next(one for one in LININGS if one.name == name))
    page.run()


def bring(page: Page, data: bytes, name: str = "mine.csv") -> None:
    open_bring(page)
    uploader = next(u for u in page.app.file_uploader if u.label == words.BRING_FILE)
    uploader.set_value((name, data, "text/csv"))
    page.run()


def press(page: Page, label: str) -> None:
    next(button for button in page.app.button if button.label == label).click()
    page.run()


def labels(page: Page) -> list[str]:
    return [button.label for button in page.app.button]


# --- charts ------------------------------------------------------------------------------------


@pytest.mark.parametrize("symbol", ["Pb", "Cu", "Sn", "Fe", "Si"])
def test_limits_of_other_engines_are_dotted_and_named(symbol: str) -> None:
    _, look = boat()
    spec = rate_chart(symbol)
    alt.LayerChart.from_dict(spec, validate=True)  # the published Vega-Lite schema
    assert look.fleet is not None
    every = look.fleet.elements[symbol].drawn
    shown = near(every, look.rows, look.limits[symbol], symbol)
    assert shown
    assert set(shown) <= {every[0], every[-1]}
    assert dotted(spec) == [one.limit for one in shown]
    assert spec["title"]["subtitle"][-1] == limits.key(shown)
    assert limits.described(shown) in spec["description"]
    top = spec["encoding"]["y"]["scale"]["domain"][1]
    assert all(limit < top for limit in dotted(spec))


def test_a_limit_far_above_all_else_is_not_drawn() -> None:
    case, look = boat()
    assert look.fleet is not None
    every = look.fleet.elements["Pb"].drawn
    highest = max(row.rates["Pb"].high for row in look.rows)
    far = (every[0], replace(every[-1], limit=9 * highest))
    spec = charts.oil_rates(case, look.rows, look.limits["Pb"], "Pb", far)
    assert spec is not None
    assert dotted(spec) == [every[0].limit]


def test_without_other_engines_the_chart_is_as_it_was() -> None:
    case, look = boat()
    spec = charts.oil_rates(case, look.rows, look.limits["Pb"], "Pb")
    assert spec is not None
    assert dotted(spec) == []
    assert len(spec["title"]["subtitle"]) == 2


# --- the section -------------------------------------------------------------------------------


def test_the_boat_tells_of_other_boats(page: Page) -> None:
    page.open("work-boat")
    case, look = boat()
    assert look.fleet is not None
    said = [
        *words.level_sentences(case, look.fleet),
        *limits.limit_sentences(case, look.rows, look.fleet),
        limits.CHART_KEY,
    ]
    for text in said:
        assert escape(text).replace("\u00a0", " ") in page.text
    subheaders = [header.value for header in page.app.main.subheader]
    assert words.TITLE in subheaders
    frame = oil_tables.fleet(case, look.fleet)
    assert len(frame) == 5
    assert words.TAKE_OUT not in labels(page)


def test_a_table_is_brought_in_kept_and_taken_back(page: Page) -> None:
    assert words.TITLE not in [header.value for header in page.app.main.subheader]
    page.type("Usage per year", 9_000)
    bring(page, FLEET)
    assert "In this case: 12 samples of 3 other engines." in page.text
    assert words.TITLE in [header.value for header in page.app.main.subheader]
    held = page.app.session_state["good"]
    assert held.machine.usage_per_year == 9_000  # what was changed before stays
    assert held.oil.fleet == "fleet.csv"
    saved = case_to_zip(held)
    with zipfile.ZipFile(io.BytesIO(saved)) as archive:
        assert archive.read("fleet.csv").splitlines() == FLEET.splitlines()
    assert case_from_zip(saved).fleet == held.fleet
    press(page, words.TAKE_OUT)
    assert words.TITLE not in [header.value for header in page.app.main.subheader]
    assert page.app.session_state["good"].fleet is None
    assert page.app.session_state["good"].machine.usage_per_year == 9_000


def test_faults_of_a_table_are_told_by_its_own_name_and_nothing_is_taken(page: Page) -> None:
    bring(page, FLEET.replace(b"Pb", b"Zz").replace(b"a,12000", b",12000"), "friends.csv")
    assert screen.NOT_READ in [error.value for error in page.app.error]
    assert "friends.csv" in page.text
    assert "an empty cell" in page.text
    assert "an element that case.toml declares" in page.text
    assert page.app.session_state["good"].fleet is None
    bring(page, FLEET)
    assert screen.NOT_READ not in [error.value for error in page.app.error]
    assert page.app.session_state["good"].fleet is not None


def test_a_case_that_leaves_levels_to_others_opens_with_what_they_tell(page: Page) -> None:
    case = changed(
        example("work-boat"),
        {"oil.element[1].typical": None, "oil.element[1].scatter": None},
    )
    page.offer(("case.zip", case_to_zip(case)))
    assert "The case does not state the usual level of lead (Pb)" in page.text
    held = page.app.session_state["good"]
    usual = boat()[1].fleet.elements["Pb"].usual
    assert held.oil.element[0].typical.low == pytest.approx(usual.typical.low, rel=0.005)
    assert b"12, 60" not in case_to_zip(held)
    assert case_to_zip(held) == case_to_zip(case)


def test_a_lining_taken_back_takes_the_samples_that_need_its_metals_with_it(page: Page) -> None:
    page.offer(("case.zip", case_to_zip(bare_case())))
    open_bring(page)
    assert escape(words.BRING_FIRST) in page.text
    choose(page, "aluminium-tin")
    press(page, oil_linings.FILL_IN)
    bring(page, b"engine,age,oil_age,Al,Sn\na,9000,9000,5,1\na,18000,9000,6,2\n")
    assert page.app.session_state["good"].fleet is not None
    press(page, oil_linings.TAKE_OUT)
    held = page.app.session_state["good"]
    assert (held.fleet, held.oil.element) == (None, ())


# --- linings -----------------------------------------------------------------------------------


def bare_case() -> Case:
    return case_with_oil(None, elements=[])


def test_a_case_without_metals_of_the_part_is_offered_those_of_a_lining(page: Page) -> None:
    page.offer(("case.zip", case_to_zip(bare_case())))
    assert oil_linings.TITLE in [header.value for header in page.app.main.subheader]
    assert oil_linings.FILL_IN not in labels(page)  # nothing chosen yet
    lining = next(one for one in LININGS if one.name == "aluminium-tin")
    choose(page, lining.name)
    for text in (oil_linings.lead_sentence(lining), lining.remark, oil_linings.STARTING):
        assert escape(text) in page.text
    assert "(judgement, between two limits of ASTM D5185 from memory)" in page.text
    press(page, oil_linings.FILL_IN)
    held = page.app.session_state["good"]
    assert held.oil.element == starting_elements(lining, "km")
    assert held.part.lining == "aluminium-tin"
    assert oil_linings.TITLE not in [header.value for header in page.app.main.subheader]
    assert case_from_zip(case_to_zip(held)) == held
    assert escape(oil_linings.filled("aluminium-tin")) in page.text
    press(page, oil_linings.TAKE_OUT)
    assert page.app.session_state["good"].oil.element == ()


def test_the_lining_named_in_the_case_is_proposed_and_other_metals_stay(page: Page) -> None:
    iron = [{"symbol": s, "typical": [1, 5], "from_part": False} for s in ("Fe", "Cu")]
    case = changed(bare_case(), {"part.lining": "copper-lead", "oil.element": iron})
    page.offer(("case.zip", case_to_zip(case)))
    assert "Copper (Cu) stands in the case already" in page.text
    press(page, oil_linings.FILL_IN)
    held = page.app.session_state["good"]
    assert {e.symbol: e.from_part for e in held.oil.element} == {
        "Pb": True, "Sn": True, "Cu": True, "Fe": False,
    }  # fmt: skip


def test_cases_with_metals_of_the_part_are_not_asked_and_the_table_is_there_for_all(
    page: Page,
) -> None:
    assert oil_linings.TITLE not in [header.value for header in page.app.main.subheader]
    assert oil_linings.ALL in [folded.label for folded in page.app.expander]
    for lining in LININGS:
        assert escape(lining.source) in page.text
