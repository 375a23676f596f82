"""From a change to the new verdict on the page, in a real browser.

    python -m tests.benchmarks.page_speed [CHANGES]

Each change is typed into the page of the road-car example and timed in the browser: from the key
that commits it to the first frame in which the verdict reads otherwise. Prints median and 95th
percentile of the seconds, and the server's processor time to the verdict and until the page is at
rest: on a busy machine only the processor time may be compared. Then the same kinds of change
without a browser: which parts of the page the processor time goes to.
"""

from __future__ import annotations

import importlib
import os
import shutil
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from itertools import cycle
from pathlib import Path
from typing import Any

from riskmodel.page import log_file
from riskmodel.words import screen
from tests.page.browsing import ARGS, PATIENCE, Visit, click_cell, opened, served

CHANGES = 50
SAMPLE_EVERY = 12
SAMPLES, LEAD_COLUMN, LEAD = 10, 3, 6.0
"""Rows in the example's table of samples, how many columns right of the meter lead stands, and how
much of it there is in the newest [ppm]."""
TABLE_ROWS = ".dvn-scroller"
"""What scrolls within a table that can be edited."""
PAUSE = 60
"""Milliseconds between two keys in a table."""
UNCHANGED = 30_000
"""Milliseconds after which a verdict counts as one that reads the same for the new figure."""
KINDS: dict[str, tuple[str, float, float]] = {
    "price": ("Replacement in time, EUR, to", 3_100, 150),
    "keep-until": ("Keep for, years", 3, 0.5),
    "reading": ("Meter now, km", 124_000, 3_000),
    "yearly use": ("Usage per year, km", 11_500, 700),
    "visible lead": (
        "A look shows wear so long before failure (visible lead), km, to",
        60_000,
        25_000,
    ),
    "failure": ("Failure, EUR, to", 18_000, 700),
}
"""Label of each figure, where it stands, and by how far it moves."""

LISTEN = """() => {
    window.committed = 0
    addEventListener('keydown', e => { if (e.key === 'Enter') committed = performance.now() }, true)
}"""
CHANGED = """before => {
    const box = document.querySelector('.verdict')
    return box && box.innerText !== before ? performance.now() - window.committed : false
}"""
PARTS: dict[str, tuple[str, ...]] = {
    "the answer": ("riskmodel.page.answer:begin", "riskmodel.page.answer:basis"),
    "how it was driven": ("riskmodel.page.use:section",),
    "what the oil says": ("riskmodel.page.oil:section",),
    "what the records say": ("riskmodel.page.learned:section",),
    "what the last change did": ("riskmodel.page.changes:last",),
    "figures and tables": (
        "riskmodel.page.figures:main_figures",
        "riskmodel.page.figures:more_figures",
        "riskmodel.page.data:behind",
    ),
}
"""Functions of the page that take the most, by what they show."""


