"""The whole way in a real browser, from an empty log to the report, watched all along.

Not one error or warning in the browser's console, not one request to anybody but the page's own
server, and at each main state no serious finding of axe-core.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest

from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.entries import Job, MachineRetired, SampleTaken
from riskmodel.records.log.log import Log
from riskmodel.words import first_visit, oil_linings, screen, versions
from riskmodel.words import log_page_forms as forms
from riskmodel.words import log_page_workshop as workshop
from tests.page import axe
from tests.page.browsing import DESK, PATIENCE, PHONE, Visit, Window, served
from tests.page.first_machine import NAME, begin
from tests.page.log_made import exact_case

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ConsoleMessage, Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

OWN_HOSTS = ("127.0.0.1", "localhost")
INSIDE = ("data", "blob", "about")
"""What the browser makes up itself: it asks nobody."""


class Watch:
    """Listens to all that a page asks for and says."""

    def __init__(self, page: Page) -> None:
        self.asked: list[str] = []
        self.said: list[str] = []
        page.on("request", lambda request: self.asked.append(request.url))
        page.on("websocket", lambda socket: self.asked.append(socket.url))
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.said.append(f"page error: {error}"))

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.said.append(f"{message.type}: {message.text}")

    @property
    def outside(self) -> list[str]:
        """Addresses asked for that are not of this computer."""
        parts = [(urlsplit(url), url) for url in self.asked]
        return [
            url
            for part, url in parts
            if part.scheme not in INSIDE and part.hostname not in OWN_HOSTS
        ]


@pytest.fixture
def empty(chromium: str, tmp_path: Path) -> Iterator[str]:
    """A server whose log is still empty."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    with served(folder, tmp_path / "server.log") as url:
        yield url


@contextmanager
def stranger(browser: Window, url: str, size: tuple[int, int], scheme: str) -> Iterator[Visit]:
    """Somebody at the page for the first time, in a window of a size and a colour scheme."""
    made: Browser | None = browser.context.browser
    assert made is not None
    width, height = size
    context = made.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if scheme == "dark" else "light",
    )
    try:
        page = context.new_page()
        page.set_default_timeout(PATIENCE)
        yield Visit(page, url)
    finally:
        context.close()


def readable(visit: Visit, state: str) -> None:
    """Nothing serious for axe-core, nothing over the side, one main heading."""
    visit.settle()
    assert axe.serious(visit.page) == [], state
    assert visit.over_the_side() == [], state
    assert visit.page.locator("h1").count() == 1, state


def unfold_all(visit: Visit) -> None:
    for summary in visit.page.locator("[data-testid=stMain] summary").all():
        summary.evaluate("e => e.parentElement.open || e.click()")
    visit.settle()


def pick(visit: Visit, label: str, option: str) -> None:
    """Chooses from a list by typing the option's beginning."""
    box = visit.page.get_by_role("combobox", name=label).first
    box.scroll_into_view_if_needed()
    box.click()
    box.press_sequentially(option[:12])
    visit.page.get_by_role("option", name=option).first.click()
    visit.settle()


def enter_in_log(visit: Visit, kind: str, figures: dict[str, str]) -> None:
    """Fills in one of the short forms of the log and enters it."""
    pick(visit, forms.ASK, forms.FORMS[kind])
    form = visit.page.locator("[data-testid=stForm]", has_text=forms.ENTER).last
    form.get_by_label(list(figures)[-1], exact=True).first.wait_for()  # the one before lacks it
    visit.settle()
    for label, text in figures.items():
        box = form.get_by_label(label, exact=True).first
        box.fill(text)
        box.press("Tab")
    form.get_by_role("button", name=forms.ENTER).click()
    visit.page.get_by_text(forms.ENTERED).first.wait_for()
    visit.settle()


def test_from_the_first_visit_to_the_report(browser: Window, empty: str, tmp_path: Path) -> None:
    with stranger(browser, empty, DESK, "light") as visit:
        page = visit.page
        watch = Watch(page)
        page.goto(empty)
        page.get_by_role("button", name=first_visit.DO).wait_for()
        readable(visit, "first visit")

        begin(visit)
        first = visit.box("verdict")
        assert "machine=" in page.url
        assert page.locator(".example").count() == 0

        pick(visit, oil_linings.CHOOSE, "Copper-lead")
        page.get_by_role("button", name=oil_linings.FILL_IN).click()
        page.get_by_text(oil_linings.TAKE_OUT).wait_for()
        enter_in_log(visit, "taken", {"Meter, km": "121500", "Usage on that oil, km": "7500"})
        page.get_by_text("121,500 km on the meter").first.wait_for()
        before = visit.box("verdict")
        assert before != first
        enter_in_log(visit, "back", {"Pb, ppm": "60", "Cu, ppm": "90"})
        page.wait_for_function(
            "before => (document.querySelector('.verdict')?.innerText ?? before)"
            ".replaceAll('\\u00a0', ' ') !== before",
            arg=before,
        )
        visit.settle()
        told = visit.box("verdict")
        unfold_all(visit)
        readable(visit, "with a sample, all unfolded")

        page.reload()
        visit.box("verdict")
        visit.settle()
        assert visit.box("verdict") == told

        page.get_by_text("A knock", exact=True).click()
        assert "Do not start the engine" in visit.box("stop")
        visit.settle()
        assert page.locator(".verdict").count() == 0
        readable(visit, "a symptom")
        page.get_by_text("A knock", exact=True).click()
        assert visit.box("verdict") == told
        visit.settle()

        page.get_by_role("button", name=screen.MAKE_REPORT).click()
        page.get_by_role("button", name=screen.REPORT_PDF).wait_for()
        for name, start in ((screen.REPORT_PDF, b"%pdf"), (screen.REPORT_HTML, b"<!doctype html")):
            with page.expect_download() as download:
                page.get_by_role("button", name=name).click()
            path = tmp_path / download.value.suggested_filename
            download.value.save_as(path)
            assert path.read_bytes().lower().startswith(start)

        page.goto(f"{empty}/?screen=workshop")
        page.get_by_role("heading", name=workshop.TITLE).wait_for()
        page.get_by_role("link", name=NAME).first.wait_for()
        unfold_all(visit)
        readable(visit, "all machines")

        assert len(watch.asked) > 10
        assert any(url.startswith("ws") for url in watch.asked)
        assert watch.outside == []
        assert watch.said == []


