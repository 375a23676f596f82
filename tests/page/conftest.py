"""The page run without a browser; and for tests in one, the server and the browser."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from streamlit.testing.v1 import AppTest

from riskmodel.page import log_file
from riskmodel.words import screen
from tests.page.browsing import SCRIPT, Visit, Walk, Window, served, visiting

if TYPE_CHECKING:
    from playwright.sync_api import Browser

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("chrome")


class Page:
    """The page as a visitor meets it, by the labels that stand on it."""

    def __init__(self, **address: str) -> None:
        """At an address, left out: that of the example; `screen=""` is an address without any."""
        self.app = AppTest.from_file(str(SCRIPT), default_timeout=60)
        for name, value in (address or {"example": "road-car"}).items():
            self.app.query_params[name] = value
        self.run()

    def run(self) -> None:
        self.app.run()
        assert not self.app.exception

    @property
    def html(self) -> list[str]:
        return [element.proto.body for element in self.app.get("html")]

    @property
    def text(self) -> str:
        """All prose and tables of the page, no-break spaces as plain ones."""
        prose = (body for body in self.html if not body.startswith(("<style>", "<script>")))
        return "\n".join(prose).replace("\u00a0", " ")

    def part(self, kind: str) -> str:
        """The box of a kind ("verdict", "stop", "example"); empty where there is none."""
        start = f'<div class="{kind}">'
        return next((b.replace("\u00a0", " ") for b in self.html if b.startswith(start)), "")

    @property
    def headers(self) -> list[str]:
        return [header.value for header in self.app.main.header]

    def type(self, label: str, value: float | None) -> None:
        """Types into the box whose label begins so."""
        box = next(box for box in self.app.number_input if box.label.startswith(label))
        box.set_value(value)
        self.run()

    def tick(self, label: str) -> None:
        box = next(box for box in self.app.checkbox if box.label == label)
        box.set_value(not box.value)
        self.run()

    def choose(self, label: str, value: str) -> None:
        """Chooses one of the options under a label by its value in the program."""
        radio = next(radio for radio in self.app.radio if radio.label == label)
        radio.set_value(value)
        self.run()

    def open(self, folder: str) -> None:
        self.choose(screen.CHOOSE, folder)

    def offer(self, *files: tuple[str, bytes]) -> None:
        """Offers files, as if dropped on the uploader together."""
        kind = "application/octet-stream"
        self.app.file_uploader[0].set_value([(name, data, kind) for name, data in files])
        self.run()


@pytest.fixture(autouse=True)
def own_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A log of the test's own, never the one of whoever runs it."""
    path = tmp_path / "own" / "log.sqlite"
    monkeypatch.setenv(log_file.VARIABLE, str(path))
    yield path
    log_file.close()


@pytest.fixture
def page() -> Page:
    return Page()


@pytest.fixture(scope="session")
def chromium() -> str:
    """Debian's chromium; nothing is downloaded. Without one the browser tests are skipped, but
    where CI is set they fail: there a skip would hide that nobody looked."""
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
def browser(chromium: str, launched: Browser) -> Iterator[Window]:
    """One window for all visits; what a page may keep of a visit is forgotten before the next."""
    context = launched.new_context()
    context.add_init_script("localStorage.clear(); sessionStorage.clear()")
    yield Window(context)
    context.close()


@pytest.fixture
def walk(browser: Window, address: str) -> Walk:
    return Walk(browser, address)


@pytest.fixture
def visit(browser: Window, address: str) -> Iterator[Visit]:
    with visiting(browser, address) as opened:
        yield opened
