"""The log in a real browser: a reload and the back button lose nothing, two windows may clash."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskmodel.records.archive import case_to_zip
from riskmodel.words import log_page, screen
from riskmodel.words import log_page_forms as forms
from riskmodel.words import log_page_start as start
from riskmodel.words import log_page_workshop as workshop
from tests.page.browsing import PATIENCE, PHONE, Visit, Walk, opened
from tests.page.log_made import exact_case

pytestmark = pytest.mark.browser


def enter(visit: Visit, label: str, value: str) -> None:
    box = visit.number(label).first
    box.fill(value)
    box.press("Enter")


def machine_line(visit: Visit, text: str) -> None:
    visit.page.get_by_text(text).first.wait_for(timeout=PATIENCE)
    visit.settle()


def test_a_reload_a_second_window_and_the_back_button_lose_nothing(
    walk: Walk, tmp_path: Path
) -> None:
    file = tmp_path / "mine.zip"
    file.write_bytes(case_to_zip(exact_case("Browsed car")))

    def steps(visit: Visit) -> None:
        page = visit.page
        page.get_by_test_id("stFileUploaderDropzoneInput").first.set_input_files(file)
        machine_line(visit, log_page.TAKEN_IN)
        enter(visit, "Keep for, years", "5")
        visit.box("verdict", "5 years")
        address = page.url
        page.reload()
        visit.box("verdict", "5 years")
        visit.settle()
        # Somebody else, in another window, reads the meter; this one does not know yet.
        other = Visit(page.context.new_page(), visit.address)
        other.page.goto(f"{address}&by=Bert")
        other.box("verdict")
        other.settle()
        enter(other, "Meter now, km", "101000")
        machine_line(other, "101,000 km on the meter")
        enter(visit, "Keep for, years", "7")
        page.get_by_text(log_page.CLASH).wait_for()
        visit.settle()
        assert "Meter at 101,000" in page.locator(".stMainBlockContainer").inner_text()
        assert visit.number("Keep for, years").input_value() == "7"
        page.get_by_role("button", name=log_page.KEEP_MINE).click()
        machine_line(visit, "101,000 km on the meter")
        visit.box("verdict", "7 years")
        other.page.close()
        page.get_by_role("button", name=start.ALL_MACHINES).click()
        page.get_by_role("link", name="Browsed car").wait_for()
        visit.settle()
        page.go_back()
        visit.box("verdict", "7 years")

    walk(steps)


def test_the_log_fits_a_phone_and_is_filled_in_by_keyboard(walk: Walk, tmp_path: Path) -> None:
    file = tmp_path / "mine.zip"
    file.write_bytes(case_to_zip(exact_case("Pocket car")))

    def steps(visit: Visit) -> None:
        page = visit.page
        visit.open_panel()
        page.get_by_test_id("stFileUploaderDropzoneInput").first.set_input_files(file)
        machine_line(visit, log_page.TAKEN_IN)
        page.get_by_test_id("stSidebarCollapseButton").get_by_role("button").click()
        box = page.locator("[data-testid=stForm]").get_by_label("Meter, km")
        box.scroll_into_view_if_needed()
        box.press_sequentially("101500")
        box.press("Enter")
        machine_line(visit, "101,500 km on the meter")
        machine_line(visit, forms.ENTERED)
        opened(visit, forms.HISTORY)
        assert visit.over_the_side() == []
        page.goto(f"{visit.address}/?screen=workshop")
        page.get_by_role("heading", name=workshop.TITLE).wait_for()
        visit.settle()
        assert visit.over_the_side() == []
        page.get_by_role("link", name="Pocket car").click()
        visit.box("verdict")
        machine_line(visit, "101,500 km on the meter")
        assert page.get_by_role("heading", name=screen.TITLE).is_visible()

    walk(steps, PHONE)
