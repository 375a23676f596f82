"""Visits to the page in a real browser; the server and the browser are in `conftest`."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from riskmodel.page import log_file
from riskmodel.records.archive import case_from_zip
from riskmodel.records.case import Case
from riskmodel.words import screen

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, ConsoleMessage, Locator, Page, Request

SCRIPT = Path(__file__).resolve().parents[2] / "app.py"
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
DESK, PHONE = (1280, 1400), (390, 844)
ROW, HEADER = 35, 35
"""Heights in a table that can be edited [px]."""

WIDER_THAN_THE_SCREEN = """() =>
    [...document.querySelectorAll('html, body, [data-testid="stMain"]')]
        .filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.tagName)
    .concat([...document.querySelectorAll(
        '.stMainBlockContainer :is(p, td, th, li, dd, summary), .stVegaLiteChart svg')]
        .filter(e => e.checkVisibility() && e.getBoundingClientRect().right > innerWidth + 1)
        .map(e => e.textContent.slice(0, 60)))"""

CHARTS_DRAWN = """() =>
    [...document.querySelectorAll('.stVegaLiteChart')].filter(e => e.checkVisibility())
        .every(e => e.querySelector('svg, canvas'))"""

# Held still for some frames and some time: a table jumps while what stands above it is drawn.
AT_REST = """element => new Promise(done => {
    let place = '', frames = 0, since = 0
    const look = now => {
        const box = element.getBoundingClientRect()
        const found = [box.x, box.y, box.width, box.height].join()
        if (found !== place) [place, frames, since] = [found, 0, now]
        frames += 1
        if (frames > 8 && now - since > 250) done(element.isConnected)
        else requestAnimationFrame(look)
    }
    requestAnimationFrame(look)
})"""


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
        server = subprocess.Popen(
            command,
            cwd=folder,
            stdout=output,
            stderr=subprocess.STDOUT,
            env={**os.environ, log_file.VARIABLE: str(folder / "log.sqlite")},
        )
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


@dataclass
class Visit:
    """One visit: its page, and what it asked for and complained of."""

    page: Page
    address: str
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def note(self, request: Request) -> None:
        self.requests.append(request.url)

    def complain(self, error: object) -> None:
        self.complaints.append(str(error))

    def hear(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.complaints.append(message.text)

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
        """Waits until the page has run to its end and is drawn."""
        self.page.wait_for_function(
            "document.querySelector('.stApp').dataset.testScriptState === 'notRunning'"
            " && !document.querySelector('[data-testid=\"stStatusWidget\"]')"
            " && !document.querySelector('[data-testid=\"stSkeleton\"]')",
            timeout=PATIENCE,
        )

    def over_the_side(self) -> list[str]:
        """What sticks out to the right once every chart in sight is drawn and has had ten seconds
        to fit itself into its place."""
        self.settle()
        self.page.wait_for_function(CHARTS_DRAWN, timeout=PATIENCE)
        wide: list[str] = self.page.evaluate(WIDER_THAN_THE_SCREEN)
        for _ in range(40):
            if not wide:
                break
            self.page.wait_for_timeout(250)
            wide = self.page.evaluate(WIDER_THAN_THE_SCREEN)
        return wide


@dataclass
class Window:
    """The window of a browser, used for one visit after another: what the page is made of is then
    compiled once, which is most of the work. A new one is opened where a visit went wrong."""

    context: BrowserContext
    page: Page | None = None

    def visit(self, address: str) -> Visit:
        """A visit that is about to start, by somebody who was never there before."""
        self.context.clear_cookies()
        if self.page is None:
            self.page = self.context.new_page()
        return Visit(self.page, address)


@contextmanager
def visiting(
    browser: Window, address: str, width: int = 1280, height: int = 1000
) -> Iterator[Visit]:
    """A visit to the example in a window that is `width` by `height`."""
    visit = browser.visit(address)
    page = visit.page
    listeners: tuple[tuple[str, Callable[[Any], None]], ...] = (
        ("request", visit.note),
        ("pageerror", visit.complain),
        ("console", visit.hear),
    )
    try:
        page.set_viewport_size({"width": width, "height": height})
        for event, listener in listeners:
            page.on(event, listener)  # type: ignore[call-overload]
        page.goto(f"{address}/?example=road-car")
        visit.box("verdict")
        visit.settle()
        yield visit
        for event, listener in listeners:
            page.remove_listener(event, listener)
        page.goto("about:blank")
    except BaseException:
        browser.page = None
        page.close()
        raise


@dataclass
class Walk:
    """Takes steps in a browser at the page that is served at `address`."""

    browser: Window
    address: str

    def __call__(self, steps: Callable[[Visit], None], size: tuple[int, int] = DESK) -> None:
        with visiting(self.browser, self.address, *size) as visit:
            steps(visit)
            assert not visit.outside
            assert not visit.complaints


def opened(visit: Visit, title: str) -> Locator:
    """A folded part of the page, unfolded and in sight."""
    visit.settle()  # one that is just being put up forgets that it was unfolded
    part = visit.page.locator("[data-testid=stExpander]", has_text=title).first
    summary = part.locator("summary").first
    summary.click()
    summary.blur()  # an Enter meant for what is inside would fold it again
    part.scroll_into_view_if_needed()
    return part


def click_cell(visit: Visit, part: Locator, column: int, row: int) -> None:
    """Clicks a cell of the table: column 0 is the age, row 0 the first."""
    grid = part.locator("canvas").first
    grid.wait_for()
    visit.settle()
    grid.scroll_into_view_if_needed()
    while not grid.evaluate(AT_REST):
        pass  # it was put up anew meanwhile
    box = grid.bounding_box()
    assert box is not None
    x = box["x"] + (140, 250)[column]
    visit.page.mouse.click(x, box["y"] + HEADER + ROW * row + ROW / 2)


def type_over(visit: Visit, part: Locator, row: int, age: str) -> None:
    """Puts another age into a row, as a person does: click, Enter, type, Enter."""
    from playwright.sync_api import TimeoutError as NotThere

    box = visit.page.locator("#portal input")
    for trial in range(1, 8):  # a table that is just being drawn again lets a click pass by
        click_cell(visit, part, 0, row)
        visit.page.keyboard.press("Enter")
        try:  # longer each time: the next click shuts a box that was only slow to open
            box.wait_for(timeout=1500 * trial)
        except NotThere:
            continue
        break
    box.fill(age)  # keys typed one by one get lost on a busy machine
    assert box.input_value().replace(",", "") == age
    visit.page.keyboard.press("Enter")


def saved(visit: Visit, folder: Path) -> Case:
    """The case as the page saves it; the file is left in `folder`."""
    with visit.page.expect_download() as download:
        visit.page.get_by_role("button", name=screen.DOWNLOAD).click()
    path = folder / download.value.suggested_filename
    download.value.save_as(path)
    return case_from_zip(path.read_bytes())