def cpu_of(server: int) -> float:
    """Processor time of a process so far [s]."""
    fields = Path(f"/proc/{server}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def server_at(address: str) -> int:
    """The process that serves an address, by the port in its command line."""
    port = address.rpartition(":")[2].encode()
    for place in Path("/proc").glob("[0-9]*"):
        try:
            words = (place / "cmdline").read_bytes().split(b"\0")
        except OSError:
            continue
        if b"--server.port" in words and port in words:
            return int(place.name)
    raise LookupError(address)


def commit(visit: Visit, kind: str, figure: float, held: float) -> None:
    """Types a figure over the one that stands there; `held` is that of a sample."""
    if kind == "sample":
        lead_of_last_sample(visit, f"{figure:.0f}", f"{held:.0f}")
        return
    box = visit.number(KINDS[kind][0])
    box.fill(f"{figure:g}")
    box.press("Enter")


def lead_of_last_sample(visit: Visit, ppm: str, held: str) -> None:
    """Types another amount of lead over that of the newest sample, which is `held`.

    Raises LookupError where its cell is not to be found: nothing is typed into any other.
    """
    from playwright.sync_api import TimeoutError as NotThere

    part = visit.page.locator("[data-testid=stExpander]", has_text=screen.SAMPLES).first
    box = visit.page.locator("#portal textarea")
    for _ in range(10):  # a table that is just being drawn again lets a click pass by
        # An Enter in the last row goes on to the row below it, which is a new one: the rows have
        # moved up since, and a click on the old place would begin a sample more.
        part.locator(TABLE_ROWS).evaluate("rows => rows.scrollTo(0, 0)")
        click_cell(visit, part, 0, SAMPLES - 1)
        for _ in range(LEAD_COLUMN):
            visit.page.keyboard.press("ArrowRight")
            visit.page.wait_for_timeout(PAUSE)  # keys that come faster get lost
        visit.page.wait_for_timeout(5 * PAUSE)
        visit.page.keyboard.press("Enter")
        try:
            box.wait_for(timeout=3_000)
        except NotThere:
            continue
        if box.input_value() == held:
            box.fill(ppm, timeout=5_000)
            box.press("Enter")
            return
        box.press("Escape")  # a key was lost on the way, and this is another cell
    raise LookupError(f"no cell with {held} ppm of lead")


def figures(count: int) -> Iterator[tuple[str, float]]:
    """The changes: the kinds in turn, each time a figure that was not there before, to either side
    of the example's own by turns so that the case stays the size it is; a meter goes up alone."""
    asked = dict.fromkeys(KINDS, 0)
    kinds = cycle(KINDS)
    samples = 0
    for number in range(count):
        if number % SAMPLE_EVERY == SAMPLE_EVERY - 1:
            # Up and down: far above its level, more lead says no more than much lead.
            yield "sample", LEAD + samples // 2 + (1 if samples % 2 else 6)
            samples += 1
            continue
        kind = next(kinds)
        _, start, step = KINDS[kind]
        asked[kind] += 1
        if kind == "reading":
            yield kind, start + step * asked[kind]
        else:
            side = 1 if asked[kind] % 2 else -1
            yield kind, round(start + side * step * (1 + asked[kind] / 20), 2)


def timed(count: int) -> dict[str, list[tuple[float, float, float]]]:
    """For each change the seconds to the verdict, and the processor time to it and to rest."""
    from playwright.sync_api import TimeoutError as NeverChanged
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium")
    found: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    with (
        tempfile.TemporaryDirectory() as folder,
        served(Path(folder), Path(folder) / "server.log") as address,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=ARGS)
        page = browser.new_page(viewport={"width": 1280, "height": 1400})
        page.set_default_timeout(PATIENCE)
        visit = Visit(page, address)
        page.goto(f"{address}/?example=road-car")
        visit.box("verdict")
        page.evaluate(LISTEN)
        page.locator("section[data-testid=stSidebar] summary", has_text=screen.MORE_FIGURES).click()
        opened(visit, screen.SAMPLES)
        visit.settle()
        server, held = server_at(address), LEAD
        for kind, figure in figures(count):
            before = page.locator(".verdict").inner_text()
            start = cpu_of(server)
            try:
                commit(visit, kind, figure, held)
                held = figure if kind == "sample" else held
                handle = page.wait_for_function(
                    CHANGED, arg=before, polling="raf", timeout=UNCHANGED
                )
            except NeverChanged:
                print(f"  no new verdict to be seen after {kind} {figure:g}: not counted")
                continue
            seconds = handle.json_value() / 1000
            to_verdict = cpu_of(server) - start
            page.wait_for_timeout(200)
            visit.settle()
            found[kind].append((seconds, to_verdict, cpu_of(server) - start))
        browser.close()
    return found


@contextmanager
def watched(spent: dict[str, float]) -> Iterator[None]:
    """Adds up the processor time of `PARTS` in this process."""
    undo: list[tuple[Any, str, Callable[..., Any]]] = []

    def watch(part: str, module: Any, name: str) -> None:
        real = getattr(module, name)

        @wraps(real)
        def counted(*args: Any, **more: Any) -> Any:
            start = time.thread_time()
            try:
                return real(*args, **more)
            finally:
                spent[part] += time.thread_time() - start

        undo.append((module, name, real))
        setattr(module, name, counted)

    for part, places in PARTS.items():
        for place in places:
            module, _, name = place.partition(":")
            watch(part, importlib.import_module(module), name)
    try:
        yield
    finally:
        for module, name, real in undo:
            setattr(module, name, real)


def recomputed() -> None:
    """Prints which parts of the page a change of each kind sets to work."""
    from tests.page.conftest import Page

    with tempfile.TemporaryDirectory() as folder:
        os.environ[log_file.VARIABLE] = str(Path(folder) / "log.sqlite")
        page = Page()
        spent: dict[str, float] = defaultdict(float)
        print("\nprocessor time of one change without a browser [s]")
        print("  " + " " * 14 + "".join(f"{part:>24}" for part in PARTS) + f"{'whole run':>12}")
        with watched(spent):
            for kind, (label, start, step) in KINDS.items():
                spent.clear()
                began = time.process_time()
                page.type(label, start + 1.5 * step)
                whole = time.process_time() - began
                told = "".join(f"{spent[part]:24.3f}" for part in PARTS)
                print(f"  {kind:14}{told}{whole:12.3f}")
        log_file.close()


def percentile(values: list[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, round(share * (len(ordered) - 1)))]


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else CHANGES
    load = os.getloadavg()[0]
    found = timed(count)
    print(f"{count} changes of the road car; load {load:.1f} on {os.cpu_count()} cores before")
    print("                seconds to the verdict   processor time, median")
    print("                 median        95th      to the verdict  to rest")
    rows = [*found.items(), ("all", [each for kind in found.values() for each in kind])]
    for kind, each in rows:
        seconds, verdict, rest = (list(column) for column in zip(*each, strict=True))
        print(
            f"  {kind:14}{statistics.median(seconds):7.2f}{percentile(seconds, 0.95):12.2f}"
            f"{statistics.median(verdict):16.2f}{statistics.median(rest):12.2f}"
        )
    recomputed()


if __name__ == "__main__":
    main()
