"""Names meant to do harm are shown on the page and saved from it as the plain text that they are.

The same names as in the report's test: tags and scripts, formulas, other writing directions, ten
thousand letters, emoji, control characters. What no case may hold is refused, and told harmlessly.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
import tomli_w

from riskmodel.page import log_file
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.errors import InputError
from riskmodel.records.files import CASE_FILE, case_to_files, changed
from riskmodel.records.log.bridge import export_case, import_case
from riskmodel.records.log.entries import MeterReading
from riskmodel.records.log.folder import export_log, import_log
from riskmodel.records.log.log import Log
from riskmodel.records.log.payload import LONGEST_NOTE
from riskmodel.records.scalars import LONGEST_TEXT, text_fault
from riskmodel.words import log_page, screen
from riskmodel.words import log_page_forms as forms
from tests.page.browsing import PATIENCE, PHONE, Visit, Walk, opened
from tests.page.conftest import Page
from tests.report import made

FORMULAS = ("=cmd|' /C calc'!A1", "+1+1", "-2+3", "@SUM(A1)")
OUR_TAGS = {
    "a", "br", "dd", "div", "dl", "dt", "h1", "h2", "h3", "li", "ol", "p", "script", "strong",
    "style", "table", "tbody", "td", "th", "thead", "tr", "ul", "wbr",
}  # fmt: skip
BARE = """() => [
    [...document.querySelectorAll('.stMain b, .stMain iframe, .stMain object')].length,
    [...document.querySelectorAll('img')].map(e => e.src).filter(s => s.includes('example')),
    [...document.querySelectorAll('a')].map(e => e.href)
        .filter(s => s.includes('example') && !s.startsWith(location.origin)),
    window.harmed === undefined,
]"""


def fitting(text: str) -> str:
    """As much of a text as a case may hold: one line of 200 characters, none of them a control."""
    kept = "".join(sign for sign in text if text_fault(sign) is None)
    return kept[:LONGEST_TEXT]


def hostile_case() -> Case:
    """The report's hostile case with what no case may hold taken out, and with hostile tables."""
    case = made.hostile().case
    cost = case.cost
    jobs = [replace(line, job=fitting(line.job)) for line in cost.while_open]
    ends = [replace(line, name=fitting(line.name)) for line in cost.consequence]
    jobs += [replace(jobs[0], job=text) for text in FORMULAS]
    case = replace(
        case,
        part=replace(case.part, lining=fitting(case.part.lining), traits={}),
        cost=replace(cost, while_open=tuple(jobs), consequence=tuple(ends)),
    )
    words = [fitting(text) for text in made.HOSTILE if not text.startswith(("=", "+", "-", "@"))]
    rows = [
        (str(60_000 + 9_000 * i), "failed" if i % 3 == 0 else "running", words[i % len(words)])
        for i in range(24)
    ]
    samples = [(110_000, 9_000, words[0], 20), (120_000, 9_000, words[3], 30)]
    lead = {"symbol": "Pb", "typical": [0.2, 0.9], "from_part": True}
    return changed(
        case,
        {"life.records": "records.csv", "oil.samples": "oil.csv", "oil.element": [lead]},
        {
            "records.csv": table(("age", "outcome", "use"), rows),
            "oil.csv": table(("reading", "oil_age", "lab", "Pb"), samples),
        },
    )


def table(
    header: tuple[str, ...], rows: list[tuple[object, ...]] | list[tuple[str, str, str]]
) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerows([header, *rows])
    return text.getvalue().encode("utf-8")


@pytest.fixture(scope="module")
def case() -> Case:
    return hostile_case()


def test_the_case_holds_every_kind_of_harm(case: Case) -> None:
    everything = b"".join(case_to_files(case).values()).decode("utf-8")
    for part in ("<script>alert(1)</script>", "HYPERLINK", "=cmd", "‮", "😀", "A" * LONGEST_TEXT):
        assert part in everything


def test_a_saved_case_reads_back_the_same(case: Case) -> None:
    again = case_from_zip(case_to_zip(case))
    assert again == case
    assert case_to_files(again) == case_to_files(case)


@pytest.mark.parametrize("text", [made.HOSTILE[4], made.HOSTILE[5], made.HOSTILE[6]])
def test_what_no_case_may_hold_is_refused_and_told_harmlessly(text: str) -> None:
    raw = {"format": 1, "machine": {"name": text + "<img src=x onerror=alert(1)>", "unit": "km"}}
    page = Page()
    before = page.part("verdict")
    page.offer((CASE_FILE, tomli_w.dumps(raw).encode("utf-8")))
    assert any(screen.NOT_READ in each.value for each in page.app.error)
    assert max(len(word) for word in page.text.split(">")) < 5_000
    assert tags(page) <= OUR_TAGS
    assert page.part("verdict") == before


