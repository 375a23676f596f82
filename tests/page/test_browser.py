"""The page in a real browser: what only a browser can show.

Debian's chromium is driven by playwright; nothing is downloaded. Without a chromium these tests
are skipped, but where CI is set they fail: there a skip would hide that nobody looked.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from riskmodel.page.examples import example
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.words import screen
from tests.page.conftest import SCRIPT

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page, Request

pytestmark = pytest.mark.browser

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("chrome")
ARGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE = 60_000
"""Milliseconds to wait for something to appear on a busy machine; no measure of speed."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def served(folder: Path, log: Path) -> Iterator[str]:
    """The page's own server, started in `folder`; its output goes to a file, never to a pipe."""
    port = free_port()
    command = [sys.executable, "-m", "streamlit", "run", str(SCRIPT), "--server.port", str(port)]
    address = f"http://127.0.0.1:{port}"
    with log.open("wb") as output:
        server = subprocess.Popen(command, cwd=folder, stdout=output, stderr=subprocess.STDOUT)
    try:
        for _ in range(300):
            try:
                with urllib.request.urlopen(f"{address}/_stcore/health", timeout=1):
                    break
            except (urllib.error.URLError, OSError):
                if server.poll() is not None:
                    pytest.fail(f"the server ended: {log.read_text()}")
                time.sleep(0.1)
        else:
            pytest.fail(f"the server did not start: {log.read_text()}")
        yield address
    finally:
        server.terminate()
        server.wait(timeout=20)


@pytest.fixture(scope="session")
def chromium() -> str:
    if CHROMIUM is None:
        reason = "no chromium on this machine (Debian: apt-get install chromium)"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return CHROMIUM


@pytest.fixture(scope="session")
def address(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    # Not started beside its settings: they have to be found from anywhere.
    folder = tmp_path_factory.mktemp("elsewhere")
    with served(folder, folder / "server.log") as url:
        yield url


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=ARGS)
        yield opened
        opened.close()


@dataclass
class Visit:
    """One visit: its page, and what it asked for and complained of."""

    page: Page
    address: str
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def note(self, request: Request) -> None:
        self.requests.append(request.url)

    @property
    def outside(self) -> list[str]:
        local = (self.address, self.address.replace("http", "ws"), "data:", "blob:")
        return [url for url in self.requests if not url.startswith(local)]

    def box(self, kind: str, containing: str = "") -> str:
        """The text of a box ("verdict", "stop") once it holds `containing`."""
        found = self.page.locator(f".{kind}", has_text=containing)
        found.wait_for(timeout=PATIENCE)
        return found.inner_text().replace("\u00a0", " ")

    def number(self, label: str) -> Locator:
        """The box for a number under a label."""
        return self.page.get_by_role("spinbutton", name=label)

    def open_panel(self) -> None:
        """Slides the panel of figures in, where the screen is too narrow to keep it there."""
        opener = self.page.get_by_test_id("stExpandSidebarButton")
        if opener.count():
            opener.click()
        self.page.wait_for_function(
            "document.querySelector('section[data-testid=\"stSidebar\"]')"
            ".getBoundingClientRect().x >= 0"
        )

    def settle(self) -> None:
        self.page.wait_for_function(
            "!document.querySelector('[data-testid=\"stStatusWidget\"]')"
            " && !document.querySelector('[data-testid=\"stSkeleton\"]')",
            timeout=PATIENCE,
        )


@contextmanager
def visiting(
    browser: Browser, address: str, width: int = 1280, height: int = 1000
) -> Iterator[Visit]:
    page = browser.new_page(viewport={"width": width, "height": height})
    page.set_default_timeout(PATIENCE)
    visit = Visit(page, address)
    page.on("request", visit.note)
    page.on("pageerror", lambda error: visit.complaints.append(str(error)))
    page.on(
        "console",
        lambda message: visit.complaints.append(message.text) if message.type == "error" else None,
    )
    page.goto(address)
    visit.box("verdict")
    visit.settle()
    yield visit
    page.close()


@pytest.fixture
def visit(browser: Browser, address: str) -> Iterator[Visit]:
    with visiting(browser, address) as opened:
        yield opened


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
    visit.page.get_by_text("131,000 km on the meter").wait_for()
    with visit.page.expect_download() as download:
        visit.page.get_by_role("button", name=screen.DOWNLOAD).click()
    saved = tmp_path / download.value.suggested_filename
    download.value.save_as(saved)
    assert saved.name == "example-road-car-invented.zip"
    case = case_from_zip(saved.read_bytes())
    assert case.machine.reading == 131000

    mine = replace(case, machine=replace(case.machine, name="My own car", invented=False))
    saved.write_bytes(case_to_zip(mine))
    visit.page.locator("input[type=file]").set_input_files(saved)
    visit.page.get_by_text("My own car:").wait_for()
    visit.settle()
    assert visit.page.locator(".example").count() == 0
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


WIDER_THAN_THE_SCREEN = """() =>
    [...document.querySelectorAll('html, body, [data-testid="stMain"]')]
        .filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.tagName)
    .concat([...document.querySelectorAll(
        '.stMainBlockContainer :is(p, td, th, li, dd, summary), .stVegaLiteChart svg')]
        .filter(e => e.checkVisibility() && e.getBoundingClientRect().right > innerWidth + 1)
        .map(e => e.textContent.slice(0, 60)))"""


@pytest.mark.parametrize(
    ("width", "folder"),
    [(390, "Road car"), (390, "Working boat"), (768, "Working boat"), (1280, "Road car")],
)
def test_nothing_runs_over_the_side(
    browser: Browser, address: str, width: int, folder: str
) -> None:
    with visiting(browser, address, width, 2000) as visit:
        visit.open_panel()
        visit.page.locator("label", has_text=folder).click()
        visit.page.get_by_text(f"Example {folder.lower()} (invented):").wait_for()
        visit.settle()
        for summary in visit.page.locator("[data-testid=stMain] summary").all():
            summary.evaluate("element => element.click()")
        visit.settle()
        wide = visit.page.evaluate(WIDER_THAN_THE_SCREEN)
        for _ in range(40):  # charts fit themselves in once their place has its width
            if not wide:
                break
            visit.page.wait_for_timeout(250)
            wide = visit.page.evaluate(WIDER_THAN_THE_SCREEN)
        assert wide == []


def test_on_a_phone_the_figures_are_one_press_away(browser: Browser, address: str) -> None:
    with visiting(browser, address, 390, 844) as visit:
        opener = visit.page.get_by_test_id("stExpandSidebarButton")
        label = opener.evaluate("e => getComputedStyle(e, '::after').content")
        assert label == f'"{screen.FIGURES_OPEN}"'
        visit.open_panel()
        box = visit.number("Meter now, km")
        box.fill("140000")
        box.press("Enter")
        visit.page.locator('[data-testid="stSidebarCollapseButton"] button').click()
        visit.page.get_by_text("140,000 km on the meter").wait_for()


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
