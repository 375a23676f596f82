"""The page by keyboard alone, and by ear: names, headings, landmarks, text beside each chart."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from riskmodel.words import first_visit, screen
from tests.page import axe
from tests.page.browsing import DESK, Visit, Window, served
from tests.page.first_machine import FIRST_FIGURES, NAME, labels
from tests.page.test_whole_flow import stranger, unfold_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

MOST_STEPS = 400
"""Presses of Tab after which something counts as out of reach."""

NAME_OF_FOCUS = """() => {
    const e = document.activeElement
    const label = e.closest('label')
    return (e.getAttribute('aria-label') || (label && label.innerText) || e.innerText || '').trim()
}"""

# What shows the focus is in the styles of the element, of what it stands in, or of what stands
# beside it in its label: those with the focus are held against those without.
FOCUS_SHOWS = """async () => {
    const e = document.activeElement
    const around = [e]
    for (let up = e, i = 0; up.parentElement && i < 5; i++) around.push(up = up.parentElement)
    const label = e.closest('label')
    if (label) around.push(...label.querySelectorAll('*'))
    around.push(...e.querySelectorAll('*'))
    const look = () => around.map(part => {
        const s = getComputedStyle(part)
        return [s.outlineStyle, s.outlineWidth, s.outlineColor, s.boxShadow, s.borderColor,
                s.backgroundColor, s.color].join('|')
    }).join('#')
    const drawn = () => new Promise(done => setTimeout(() => requestAnimationFrame(done), 60))
    await drawn()
    const held = look()
    e.blur()
    await drawn()
    const bare = look()
    e.focus()
    await drawn()
    return held !== bare
}"""
STILL = "*, *::before, *::after { transition: none !important; animation: none !important; }"

INTERACTIVE = (
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button],"
    " [role=radio], [role=checkbox], [role=combobox], [role=slider], [role=tab], [role=spinbutton]"
)
NAMELESS = """selector => {
    axe.setup(document.body)
    const seen = [...document.querySelectorAll(selector)].filter(e => e.checkVisibility())
    const bare = seen.filter(e => !axe.commons.text.accessibleText(e).trim())
    axe.teardown()
    return [seen.length, bare.map(e => e.outerHTML.slice(0, 160))]
}"""

HEADINGS = """() =>
    [...document.querySelectorAll('[data-testid=stMain] :is(h1, h2, h3, h4, h5, h6)')]
    .filter(e => e.checkVisibility()).map(e => [Number(e.tagName[1]), e.innerText.trim()])"""

CHARTS = """() => [...document.querySelectorAll('.stVegaLiteChart')].map(e => {
    const told = e.matches('[aria-label]') ? e : e.querySelector('[aria-label]')
    const labelled = e.querySelector('[role="graphics-document"], [role=img]') || told
    return labelled ? labelled.getAttribute('aria-label') : ''
})"""


@pytest.fixture
def empty(chromium: str, tmp_path: Path) -> Iterator[str]:
    """A server whose log is still empty."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    with served(folder, tmp_path / "server.log") as url:
        yield url


def focus_is_visible(page: Page) -> bool:
    shows: bool = page.evaluate(FOCUS_SHOWS)
    return shows


def tab_to(page: Page, name: str) -> None:
    """Presses Tab until what has the focus is called `name`; the focus has to show there."""
    passed: list[str] = []
    for _ in range(MOST_STEPS):
        page.keyboard.press("Tab")
        found: str = page.evaluate(NAME_OF_FOCUS)
        if found == name:
            assert focus_is_visible(page), name
            return
        passed.append(found)
    pytest.fail(f"Tab never comes to “{name}”; it came by {passed[:60]}")