def tags(page: Page) -> set[str]:
    """Every element that the page's own HTML opens."""
    found: set[str] = set()

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            found.add(tag)
            assert not [key for key, _ in attrs if key.startswith("on")]

    for body in page.html:
        reader = Reader()
        reader.feed(body)
        reader.close()
    return found


def taken_in(case: Case) -> tuple[Log, str]:
    log = log_file.made()
    name = import_case(log, case, author="<b>me</b>", source='"=cmd"').machine
    return log, name


@pytest.mark.slow
def test_the_page_shows_them_as_text(case: Case) -> None:
    log, name = taken_in(case)
    page = Page(machine=name)
    assert tags(page) <= OUR_TAGS
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page.text
    labels = [box.label for box in (*page.app.number_input, *page.app.text_input)]
    assert not [text for text in labels if "<script>" in text or "[*bold*]" in text]
    assert log.machine(name).name == case.machine.name
    page = Page(screen="workshop")
    assert tags(page) <= OUR_TAGS
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page.text


def test_the_log_keeps_and_exports_them_harmlessly(case: Case, tmp_path: Path) -> None:
    log, name = taken_in(case)
    note = ("\n".join((made.HOSTILE[0], *FORMULAS)) + "A" * 10_000)[:LONGEST_NOTE]
    log.add(
        MeterReading(reading=125_000.0, date="2026-11-20", note=note), machine=name, author="=me"
    )
    with pytest.raises(InputError):  # longer ones are refused, not cut
        log.add(
            MeterReading(reading=126_000.0, date="2026-11-21", note="A" * 10_000),
            machine=name,
            author="me",
        )
    export_log(log, tmp_path / "texts")
    for path in (tmp_path / "texts").glob("*.csv"):
        for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8"))):
            for cell in row:
                assert not cell.startswith(("=", "+", "@")), (path.name, cell)
                assert not cell.startswith("-") or is_number(cell), (path.name, cell)
    import_log(tmp_path / "texts", tmp_path / "again.sqlite")
    with Log.open(tmp_path / "again.sqlite") as again:
        assert again.history() == log.history()
        assert export_case(again, name) == export_case(log, name)
        assert again.history(name)[-1].payload == MeterReading(
            reading=125_000.0, date="2026-11-20", note=note
        )


def is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


@pytest.mark.browser
@pytest.mark.slow
def test_on_a_phone_nothing_runs_and_nothing_sticks_out(
    walk: Walk, case: Case, tmp_path: Path
) -> None:
    file = tmp_path / "hostile.zip"
    file.write_bytes(case_to_zip(case))

    def steps(visit: Visit) -> None:
        page = visit.page
        dialogs: list[str] = []
        page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
        page.evaluate("() => { window.alert = () => { window.harmed = true } }")
        visit.open_panel()
        page.get_by_test_id("stFileUploaderDropzoneInput").first.set_input_files(file)
        page.get_by_text(log_page.TAKEN_IN).wait_for(timeout=PATIENCE)
        visit.box("verdict")
        page.get_by_test_id("stSidebarCollapseButton").get_by_role("button").click()
        visit.settle()
        note = page.locator("[data-testid=stForm]").last.get_by_label(forms.NOTE)
        note.fill("<img src=x onerror=alert(1)>" + "A" * 1_500)
        page.locator("[data-testid=stForm]").last.get_by_label("Meter, km").fill("125000")
        page.locator("[data-testid=stForm]").last.get_by_role("button", name=forms.ENTER).click()
        page.get_by_text(forms.ENTERED).first.wait_for(timeout=PATIENCE)
        opened(visit, forms.HISTORY)
        for summary in page.locator("[data-testid=stMain] summary").all():
            summary.evaluate("e => e.parentElement.open || e.click()")
        assert visit.over_the_side() == []
        assert page.evaluate(BARE) == [0, [], [], True]
        page.goto(f"{visit.address}/?screen=workshop")
        page.get_by_text("<script>alert(1)</script>").first.wait_for()
        assert visit.over_the_side() == []
        assert page.evaluate(BARE) == [0, [], [], True]
        assert dialogs == []

    walk(steps, PHONE)
