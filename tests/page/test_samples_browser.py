"""Oil samples looked at and entered in a real browser: what only a browser can show."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from riskmodel.records.tables import Reading
from riskmodel.words import oil_entry, records_entry, screen
from tests.page.browsing import DESK, PHONE, Visit, Walk, opened, saved, type_over

_LABELLED = ".stVegaLiteChart[aria-label], .stVegaLiteChart [aria-label]"

pytestmark = pytest.mark.browser


def test_a_meter_typed_over_is_followed_by_answer_and_saved_case(
    walk: Walk, tmp_path: Path
) -> None:
    def steps(visit: Visit) -> None:
        part = opened(visit, screen.SAMPLES)
        type_over(visit, part, 0, "31000")
        visit.page.get_by_text(screen.CHANGED).wait_for()
        visit.settle()
        assert part.locator("canvas").first.is_visible(), "the table stays open"
        case = saved(visit, tmp_path)
        assert case.samples is not None
        assert case.samples.rows[0].reading == 31_000
        assert case.samples.rows[0].elements["Pb"] == Reading(7.0)
        assert len(case.samples) == 10

    walk(steps)


def test_a_fault_is_told_under_the_table_and_gone_once_put_right(walk: Walk) -> None:
    def steps(visit: Visit) -> None:
        verdict = visit.box("verdict")
        part = opened(visit, screen.SAMPLES)
        type_over(visit, part, 0, "45000")  # the second one was drawn at 44,900
        part.get_by_text(records_entry.FAULTS).wait_for()
        assert "the oldest sample first" in part.locator("table.figures").inner_text()
        assert visit.page.get_by_text(oil_entry.NOT_TAKEN).is_visible()
        assert visit.box("verdict") == verdict
        part.get_by_role("button", name=oil_entry.UNDO).click()
        part.get_by_text(records_entry.FAULTS).wait_for(state="detached")

    walk(steps)


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_the_section_fits_its_screen_and_tells_its_charts(
    walk: Walk, size: tuple[int, int]
) -> None:
    def steps(visit: Visit) -> None:
        main = visit.page.locator(".stMainBlockContainer")
        main.get_by_role("heading", name=screen.OIL_SAYS).wait_for()
        main.get_by_role("heading", name=screen.RECORDS_SAY).wait_for()
        visit.settle()
        for title in (screen.OIL_OTHER_METALS, screen.OIL_MADE_OF, screen.OIL_WELL):
            opened(visit, title)
        assert visit.over_the_side() == []
        told = [
            chart.get_attribute("aria-label") or "" for chart in visit.page.locator(_LABELLED).all()
        ]
        metals = [text for text in told if re.search(r" in 10 samples by the part's age", text)]
        assert [text.split(" in ")[0] for text in metals][:2] == ["Lead (Pb)", "Copper (Cu)"]

    walk(steps, size)
