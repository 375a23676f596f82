"""The page in a real browser: what only a browser can show.

Debian's chromium is driven by playwright; nothing is downloaded. Without a chromium these tests
are skipped, but where CI is set they fail: there a skip would hide that nobody looked.
"""

from __future__ import annotations

import re
import socket
from dataclasses import replace
from pathlib import Path

import pytest

from riskmodel.page.examples import example
from riskmodel.records.archive import case_to_zip
from riskmodel.words import screen
from tests.page.browsing import PATIENCE, Visit, Window, saved, visiting

pytestmark = pytest.mark.browser

WIDER_THAN_THEIR_PLACE = """() =>
    [...document.querySelectorAll('table.figures')].filter(e => e.checkVisibility() &&
        e.getBoundingClientRect().right >
        e.closest('[data-testid="stHtml"]').getBoundingClientRect().right + 1)
        .map(e => e.textContent.slice(0, 60))"""
"""Tables that stick out of the column or the box that they stand in."""


def test_it_opens_with_its_charts_and_asks_nobody_outside(visit: Visit) -> None:
    visit.page.wait_for_function(
        "document.querySelectorAll('.stVegaLiteChart svg, .stVegaLiteChart canvas').length >= 12",
        timeout=PATIENCE,
    )
    assert "Example road car (invented)" in visit.page.inner_text(".stMainBlockContainer")
    assert "EXAMPLE" in visit.box("example")
    assert len(visit.requests) > 10
    assert not visit.outside
    assert not visit.complaints


def test_charts_have_a_text_for_those_who_cannot_see_them(visit: Visit) -> None:
    charts = visit.page.locator(".stVegaLiteChart[aria-label], .stVegaLiteChart [aria-label]")
    charts.first.wait_for()
    told = [chart.get_attribute("aria-label") or "" for chart in charts.all()]
    assert "The costs cross at" in told[0]
    # Nothing read out shows a name of the program, as a mark of its own would.
    assert not [text for text in told if re.search(r"\b(low|high|plan|column|bad|x): ", text)]


def test_a_changed_price_is_followed_by_the_verdict_and_the_table(visit: Visit) -> None:
    table = visit.page.locator("table.figures", has_text="Replace now").first
    before, verdict = table.inner_text(), visit.box("verdict")
    box = visit.number("Replacement in time, EUR, to")
    box.fill("9000")
    box.press("Enter")
    visit.page.wait_for_function(
        "before => document.querySelector('.verdict').innerText !== before",
        arg=visit.page.locator(".verdict").inner_text(),
        timeout=PATIENCE,
    )
    visit.settle()
    assert visit.box("verdict") != verdict
    assert table.inner_text() != before


def test_symptoms_replace_the_verdict(visit: Visit) -> None:
    visit.page.get_by_text("A knock", exact=True).click()
    assert "Do not start the engine" in visit.box("stop")
    assert visit.page.locator(".verdict").count() == 0
    visit.page.locator(".stVegaLiteChart").first.wait_for(state="detached")


def test_a_case_is_saved_and_opened_again(visit: Visit, tmp_path: Path) -> None:
    box = visit.number("Meter now, km")
    box.fill("131000")
    box.press("Enter")
    visit.page.get_by_text("131,000 km on the meter").first.wait_for()
    case = saved(visit, tmp_path)
    zipped = tmp_path / "example-road-car-invented.zip"
    assert zipped.is_file()
    assert case.machine.reading == 131000

    mine = replace(case, machine=replace(case.machine, name="My own car", invented=False))
    zipped.write_bytes(case_to_zip(mine))
    visit.page.locator("input[type=file]").set_input_files(zipped)
    visit.page.get_by_text("My own car:").wait_for()
    visit.settle()
    assert visit.page.locator(".example", has_text="EXAMPLE").count() == 0
    assert not visit.outside
    assert not visit.complaints


def test_a_bad_file_is_told_and_the_case_before_stays(visit: Visit, tmp_path: Path) -> None:
    bad = tmp_path / "case.toml"
    bad.write_text('format = 1\n[machine]\nunit = "furlong"\n')
    visit.page.locator("input[type=file]").set_input_files(bad)
    visit.page.get_by_text(screen.NOT_READ).wait_for()
    assert "furlong" in visit.page.inner_text(".stMainBlockContainer")
    assert visit.box("verdict")


def test_a_name_with_markup_fetches_nothing(visit: Visit, tmp_path: Path) -> None:
    case = example("road-car")
    name = "![a](http://example.org/a.png) <img src=http://example.org/b.png> $x$"
    saved = tmp_path / "nasty.zip"
    saved.write_bytes(case_to_zip(replace(case, machine=replace(case.machine, name=name))))
    visit.page.locator("input[type=file]").set_input_files(saved)
    visit.page.get_by_text("![a](http://example.org/a.png)").first.wait_for()
    visit.settle()
    assert not visit.outside


@pytest.mark.parametrize(
    ("folder", "widths"), [("Road car", (1280, 390)), ("Working boat", (390, 768, 1100))]
)
def test_nothing_runs_over_the_side(
    browser: Window, address: str, folder: str, widths: tuple[int, int]
) -> None:
    """A desk's window made as narrow as a phone's, and a phone turned on its side."""
    with visiting(browser, address, widths[0], 2000) as visit:
        visit.open_panel()
        visit.page.locator("label", has_text=folder).click()
        visit.page.get_by_text(f"Example {folder.lower()} (invented):").wait_for()
        visit.settle()
        for summary in visit.page.locator("[data-testid=stMain] summary").all():
            summary.evaluate("element => element.click()")
        for width in widths:
            visit.page.set_viewport_size({"width": width, "height": 2000})
            visit.page.wait_for_function("width => innerWidth === width", arg=width)
            assert visit.over_the_side() == []
            assert visit.page.evaluate(WIDER_THAN_THEIR_PLACE) == []


def test_on_a_phone_the_figures_are_one_press_away(browser: Window, address: str) -> None:
    with visiting(browser, address, 390, 844) as visit:
        opener = visit.page.get_by_test_id("stExpandSidebarButton")
        label = opener.evaluate("e => getComputedStyle(e, '::after').content")
        assert label == f'"{screen.FIGURES_OPEN}"'
        visit.open_panel()
        box = visit.number("Meter now, km")
        box.fill("140000")
        box.press("Enter")
        visit.page.locator('[data-testid="stSidebarCollapseButton"] button').click()
        visit.page.get_by_text("140,000 km on the meter").first.wait_for()


def test_a_limit_can_be_taken_back(visit: Visit) -> None:
    assert "limit" in visit.box("verdict")
    box = visit.number("Most risk you will bear, of 100")
    box.fill("")
    box.press("Enter")
    visit.page.wait_for_function(
        "!document.querySelector('.verdict').innerText.includes('limit')", timeout=PATIENCE
    )
    assert box.input_value() == ""


def test_the_server_is_for_this_computer_only(address: str) -> None:
    port = int(address.rpartition(":")[2])
    other = socket.gethostbyname(socket.gethostname())
    if other.startswith("127."):
        pytest.skip("this machine has no other address to try")
    with socket.socket() as probe:
        probe.settimeout(2)
        assert probe.connect_ex((other, port)) != 0
