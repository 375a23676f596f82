"""The owner's report: what it says, that it keeps to its pages, and what kind of file it is."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape

import pytest

from riskmodel import words
from riskmodel.decision.results import (
    Weighing,
)
from riskmodel.decision.walk_away import walking_away
from riskmodel.report import owner
from riskmodel.report.owner import choices
from riskmodel.report.owner.document import (
    Box,
    Heading,
    Paragraph,
    Picture,
)
from riskmodel.report.owner.to_pdf import SIZES, pages_of
from riskmodel.report.terminal import print_weighing
from riskmodel.words import (
    formats,
    near_ties,
    report,
    report_chance,
    report_plans,
    report_sure,
    report_what_if,
    spent,
)
from riskmodel.words.chances import INTERVAL_MEANING
from tests.report import made, printed
from tests.report.printed import blocks, needs_poppler
from tests.words.weighings import plain_case, weighing, with_values


@pytest.fixture(scope="module", params=made.EXAMPLES)
def example(request: pytest.FixtureRequest) -> tuple[Weighing, bytes, str]:
    w, changes, free = made.example(request.param)
    assert w.best is not None
    assert changes[0].at == w.best.at
    assert changes[0].cost == pytest.approx(w.best.cost.value, rel=1e-6)
    return w, owner.report_pdf(w, changes, free), owner.report_html(w, changes, free)


@needs_poppler
def test_the_examples_fill_one_or_two_pages(example: tuple[Weighing, bytes, str]) -> None:
    assert printed.pages(example[1]) in (1, 2)


def test_the_examples_are_set_in_a_size_to_be_read_at_a_table(
    example: tuple[Weighing, bytes, str],
) -> None:
    """From 9.5 points on, within two pages (judgement): the largest size that keeps to them."""
    w, changes, free = made.example(
        "road-car" if "car" in example[0].case.machine.name else "work-boat"
    )
    assert pages_of(owner.owner_document(w, changes, free), 9.5) <= 2


def test_that_two_laboratories_read_the_oil_is_said_and_fits_as_well(
    example: tuple[Weighing, bytes, str],
) -> None:
    """The last two samples of either example read by another laboratory, in the same size."""
    name = "road-car" if "car" in example[0].case.machine.name else "work-boat"
    w, changes, free = made.example(name)
    assert w.case.samples is not None
    *before, one, last = w.case.samples.rows
    rows = (*before, replace(one, lab="laboratory B"), replace(last, lab=""))
    two = replace(w, case=replace(w.case, samples=replace(w.case.samples, rows=rows)))
    document = owner.owner_document(two, changes, free)
    texts = [b.text for b in blocks(document) if isinstance(b, Paragraph)]
    assert any("read by 2 laboratories, each judged by its own level," in text for text in texts)
    assert pages_of(document, 9.5) <= 2
    assert "laboratories" not in printed.plain(owner.report_html(w, changes, free))


@needs_poppler
def test_text_can_be_selected_and_says_what_the_terminal_says(
    example: tuple[Weighing, bytes, str],
) -> None:
    w, pdf, html = example
    said = printed.text(pdf)
    wanted = [
        words.headline(w),
        *(text for pair in report.verdict(w) for text in pair),
        report.at_stake(w),
        words.reference_class(w),
        words.main_assumption(w).removesuffix(f" {INTERVAL_MEANING}"),
        *report_chance.sentences(w),
        report_plans.new_parts(w),
        report.decide_then(w),
        *report_sure.sure(w),
        *words.next_steps(w),
        *words.cautions(w.case),
        *words.notes(w),
        words.example_banner(w.case) or "",
        report_sure.wager(w),
        *report_sure.waiting_a_year(w),
        *report_what_if.tips(w),
    ]
    for sentence in wanted:
        assert printed.plain(sentence) in said, sentence
    for plan in (w.plans[w.open_plans[0]], w.plans[-1], w.best):
        assert plan is not None
        assert printed.plain(formats.chance_short(plan.failure)) in said
    for risk in w.risk:
        assert printed.plain(formats.between(risk.chance)) in said
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
    assert tags.count("Figure") == 3


def test_the_pdf_holds_the_words_for_its_pictures() -> None:
    w, changes, free = made.told()
    document = owner.owner_document(w, changes, free)
    wanted = {printed.plain(b.alt) for b in blocks(document) if isinstance(b, Picture)}
    found = {
        printed.plain(text) for text in printed.alternatives(owner.report_pdf(w, changes, free))
    }
    assert len(wanted) == 3
    assert found == wanted


def test_every_picture_says_in_words_what_it_shows() -> None:
    w, changes, free = made.told()
    pictures = [b for b in blocks(owner.owner_document(w, changes, free)) if isinstance(b, Picture)]
    assert len(pictures) == 3
    for picture in pictures:
        assert re.search(r"\d+ of 100", picture.alt)
        assert "between" in picture.alt or "at most" in picture.alt or "as many as" in picture.alt
    for picture in pictures[1:]:
        assert re.fullmatch(
            r"(under |over )?\d+ of 100 fail \(\d+ to \d+\), \d+ do not",
            printed.plain(picture.figure),
        )


def test_the_two_pictures_are_of_the_verdict_and_never() -> None:
    w, changes, free = made.told()
    shown = [
        b.title for b in blocks(owner.owner_document(w, changes, free)) if isinstance(b, Picture)
    ]
    assert shown[1:] == ["Next oil change", "Never"]
    never = replace(w, recommended=len(w.plans) - 1)
    assert [each.name for each in choices.pictured(never)] == ["Now", "Never"]


def test_the_same_input_gives_the_same_bytes() -> None:
    w, changes, free = made.told()
    first = owner.report_pdf(w, changes, free)
    assert owner.report_pdf(w, changes, free) == first
    assert owner.report_pdf(w, changes, free, date="2026-12-24") != first
    sheet = owner.sheet_pdf("until-then", w)
    assert owner.sheet_pdf("until-then", w) == sheet
    assert owner.report_html(w, changes, free) == owner.report_html(w, changes, free)


def test_a_report_made_later_tells_both_days() -> None:
    w, *_ = made.told()
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


def test_the_verdict_says_at_once_that_it_is_nearly_a_tie(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Within 3 % of 5,112: now (5,216) and in a year (5,249); never (5,912) is not, and a plan that
    nearly ties but is above the limit is not offered."""
    w, changes, free = made.told()
    box = next(b for b in blocks(owner.owner_document(w, changes, free)) if isinstance(b, Box))
    assert isinstance(box.blocks[0], Paragraph)
    assert box.blocks[0].text.endswith(". Nearly a tie with “Now” and “In a year”.")
    strict = replace(w, case=with_values(w.case, "plan", most_risk=0.12))
    assert near_ties.verdict_tie(strict) == "Nearly a tie with “Now”."
    print_weighing(w)
    out = capsys.readouterr().out
    assert "Nearly a tie with “Now” and “In a year”." in out
    marked = [line.split()[0] for line in out.splitlines() if re.match(r" [* ]\+", line)]
    assert "+ over your limit" in out
    assert marked == ["+3rd", "+At", "+4th", "+5th", "+6th", "+7th", "+Never"]
    print_weighing(replace(w, case=with_values(w.case, "plan", most_risk=None)))
    assert "over your limit" not in capsys.readouterr().out
    apart = weighing(costs=(5000.0, 4000.0, 6000.0), failures=(0.04, 0.1, 0.3))
    assert near_ties.verdict_tie(apart) == ""


