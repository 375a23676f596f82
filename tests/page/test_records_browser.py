"""Records and beliefs entered in a real browser: what only a browser can show.

The browser runs in a thread of its own: that of another module may still be open, and
playwright allows one to a thread.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from riskmodel.records.archive import case_from_zip
from riskmodel.records.tables import LifeRecords
from riskmodel.words import belief, import_words, records_entry, screen
from tests.page.test_browser import (
    ARGS,
    PATIENCE,
    WIDER_THAN_THE_SCREEN,
    Visit,
    chromium,
    served,
    visiting,
)

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator

__all__ = ["chromium"]  # a fixture

pytestmark = pytest.mark.browser

DESK, PHONE = (1280, 1400), (390, 844)
ROW, HEADER = 35, 35
"""Heights in the table [px]."""


@dataclass
class Walk:
    """Takes steps in a browser at the page that is served at `address`."""

    thread: ThreadPoolExecutor
    browser: Browser
    address: str

    def __call__(self, steps: Callable[[Visit], None], size: tuple[int, int] = DESK) -> None:
        def walked() -> None:
            with visiting(self.browser, self.address, *size) as visit:
                steps(visit)
                assert not visit.outside
                assert not visit.complaints

        self.thread.submit(walked).result()


@pytest.fixture(scope="module")
def walk(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Walk]:
    from playwright.sync_api import sync_playwright

    folder = tmp_path_factory.mktemp("records")
    with ThreadPoolExecutor(1) as thread, served(folder, folder / "server.log") as address:
        playwright = thread.submit(sync_playwright().start).result()
        browser = thread.submit(
            lambda: playwright.chromium.launch(executable_path=chromium, args=ARGS)
        ).result()
        yield Walk(thread, browser, address)
        thread.submit(browser.close).result()
        thread.submit(playwright.stop).result()


def opened(visit: Visit, title: str) -> Locator:
    """A folded part of the page, unfolded and in sight."""
    part = visit.page.locator("[data-testid=stExpander]", has_text=title).first
    part.locator("summary").first.click()
    part.scroll_into_view_if_needed()
    return part


def click_cell(visit: Visit, part: Locator, column: int, row: int) -> None:
    """Clicks a cell of the table: column 0 is the age, row 0 the first."""
    grid = part.locator("canvas").first
    grid.wait_for()
    visit.settle()
    grid.scroll_into_view_if_needed()
    box, before = grid.bounding_box(), None
    while box != before:  # until it has taken its final place
        visit.page.wait_for_timeout(700)
        box, before = grid.bounding_box(), box
    assert box is not None
    x = box["x"] + (140, 250)[column]
    visit.page.mouse.click(x, box["y"] + HEADER + ROW * row + ROW / 2)


def type_over(visit: Visit, part: Locator, row: int, age: str) -> None:
    """Puts another age into a row, as a person does: click, Enter, type, Enter."""
    box = visit.page.locator("#portal input")
    for _ in range(10):  # a table that is just being drawn again lets a click pass by
        click_cell(visit, part, 0, row)
        visit.page.keyboard.press("Enter")
        visit.page.wait_for_timeout(1500)
        if box.count():
            break
    box.fill(age)  # keys typed one by one get lost on a busy machine
    assert box.input_value().replace(",", "") == age
    visit.page.keyboard.press("Enter")


def saved(visit: Visit, folder: Path) -> LifeRecords:
    with visit.page.expect_download() as download:
        visit.page.get_by_role("button", name=screen.DOWNLOAD).click()
    path = folder / "saved.zip"
    download.value.save_as(path)
    case = case_from_zip(path.read_bytes())
    assert case.records is not None
    return case.records


def test_a_cell_typed_over_is_followed_by_answer_and_saved_case(walk: Walk, tmp_path: Path) -> None:
    def steps(visit: Visit) -> None:
        part = opened(visit, screen.RECORDS)
        type_over(visit, part, 3, "99000")
        visit.page.get_by_text(screen.CHANGED).wait_for()
        visit.settle()
        assert part.locator("canvas").first.is_visible()
        assert saved(visit, tmp_path).age[3] == 99_000

    walk(steps)


def test_a_fault_is_told_under_the_table_which_stays_open(walk: Walk) -> None:
    def steps(visit: Visit) -> None:
        verdict = visit.box("verdict")
        part = opened(visit, screen.RECORDS)
        type_over(visit, part, 0, "65000")  # watched from 70,000
        part.get_by_text(records_entry.FAULTS).wait_for()
        assert "less than the age" in part.locator("table.figures").inner_text()
        assert visit.page.get_by_text(records_entry.NOT_TAKEN).is_visible()
        assert visit.box("verdict") == verdict
        type_over(visit, part, 0, "75000")
        part.get_by_text(records_entry.FAULTS).wait_for(state="detached")
        assert part.locator("canvas").first.is_visible()

    walk(steps)


def test_a_row_is_added_with_the_plus_sign_and_waits(walk: Walk) -> None:
    def steps(visit: Visit) -> None:
        part = opened(visit, screen.RECORDS)
        click_cell(visit, part, 0, 0)
        part.get_by_role("button", name="Add row").click()
        part.get_by_text("Row 190 is not complete").wait_for()
        part.get_by_role("button", name=records_entry.UNDO).click()
        part.get_by_text("Row 190 is not complete").wait_for(state="detached")

    walk(steps)


TABLE = """Engine;Mileage at event;What happened;How it was used all its life until then
A;120.000,5;Seized;Town
B;90 000 km;still going;town
C;80.000;sold on;motorway
D;ca. 70.000;Seized;Town
"""


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_a_table_is_brought_in(walk: Walk, tmp_path: Path, size: tuple[int, int]) -> None:
    table = tmp_path / "mine.csv"
    table.write_text(TABLE, encoding="utf-8")

    def steps(visit: Visit) -> None:
        part = opened(visit, import_words.TITLE)
        part.locator("input[type=file]").set_input_files(table)
        choice = part.get_by_label("“sold on”", exact=False)
        choice.first.wait_for()
        visit.settle()
        assert visit.page.evaluate(WIDER_THAN_THE_SCREEN) == []
        choice.first.click()
        visit.page.keyboard.type("leave", delay=50)
        visit.page.keyboard.press("Enter")
        part.get_by_text("1 row left out, as you chose").wait_for()
        use = part.get_by_role("button", name=import_words.USE)
        assert use.is_disabled()
        part.get_by_text(import_words.leave_out(1)).click()
        visit.page.wait_for_function(
            "name => ![...document.querySelectorAll('button')]"
            ".find(b => b.innerText === name).disabled",
            arg=import_words.USE,
            timeout=PATIENCE,
        )
        assert visit.page.evaluate(WIDER_THAN_THE_SCREEN) == []
        use.click()
        visit.page.get_by_text("2 rows taken over, in the place of the records before").wait_for()
        visit.settle()
        if size == DESK:
            assert saved(visit, tmp_path).age.tolist() == [120_000.5, 90_000]

    walk(steps, size)


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_a_belief_is_given_by_the_keyboard_alone(walk: Walk, size: tuple[int, int]) -> None:
    def steps(visit: Visit) -> None:
        visit.open_panel()
        panel = visit.page.get_by_test_id("stSidebar")
        panel.locator("summary", has_text=screen.MORE_FIGURES).press("Enter")
        visit.number(f"{belief.question(0.1, 'km')} {screen.LOW_END}").focus()
        for age in ("60000", "90000"):
            visit.page.keyboard.type(age)
            visit.page.keyboard.press("Tab")
        visit.settle()
        visit.number(f"{belief.question(0.5, 'km')} {screen.LOW_END}").focus()
        for age in ("120000", "200000"):
            visit.page.keyboard.type(age)
            visit.page.keyboard.press("Tab")
        panel.get_by_text("Does that seem right?").wait_for()
        panel.get_by_role("checkbox", name=belief.USE).press("Space")
        panel.get_by_text(belief.IN_FORCE).wait_for()
        visit.settle()
        wide = panel.evaluate(
            "panel => [...panel.querySelectorAll('p, label, input, button')]"
            ".filter(e => e.checkVisibility() && e.getBoundingClientRect().right"
            " > panel.getBoundingClientRect().right + 1).map(e => e.textContent)"
        )
        assert wide == []

    walk(steps, size)
