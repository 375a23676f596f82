"""Records and beliefs entered in a real browser: what only a browser can show."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskmodel.records.tables import LifeRecords
from riskmodel.words import belief, import_words, records_entry, screen
from tests.page.browsing import (
    DESK,
    PATIENCE,
    PHONE,
    WIDER_THAN_THE_SCREEN,
    Visit,
    Walk,
    click_cell,
    opened,
    saved,
    type_over,
)

pytestmark = pytest.mark.browser


def saved_records(visit: Visit, folder: Path) -> LifeRecords:
    records = saved(visit, folder).records
    assert records is not None
    return records


def test_a_cell_typed_over_is_followed_by_answer_and_saved_case(walk: Walk, tmp_path: Path) -> None:
    def steps(visit: Visit) -> None:
        part = opened(visit, screen.RECORDS)
        type_over(visit, part, 3, "99000")
        visit.page.get_by_text(screen.CHANGED).wait_for()
        visit.settle()
        assert part.locator("canvas").first.is_visible()
        assert saved_records(visit, tmp_path).age[3] == 99_000

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
            assert saved_records(visit, tmp_path).age.tolist() == [120_000.5, 90_000]

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
