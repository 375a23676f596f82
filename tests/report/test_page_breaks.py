"""No page of a printed table holds one of its rows alone (common practice in print)."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from riskmodel.report.owner.document import Block, Document, Paragraph, Part, Table
from riskmodel.report.owner.to_html import html_of
from riskmodel.report.owner.to_pdf import pdf_of
from tests.page.conftest import CHROMIUM
from tests.report import printed
from tests.report.printed import needs_poppler

if TYPE_CHECKING:
    from playwright.sync_api import Browser

needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine")
LONG = "more than one line of a narrow column holds"


@pytest.fixture
def browser(launched: Browser) -> Browser:
    return launched


def document(rows: int, above: int) -> Document:
    """A table of so many rows under so many lines."""
    lines: list[Block] = [Paragraph(f"line {i}") for i in range(above)]
    cells = tuple((f"row {i}", LONG, "3") for i in range(rows))
    table = Table(("Name", "Text", "Figure"), cells, (1.0, 0.5, 3.0), right=frozenset({2}))
    return Document("t", (Part((*lines, table), 9),), "foot", "warning", "", None)


def rows_by_page(pdf: bytes) -> list[int]:
    """How many rows of the table each page holds, of those that hold any."""
    pages = range(1, printed.pages(pdf) + 1)
    told = [printed.text(pdf, "-f", str(page), "-l", str(page)) for page in pages]
    return [many for many in (len(re.findall(r"row \d", text)) for text in told) if many]


@needs_poppler
@pytest.mark.parametrize("rows", [3, 5])
def test_the_pdf_keeps_two_rows_together_wherever_the_page_ends(rows: int) -> None:
    found = [rows_by_page(pdf_of(document(rows, above))) for above in range(46, 56, 2)]
    assert all(sum(many) == rows and min(many) > 1 for many in found)
    assert (len({tuple(many) for many in found}) > 1) == (rows > 3)  # a break fell within it
    assert max(len(many) for many in found) == (2 if rows > 3 else 1)


@needs_poppler
@needs_chromium
def test_a_browser_prints_two_rows_together_as_well(browser: Browser, tmp_path: Path) -> None:
    file, found = tmp_path / "table.html", []
    page = browser.new_page()
    for above in range(60, 76, 3):
        file.write_text(html_of(document(5, above)), encoding="utf-8")
        page.goto(file.as_uri())
        found.append(rows_by_page(page.pdf(prefer_css_page_size=True)))
    page.close()
    assert all(sum(many) == 5 and min(many) > 1 for many in found)
    assert max(len(many) for many in found) == 2
