"""The owner's report: what it says, that it keeps to its pages, and what kind of file it is."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape

import pytest

from riskmodel import words
from riskmodel.decision.results import Weighing
from riskmodel.report import owner
from riskmodel.report.owner.document import (
    Block,
    Box,
    Columns,
    Document,
    Heading,
    Picture,
    Table,
)
from riskmodel.report.owner.to_pdf import SIZES, pages_of
from riskmodel.words import formats, report
from tests.report import made, printed
from tests.report.printed import needs_poppler
from tests.words.weighings import plain_case, weighing, with_values


def blocks(document: Document) -> list[Block]:
    """All blocks, those within others too."""
    found: list[Block] = []
    waiting: list[Block] = [block for part in document.parts for block in part.blocks]
    while waiting:
        block = waiting.pop(0)
        found.append(block)
        if isinstance(block, Box):
            waiting = [*block.blocks, *waiting]
        if isinstance(block, Columns):
            waiting = [*(b for _, inner in block.parts for b in inner), *waiting]
    return found


@pytest.fixture(scope="module", params=made.EXAMPLES)
def example(request: pytest.FixtureRequest) -> tuple[Weighing, bytes, str]:
    w, changes = made.example(request.param)
    assert w.best is not None
    assert changes[0].at == w.best.at
    assert changes[0].cost == pytest.approx(w.best.cost.value, rel=1e-6)
    return w, owner.report_pdf(w, changes), owner.report_html(w, changes)


@needs_poppler
def test_the_examples_fill_one_or_two_pages(example: tuple[Weighing, bytes, str]) -> None:
    assert printed.pages(example[1]) in (1, 2)


@needs_poppler
def test_text_can_be_selected_and_says_what_the_terminal_says(
    example: tuple[Weighing, bytes, str],
) -> None:
    w, pdf, html = example
    said = printed.text(pdf)
    wanted = [
        words.headline(w),
        *words.ceiling_sentences(w),
        *words.chance_sentences(w),
        words.plans_assumption(w),
        *words.next_steps(w),
        *words.cautions(w.case),
        *words.notes(w),
        words.example_banner(w.case) or "",
        *report.waiting_a_year(w),
    ]
    for sentence in wanted:
        assert printed.plain(sentence) in said, sentence
    for plan in (w.plans[0], w.plans[-1], w.best):
        assert plan is not None
        assert printed.plain(formats.chance_short(plan.failure)) in said
    assert "EXAMPLE" in html


@needs_poppler
def test_date_and_stop_stand_on_every_page(example: tuple[Weighing, bytes, str]) -> None:
    w, pdf, _ = example
    for page in range(1, printed.pages(pdf) + 1):
        said = printed.text(pdf, "-f", str(page), "-l", str(page))
        assert printed.plain(report.dated(w.case, w.case.machine.date)) in said
        assert report.FOOT in said
        assert report.EXAMPLE_FOOT in said


@needs_poppler
def test_it_is_tagged_with_language_title_and_embedded_fonts(
    example: tuple[Weighing, bytes, str],
) -> None:
    """As PDF/UA-1 (ISO 14289-1) asks: tagged, titled, headings in order, figures with a text."""
    w, pdf, _ = example
    found = printed.info(pdf)
    assert found["Tagged"] == "yes"
    assert found["JavaScript"] == "no"
    assert found["Title"] == printed.plain(report.document_title(w.case))
    assert b"/Lang" in pdf
    assert b"pdfuaid:part" in pdf
    rows = printed.fonts(pdf)
    assert rows
    assert all(row[1:] == ["yes", "yes", "yes"] for row in rows), rows
    assert not any("LastResort" in row[0] for row in rows)
    tags = printed.structure(pdf)
    levels = [tag for tag in tags if re.fullmatch(r"H\d", tag)]
    assert levels[0] == "H1"
    assert levels.count("H1") == 1
    assert set(levels) == {"H1", "H2"}
    assert {"Table", "TH", "TD", "Figure", "L", "LI"} <= set(tags)
    assert tags.count("Figure") == 5


def test_every_picture_says_in_words_what_it_shows() -> None:
    w, changes = made.told()
    pictures = [b for b in blocks(owner.owner_document(w, changes)) if isinstance(b, Picture)]
    assert len(pictures) == 5
    for picture in pictures:
        assert re.search(r"\d+ of 100", picture.alt)
        assert "between" in picture.alt or "at most" in picture.alt or "as many as" in picture.alt
    for picture in pictures[1:]:
        assert picture.figure.endswith("of 100")
        assert "to" in picture.figure


def test_the_four_pictures_are_of_the_soonest_the_verdict_a_year_and_never() -> None:
    w, changes = made.told()
    shown = [b.title for b in blocks(owner.owner_document(w, changes)) if isinstance(b, Picture)]
    assert shown[1:] == ["Now", "Next oil change", "In a year", "Never"]


def test_all_plans_are_told_in_the_same_columns_with_their_intervals() -> None:
    w, _ = made.told()
    table = next(b for b in blocks(owner.owner_document(w)) if isinstance(b, Table))
    assert table.columns == report.PLAN_COLUMNS
    assert table.marked is not None
    assert table.rows[table.marked][0].startswith("At the next oil change")
    for row in table.rows:
        for cell in row[1:4]:
            assert re.search(r"\(.*to.*\)", cell), row
    by_name = {row[0]: row for row in table.rows}
    # of 100, those with a failure and those without: 4 and 96, and the ends the other way round
    assert printed.plain(by_name["Now"][2]) == "4 (2 to 6)"
    assert printed.plain(by_name["Now"][3]) == "96 (94 to 98)"


def test_the_same_input_gives_the_same_bytes() -> None:
    w, changes = made.told()
    first = owner.report_pdf(w, changes, sheets=True)
    assert owner.report_pdf(w, changes, sheets=True) == first
    assert owner.report_pdf(w, changes, date="2026-12-24", sheets=True) != first
    assert owner.report_html(w, changes) == owner.report_html(w, changes)


def test_a_report_made_later_tells_both_days() -> None:
    w, _ = made.told()
    said = printed.plain(owner.report_html(w, date="2026-12-24"))
    assert "Report of 24 December 2026, figures of 1 November 2026" in said
    undated = replace(w, case=with_values(w.case, "machine", date=None))
    assert "Report of" not in owner.report_html(undated)
    assert "Report of 24 December 2026" in printed.plain(
        owner.report_html(undated, date="2026-12-24")
    )


def test_symptoms_leave_stop_and_nothing_else() -> None:
    w = made.knocking()
    html = printed.plain(unescape(owner.report_html(w)))
    assert words.stop_heading(w.case) in html
    for text in words.stop_text(w.case):
        assert printed.plain(text) in html
    body = html.partition("</style>")[2]
    for told in ("of 100", "EUR", "cheapest", "Cheapest", "<img", "<table", "oil change"):
        assert told not in body
    assert len(owner.report_pdf(w)) < 60_000


@needs_poppler
def test_symptoms_leave_one_page_without_a_chance_or_a_price() -> None:
    pdf = owner.report_pdf(made.knocking())
    said = printed.text(pdf)
    assert printed.pages(pdf) == 1
    assert "of 100" not in said
    assert "EUR" not in said


@pytest.mark.parametrize("unit", ["km", "mi", "h"])
@pytest.mark.parametrize(
    "costs",
    [(4000.0, 5000.0, 6000.0), (5000.0, 4000.0, 6000.0), (5000.0, 6000.0, 4000.0)],
)
def test_every_kind_of_verdict_keeps_to_two_pages(unit: str, costs: tuple[float, ...]) -> None:
    w = weighing(plain_case(unit), costs=costs, failures=(0.04, 0.1, 0.3))
    document = owner.owner_document(w)
    assert pages_of(document, SIZES[0]) <= 2


def test_a_limit_that_none_keeps_is_said() -> None:
    w = weighing(with_values(plain_case(), "plan", most_risk=0.01))
    said = printed.plain(owner.report_html(w))
    assert "No plan keeps to that" in said


def test_a_figure_that_changes_names_the_plan_and_what_keeping_costs() -> None:
    w, changes = made.told()
    tables = [b for b in blocks(owner.owner_document(w, changes)) if isinstance(b, Table)]
    rows = [[printed.plain(cell) for cell in row] for row in tables[-1].rows]
    assert rows[0] == ["all is as entered", "next oil change", "EUR 5,180", ""]
    assert rows[1][1:] == ["2nd oil change", "EUR 7,610", "EUR 290 more"]
    assert rows[2][1] == "never"
    assert rows[3][1] == "now"
    assert rows[4][3] == "the same: nothing changes"


def test_headings_follow_the_order_of_the_answer() -> None:
    w, changes = made.told()
    found = [b.text for b in blocks(owner.owner_document(w, changes)) if isinstance(b, Heading)]
    wanted = [report.VERDICT, report.CHANCE, report.PLANS, report.LIVING, report.SURE, report.YEAR]
    wanted += [report.CHANGE, report.NEXT, report.WATCH, report.NOT_CHECKED, report.ENTERED]
    assert found[1:] == [*wanted, report.ASSUMED]


@needs_poppler
def test_it_prints_in_black_and_white() -> None:
    """Ink in both pages' grey print: neither blank, nor dark."""
    w, changes = made.told()
    pdf = owner.report_pdf(w, changes)
    for page in (1, 2):
        pixels = printed.greys(pdf, page).split(b"\n", 3)[3]
        mean = sum(pixels) / len(pixels)
        assert 190 < mean < 253
