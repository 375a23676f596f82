"""Every test process keeps its linear algebra to one thread, as the programs do, no example of a
property fails for being slow (speed is for the benchmarks), and a process drives one browser."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from riskmodel.threads import one_thread

if TYPE_CHECKING:
    from playwright.sync_api import Browser

one_thread()
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")


@pytest.fixture(scope="session")
def launched() -> Iterator[Browser]:
    """The browser of this process: a second one beside it could not be driven."""
    from playwright.sync_api import sync_playwright

    from tests.page.browsing import ARGS
    from tests.page.conftest import CHROMIUM

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        yield opened
        opened.close()
