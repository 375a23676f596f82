"""The report as one HTML file in a browser: on a phone, in the dark, on paper, read aloud."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from riskmodel.report import owner
from tests.page import axe
from tests.page.conftest import CHROMIUM
from tests.report import made, printed
from tests.report.printed import needs_poppler

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine")
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1100, "height": 900}


@pytest.fixture
def browser(launched: Browser) -> Browser:
    return launched


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report by hand with its sheets."""
    path = tmp_path_factory.mktemp("html") / "report.html"
    path.write_text(owner.report_html(*made.told(), sheets=True), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The longest report of the two examples (its words, not its figures), without sheets."""
    path = tmp_path_factory.mktemp("html") / "alone.html"
    _, *figures = made.told()
    path.write_text(owner.report_html(made.on_case("road-car"), *figures), encoding="utf-8")
    return path


def opened(browser: Browser, file: Path, size: dict[str, int], scheme: str = "light") -> Page:
    page = browser.new_page(viewport=size, color_scheme=scheme)
    page.goto(file.as_uri())
    return page


@needs_chromium
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_is_wider_than_the_screen(
    browser: Browser, file: Path, size: dict[str, int]
) -> None:
    page = opened(browser, file, size)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    page.close()


@needs_chromium
def test_on_a_phone_each_figure_of_the_choices_stands_under_its_name(
    browser: Browser, file: Path
) -> None:
    page = opened(browser, file, PHONE)
    wide = page.evaluate(
        "[...document.querySelectorAll('table.stacked')].map(t => t.parentElement).filter("
        "box => box.scrollWidth > box.clientWidth).length"
    )
    assert wide == 0
    cell = page.locator("table.stacked td").first
    assert "From now" in cell.evaluate("e => getComputedStyle(e, '::before').content")
    page.close()


@needs_chromium
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_axe_finds_nothing_serious(
    browser: Browser, file: Path, size: dict[str, int], scheme: str
) -> None:
    page = opened(browser, file, size, scheme)
    assert not axe.serious(page)
    page.close()


@needs_chromium
def test_dark_where_the_reader_prefers_it(browser: Browser, file: Path) -> None:
    shades = []
    for scheme in ("light", "dark"):
        page = opened(browser, file, DESK, scheme)
        shades.append(page.evaluate("getComputedStyle(document.body).backgroundColor"))
        page.close()
    assert shades == ["rgb(255, 255, 255)", "rgb(20, 24, 27)"]


@needs_chromium
@needs_poppler
def test_it_prints_on_two_pages(browser: Browser, alone: Path) -> None:
    page = opened(browser, alone, DESK)
    assert printed.pages(page.pdf(prefer_css_page_size=True)) <= 2
    page.close()


@needs_chromium
def test_it_asks_for_nothing(browser: Browser, file: Path) -> None:
    page = browser.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    page.close()
    assert [url for url in asked if not url.startswith("data:")] == [file.as_uri()]


class Outline(HTMLParser):
    """Headings in order, pictures, and the cells that head a table."""

    def __init__(self) -> None:
        super().__init__()
        self.levels: list[int] = []
        self.pictures: list[str | None] = []
        self.heads: list[str | None] = []
        self.language: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = dict(attrs)
        if tag in ("h1", "h2", "h3"):
            self.levels.append(int(tag[1]))
        if tag == "img":
            self.pictures.append(held.get("alt"))
        if tag == "th":
            self.heads.append(held.get("scope"))
        if tag == "html":
            self.language = held.get("lang")


def test_headings_in_order_a_text_for_each_picture_a_scope_for_each_head(file: Path) -> None:
    outline = Outline()
    outline.feed(file.read_text(encoding="utf-8"))
    assert outline.language == "en"
    assert outline.levels[0] == 1
    assert outline.levels.count(1) == 5
    steps = zip(outline.levels, outline.levels[1:], strict=False)
    assert all(after - before <= 1 for before, after in steps)
    assert len(outline.pictures) == 3
    assert all(outline.pictures)
    assert outline.heads
    assert set(outline.heads) == {"col", "row"}