@pytest.mark.parametrize(("example", "scheme"), [("road-car", "light"), ("work-boat", "dark")])
def test_on_a_phone_every_screen_is_readable_by_day_and_by_night(
    browser: Window, address: str, example: str, scheme: str
) -> None:
    with stranger(browser, address, PHONE, scheme) as visit:
        page = visit.page
        watch = Watch(page)
        page.goto(f"{address}/?screen=start")
        page.get_by_role("button", name=first_visit.DO).wait_for()
        readable(visit, "first visit")
        page.goto(f"{address}/?example={example}")
        visit.box("verdict")
        unfold_all(visit)
        readable(visit, "answer, all unfolded")
        ground = page.locator(".stApp").evaluate("e => getComputedStyle(e).backgroundColor")
        light = sum(int(part) for part in re.findall(r"\d+", ground)[:3]) > 3 * 128
        assert light == (scheme == "light"), ground
        page.get_by_text("Low oil pressure", exact=True).click()
        visit.box("stop")
        readable(visit, "a symptom")
        page.goto(f"{address}/?screen=workshop")
        page.get_by_role("heading", name=workshop.TITLE).wait_for()
        readable(visit, "all machines")
        assert watch.outside == []
        assert watch.said == []


def kept_machines(place: Path) -> None:
    """A log with a machine of every kind of row: a symptom, an overdue sample, no part, given up,
    taken out, and one with the longest name."""
    made = [
        exact_case("Blue estate"),
        exact_case("Delivery van", symptoms=["knock"]),
        exact_case("A van with a name as long as a workshop types it, of the second fleet"),
        exact_case("Hatchback"),
        exact_case("Old runabout"),
        exact_case("Taken out"),
    ]
    with Log.create(place) as log:
        names = [import_case(log, case, author="Ann").machine for case in made]
        log.add(
            SampleTaken(7_500.0, reading=99_000.0, date="2026-10-01"),
            author="Ann",
            machine=names[2],
        )
        log.add(
            Job(100_500.0, "2026-11-10", replaced=False, failed=True),
            author="Ann",
            machine=names[3],
        )
        log.add(MachineRetired(100_100.0, "2026-11-05"), author="Ann", machine=names[4])
        log.undo(log.history(names[5])[0].seq, author="Ann")


def in_every_look(visit: Visit, state: str) -> None:
    """Readable by day and by night, on a desk and on a phone."""
    page = visit.page
    for width, height in (DESK, PHONE):
        page.set_viewport_size({"width": width, "height": height})
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            page.wait_for_function(
                "dark => [...getComputedStyle(document.querySelector('.stApp')).backgroundColor"
                ".matchAll(/\\d+/g)].slice(0, 3).every(part => (Number(part) < 128) === dark)",
                arg=scheme == "dark",
            )
            readable(visit, f"{state}, {width} px, {scheme}")


def test_a_full_list_of_machines_and_two_versions_are_readable_in_every_look(
    browser: Window, chromium: str, tmp_path: Path
) -> None:
    folder = tmp_path / "kept"
    folder.mkdir()
    kept_machines(folder / "log.sqlite")
    with (
        served(folder, tmp_path / "server.log") as url,
        stranger(browser, url, DESK, "light") as visit,
    ):
        page = visit.page
        watch = Watch(page)
        page.goto(f"{url}/?screen=workshop")
        page.get_by_role("link", name="Blue estate").first.wait_for()
        visit.settle()
        unfold_all(visit)
        assert page.get_by_text("Bring back Taken out").is_visible()
        in_every_look(visit, "all machines")

        page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
        page.get_by_role("link", name="Blue estate").first.click()
        visit.box("verdict")
        visit.settle()
        page.get_by_role("button", name=versions.OFFER).click()
        page.get_by_text(versions.NOTHING_YET).wait_for()
        visit.settle()
        box = visit.number("Keep for, years")
        box.fill("5")
        box.press("Enter")
        page.locator("table.figures", has_text=versions.ON_AVERAGE).wait_for()
        unfold_all(visit)
        in_every_look(visit, "two versions")
        assert watch.outside == []
        assert watch.said == []


def test_the_watch_notices(browser: Window, empty: str) -> None:
    """What the flow relies on: a finding, an outside address and a warning are all caught."""
    with stranger(browser, empty, DESK, "light") as visit:
        page = visit.page
        watch = Watch(page)
        page.route("**/*example.org*/**", lambda route: route.abort())
        page.goto(empty)
        visit.settle()
        page.evaluate(
            "document.querySelector('h1').insertAdjacentHTML('afterend',"
            " '<p style=\"color:#bbb;background:#fff\">pale</p>'"
            " + '<img src=\"http://www.example.org/a.png\">')"
        )
        page.evaluate("console.warn('careful')")
        page.wait_for_timeout(300)
        rules = {text.split(":")[0] for text in axe.serious(page)}
        assert {"color-contrast", "image-alt"} <= rules
        assert watch.outside == ["http://www.example.org/a.png"]
        assert "warning: careful" in watch.said
