"""The first visit and the comparison in a browser: reload, back button, links, narrow screens."""

from __future__ import annotations

import re

import pytest

from riskmodel.words import first_visit as words
from riskmodel.words import log_page_start, screen, use_questions, versions
from tests.page.browsing import PATIENCE, PHONE, Visit, Walk
from tests.page.first_machine import FIRST_FIGURES, labels

pytestmark = pytest.mark.browser

UP = "document.querySelector('[data-testid=\"stMain\"]').scrollTop"


def held(visit: Visit, name: str) -> str:
    box = visit.page.get_by_label(labels()[name], exact=True).first
    box.wait_for(timeout=PATIENCE)
    return box.input_value()


def begin(visit: Visit, name: str) -> None:
    """Answers the questions for a machine of this name and waits for its first verdict."""
    page = visit.page
    page.goto(f"{visit.address}/?screen=start")
    page.get_by_role("heading", name=words.QUESTIONS).wait_for()
    for question, label in labels().items():
        box = page.get_by_label(label, exact=True).first
        box.fill(name if question == "name" else FIRST_FIGURES[question])
        box.press("Tab")
    page.get_by_text(words.STILL_OPEN).wait_for(state="detached")
    visit.settle()
    page.get_by_role("button", name=words.DO).click()
    page.get_by_text(f"{name}:").first.wait_for(timeout=PATIENCE)
    visit.box("verdict")
    visit.settle()


def at_top(visit: Visit) -> None:
    visit.page.wait_for_function(f"() => {UP} === 0", timeout=PATIENCE)


def test_answers_outlive_a_reload_and_the_back_button_and_the_verdict_comes_at_the_top(
    walk: Walk,
) -> None:
    def steps(visit: Visit) -> None:
        page = visit.page
        page.goto(f"{visit.address}/?screen=start")
        page.get_by_label(labels()["reading"], exact=True).fill("121000")
        page.get_by_label(labels()["reading"], exact=True).press("Enter")
        page.wait_for_url(re.compile("q.reading=121000"))
        page.reload()
        assert held(visit, "reading") == "121000"
        begin(visit, "Browsed van")
        at_top(visit)
        assert "q." not in page.url
        page.go_back()
        assert held(visit, "planned") == FIRST_FIGURES["planned"]
        assert held(visit, "half") == FIRST_FIGURES["half"]
        page.get_by_text(words.MADE.format(name="Browsed van")).wait_for()
        page.get_by_role("button", name=words.OPEN.format(name="Browsed van")).first.click()
        visit.box("verdict")
        at_top(visit)

    walk(steps)


def test_a_comparison_is_there_after_a_reload_and_gone_by_the_back_button(walk: Walk) -> None:
    def steps(visit: Visit) -> None:
        page = visit.page
        begin(visit, "Compared van")
        page.get_by_role("button", name=versions.OFFER).click()
        page.get_by_text(versions.NOTHING_YET).wait_for()
        visit.settle()
        at_top(visit)
        box = visit.number("Keep for, years")
        box.fill("2")
        box.press("Enter")
        table = page.locator("table.figures", has_text="Keep for").first
        table.wait_for(timeout=PATIENCE)
        visit.settle()
        page.reload()
        table.wait_for(timeout=PATIENCE)
        visit.settle()
        assert "5\u00a0years" in table.inner_text()
        page.go_back()
        page.get_by_role("heading", name=versions.HEADING).wait_for(state="detached")

    walk(steps)


def test_on_a_phone_all_of_it_fits_and_links_lead_to_where_things_are_entered(walk: Walk) -> None:
    def steps(visit: Visit) -> None:
        page = visit.page
        page.goto(f"{visit.address}/?screen=start")
        page.get_by_role("heading", name=words.QUESTIONS).wait_for()
        assert visit.over_the_side() == []
        begin(visit, "Pocket van")
        page.get_by_role("link", name=use_questions.TITLE).click()
        visit.settle()
        part = page.locator("summary", has_text=use_questions.TITLE)
        page.wait_for_function("e => e.parentElement.open", arg=part.element_handle())
        assert -1 <= part.evaluate("e => e.getBoundingClientRect().top") < PHONE[1]  # rounded
        page.get_by_role("button", name=versions.OFFER).click()
        page.get_by_text(versions.NOTHING_YET).wait_for()
        visit.open_panel()
        box = visit.number("Keep for, years")
        box.fill("2")
        box.press("Enter")
        page.locator("table.figures", has_text="Keep for").first.wait_for(state="attached")
        page.locator('[data-testid="stSidebarCollapseButton"] button').click()
        assert visit.over_the_side() == []
        visit.open_panel()
        page.get_by_role("button", name=log_page_start.ALL_MACHINES).click()
        page.get_by_role("link", name="Pocket van").wait_for()
        at_top(visit)

    walk(steps, PHONE)


def test_the_example_is_one_press_away_and_begins_at_its_top(walk: Walk) -> None:
    def steps(visit: Visit) -> None:
        page = visit.page
        page.goto(f"{visit.address}/?screen=start")
        page.get_by_role("button", name=words.OPEN_EXAMPLE.format(name=screen.ROAD_CAR)).click()
        assert "EXAMPLE" in visit.box("example")
        at_top(visit)
        assert "example=road-car" in page.url

    walk(steps)