def test_headings_follow_the_order_of_the_answer() -> None:
    w, changes, free = made.told()
    found = [
        b.text for b in blocks(owner.owner_document(w, changes, free)) if isinstance(b, Heading)
    ]
    wanted = [report.VERDICT, report.CHANCE, report.plans_heading(w), report.YEAR, report.LIVING]
    wanted += [report.CHANGE, report.SURE, spent.HEADING, report.ASSUMED, report.NEXT]
    assert found[1:] == [*wanted, report.WATCH, report.NOT_CHECKED, report.ENTERED]


@needs_poppler
def test_it_prints_in_black_and_white() -> None:
    """Ink in both pages' grey print: neither blank, nor dark."""
    w, changes, free = made.told()
    pdf = owner.report_pdf(w, changes, free)
    for page in (1, 2):
        pixels = printed.greys(pdf, page).split(b"\n", 3)[3]
        mean = sum(pixels) / len(pixels)
        assert 190 < mean < 253


def test_what_was_entered_is_told_as_it_was_where_a_failure_is_walked_away_from() -> None:
    w = made.on_case("road-car")
    walks = replace(w, case=walking_away(w.case), walks_away=True, stated=w.case)
    assert walks.case.cost.failure.mean == 17_000
    told = unescape(owner.report_html(walks)).replace("\u00a0", " ")
    assert "failure 11,000 to 18,000" in told
    assert "failure 17,000" not in told