def test_from_the_first_visit_to_verdict_and_report_without_a_mouse(
    browser: Window, empty: str, tmp_path: Path
) -> None:
    with stranger(browser, empty, DESK, "light") as visit:
        page = visit.page
        page.goto(empty)
        page.get_by_role("button", name=first_visit.DO).wait_for()
        visit.settle()
        page.add_style_tag(content=STILL)
        for name, label in labels().items():
            tab_to(page, label)
            page.keyboard.type(FIRST_FIGURES[name])
            if name == "name":  # the next stop is the unit, which the arrow keys choose
                page.keyboard.press("Tab")
                page.keyboard.press("ArrowDown")
                page.get_by_text("in miles").first.wait_for()
                page.keyboard.press("ArrowUp")
                page.get_by_text("in km").first.wait_for()
        page.keyboard.press("Tab")
        page.get_by_text(first_visit.STILL_OPEN).wait_for(state="detached")
        visit.settle()
        tab_to(page, first_visit.DO)
        page.keyboard.press("Enter")
        page.get_by_text(f"{NAME}:").first.wait_for()
        verdict = visit.box("verdict")
        visit.settle()

        tab_to(page, "A knock")
        page.keyboard.press("Space")
        visit.box("stop")
        visit.settle()
        page.keyboard.press("Space")
        assert visit.box("verdict") == verdict
        visit.settle()

        tab_to(page, screen.MAKE_REPORT)
        page.keyboard.press("Enter")
        page.get_by_role("button", name=screen.REPORT_PDF).wait_for()
        visit.settle()
        tab_to(page, screen.REPORT_PDF)
        with page.expect_download() as download:
            page.keyboard.press("Enter")
        path = tmp_path / download.value.suggested_filename
        download.value.save_as(path)
        assert path.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("place", "ticked", "way", "to"),
    [
        ("example=road-car", "", screen.SKIP_TO_VERDICT, ".verdict"),
        ("example=road-car", "A knock", screen.SKIP_TO_VERDICT, ".stop"),
        ("screen=start", "", screen.SKIP_TO_PAGE, "h1"),
        ("screen=workshop", "", screen.SKIP_TO_PAGE, "h1"),
    ],
)
def test_the_first_stop_leads_past_the_figures(
    browser: Window, address: str, place: str, ticked: str, way: str, to: str
) -> None:
    """One press of Tab and one of Enter, whatever stands in the panel of figures."""
    with stranger(browser, address, DESK, "light") as visit:
        page = visit.page
        opened(visit, f"{address}/?{place}")
        if ticked:
            page.get_by_text(ticked, exact=True).click()
            visit.box("stop")
            visit.settle()
            page.get_by_role("button", name=way).focus()
        else:
            page.keyboard.press("Tab")
        shown = page.locator(".skips button:visible")
        assert [each.inner_text() for each in shown.all()] == [way]
        assert page.evaluate(NAME_OF_FOCUS) == way
        assert focus_is_visible(page)
        box = shown.bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["y"] >= 0
        page.keyboard.press("Enter")
        assert page.evaluate("to => document.activeElement.matches(to)", to)
        page.keyboard.press("Tab")  # and on from there, not from the panel of figures
        assert page.evaluate("document.querySelector('main').contains(document.activeElement)")


def opened(visit: Visit, address: str) -> None:
    visit.page.goto(address)
    visit.page.get_by_role("heading", level=1).wait_for()
    visit.settle()


def test_what_is_read_out_has_names_headings_and_landmarks(browser: Window, address: str) -> None:
    with stranger(browser, address, DESK, "light") as visit:
        page = visit.page
        for place in ("screen=start", "example=road-car", "example=work-boat", "screen=workshop"):
            opened(visit, f"{address}/?{place}")
            if place.startswith("example"):
                visit.box("verdict")
            unfold_all(visit)
            page.evaluate(axe.script())
            count, bare = page.evaluate(NAMELESS, INTERACTIVE)
            assert count > 2
            assert bare == [], place
            headings: list[tuple[int, str]] = [tuple(each) for each in page.evaluate(HEADINGS)]
            levels = [level for level, _ in headings]
            assert levels.count(1) == 1, place
            assert levels[0] == 1, place
            assert all(b - a <= 1 for a, b in pairwise(levels)), headings
            assert all(text for _, text in headings)
            assert page.locator("main").count() == 1
            assert page.evaluate("document.documentElement.lang") == "en"
            assert page.title() == screen.TITLE
            assert untold(page) == []


def untold(page: Page) -> list[Any]:
    """Charts without a text of their own."""
    told: list[Any] = page.evaluate(CHARTS)
    return [text for text in told if not text or len(text) < 40]
