"""The owner's report: what it says, that it keeps to its pages, and what kind of file it is."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape

import pytest

from riskmodel import words
from riskmodel.decision.occasions import Occasion
from riskmodel.decision.results import (
    AfterLook,
    Information,
    Inspection,
    Interval,
    PlanResult,
    Retest,
    RetestBranch,
    Sale,
    Weighing,
)
from riskmodel.report import owner
from riskmodel.report.owner import choices
from riskmodel.report.owner.document import (
    Block,
    Box,
    Columns,
    Document,
    Heading,
    Paragraph,
    Picture,
    Table,
    Together,
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
from tests.report.printed import needs_poppler
from tests.words.weighings import plain_case, weighing, with_values


def blocks(document: Document) -> list[Block]:
    """All blocks, those within others too."""
    found: list[Block] = []
    waiting: list[Block] = [block for part in document.parts for block in part.blocks]
    while waiting:
        block = waiting.pop(0)
        found.append(block)
        if isinstance(block, (Box, Together)):
            waiting = [*block.blocks, *waiting]
        if isinstance(block, Columns):
            waiting = [*(b for _, inner in block.parts for b in inner), *waiting]
    return found


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


def test_all_plans_are_told_in_the_same_columns_with_their_intervals() -> None:
    w, *_ = made.told()
    table = plan_table(w)
    assert table.marked is not None
    assert table.rows[table.marked][0] == "Next oil change"
    for row in table.rows:
        for cell in row[2:4]:
            assert re.search(r"\(.*to.*\)", cell), row
    by_name = {row[0]: row for row in table.rows}
    assert printed.plain(by_name["Now"][3]) == "10 (4 to 20)"
    assert by_name["Now"][1] == "–"
    # A limit of 15 of 100: every plan above it says so in words, and no other.
    over = [name for name in by_name if "(over your limit)" in name]
    assert over == [name for name, row in by_name.items() if int(row[3].split("\xa0")[0]) > 15]
    assert by_name["Never (over your limit)"][4] == "17,100"
    # Of all plans the last within it stands there as well: the 2nd oil change, 13 of 100.
    assert "2nd oil change" in by_name


def plan_table(w: Weighing) -> Table:
    tables = [b for b in blocks(owner.owner_document(w)) if isinstance(b, Table)]
    return next(table for table in tables if table.columns == report_plans.columns(w))


def test_what_to_find_out_first_stands_among_the_choices_as_the_verdict() -> None:
    """A look that saves 600 is the verdict: in bold, with its own cost and chance; the rest as
    without it, and only what can be had."""
    w, *_ = made.told()
    after = AfterLook(Interval(0.17, 0.1, 0.25), 0.0, Interval(0.25, 0.17, 0.28))
    cost, failure = Interval(4580.0, 3300.0, 6100.0), Interval(0.07, 0.04, 0.12)
    saves = Interval(600.0, -190.0, 1350.0)
    look = Inspection(after, after, failure, cost, 609.0, 1209.0, saves)
    w = replace(w, information=Information(900.0, 1900.0, look))
    w = replace(w, case=with_values(w.case, "plan", booking_weeks=5.0))
    table = plan_table(w)
    assert table.marked == 0
    row = [printed.plain(cell) for cell in table.rows[0]]
    assert row[0] == "Look first, then decide"
    assert row[2:] == ["4,580 (3,300 to 6,100)", "7 (4 to 12)", "–"]
    assert table.rows[1][0] == "Next oil change"
    said = printed.plain(unescape(owner.report_html(w)))
    assert "It costs EUR 600 less than “Next oil change”, the best plan without it" in said
    assert "between −EUR 190 (a loss) and EUR 1,350" in said
    assert "Ask the workshop for the look now." in said
    shown = [b.title for b in blocks(owner.owner_document(w)) if isinstance(b, Picture)]
    assert shown[1] == "Look first"


def test_selling_where_it_is_the_verdict_stands_among_the_choices() -> None:
    """Sold for more than life without it costs: below 0, and none of its failures is yours."""
    w, changes, free = made.told()
    sold = PlanResult(
        at=0.0,
        service=None,
        failure=Interval(0.0, 0.0, 0.0),
        present_failure=Interval(0.0, 0.0, 0.0),
        alarm=Interval(0.0, 0.0, 0.0),
        cost=Interval(-1200.0, -2500.0, 900.0),
        bad_case=900.0,
        chance_cheapest=0.97,
        occasion=Occasion("sale", 0.0),
    )
    w = replace(w, sale=Sale(9000.0, 5000.0, 1500.0, sold))
    table = plan_table(w)
    assert table.marked == len(table.rows) - 1
    row = [printed.plain(cell) for cell in table.rows[-1]]
    assert row[:2] == ["Sell it today", "–"]
    assert row[2:4] == ["−1,200 (−2,500 to 900)", "0"]
    said = printed.plain(unescape(owner.report_html(w, changes, free)))
    assert "Below 0, money is left over." in said
    assert "Ask for offers now." in said
    assert "If a figure turns out otherwise and you keep it" in said
    assert "Quite. In about 97 of 100 ways" in said
    pictures = [b for b in blocks(owner.owner_document(w)) if isinstance(b, Picture)]
    assert "Sell it today" not in [picture.title for picture in pictures]


def test_to_sample_again_first_is_told_with_both_outcomes_and_by_when() -> None:
    w, *_ = made.told()
    soon = Interval(0.2, 0.1, 0.3)
    branch = RetestBranch(Interval(0.3, 0.2, 0.4), 5200.0, False, soon)
    zero = Interval(0.01, 0.005, 0.02)
    found = Retest(
        at=500.0,
        acts_at=1000.0,
        oil_age=500.0,
        limits={"Pb": 7.0},
        false_alarm=0.02,
        first=zero,
        if_surge=branch,
        if_clear=replace(branch, chance=Interval(0.7, 0.6, 0.8)),
        failure=Interval(0.08, 0.05, 0.12),
        present_failure=zero,
        alarm=zero,
        cost=Interval(4900.0, 3500.0, 6500.0),
        saves=Interval(280.0, -100.0, 700.0),
    )
    w = replace(w, retest=found)
    said = printed.plain(unescape(owner.report_html(w)))
    assert "Draw the second sample at about 124,500 km on the meter." in said
    assert "about 30 of 100 (between 20 and 40) would show a surge" in said.lower()
    assert "about 70 of 100 (between 60 and 80) would show no surge" in said.lower()
    assert (
        "Within the 5 years you keep it about 8 of 100 engines like this one (between 5 and 12)"
        in said
    )
    assert plan_table(w).rows[0][0] == "Sample again, then decide"
    assert plan_table(w).marked == 0


def test_the_table_shows_the_plans_an_owner_asks_for_and_no_other_that_costs_less() -> None:
    for example in made.EXAMPLES:
        w = made.on_case(example)
        shown = choices.shown(w)
        assert shown[0] == w.open_plans[0]
        assert len(w.plans) - 1 in shown
        assert w.recommended in shown
        assert len(shown) <= choices.MOST + 2
        cheapest = min(plan.cost.value for plan in w.plans[w.open_plans[0] :])
        assert min(w.plans[i].cost.value for i in shown) == cheapest


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


def test_a_limit_that_none_keeps_is_said() -> None:
    w = weighing(with_values(plain_case(), "plan", most_risk=0.01))
    said = printed.plain(owner.report_html(w))
    assert "No plan keeps to the limit you entered, 1 failures of 100" in said
    assert "“Now”: about 4 of 100 (between 2 and 6)" in said


def test_a_figure_that_changes_names_the_plan_and_what_keeping_costs() -> None:
    w, changes, free = made.told()
    tables = [b for b in blocks(owner.owner_document(w, changes, free)) if isinstance(b, Table)]
    columns = (*report_what_if.COLUMNS, report_what_if.CHEAPER)
    table = next(table for table in tables if table.columns == columns)
    rows = [[printed.plain(cell) for cell in row] for row in table.rows]
    assert rows[0][1:] == ["next oil change", "5,110", "–", "–", "–"]
    assert rows[1][1:] == [
        "the same",
        "7,630",
        "2,520 more",
        "stays, by your limit",
        "never: 5,910",
    ]
    assert rows[3][1:] == ["now", "6,600", "1,490 more", "40 more: nearly a tie", "–"]
    # At the 3rd oil change 16 of 100 fail within 5 years: within 10, no plan keeps to 15.
    kept = ["9,270", "4,160 more", "60 more: nearly a tie", "no plan keeps to it"]
    assert rows[5][1:] == ["3rd oil change", *kept]


def test_a_cheaper_plan_above_the_limit_is_named_where_there_is_one_and_explained() -> None:
    """Without the limit the quote doubled makes “never” the cheapest of the kept answer; the prices
    in the last column are those of the plans then free to be chosen."""
    w, changes, free = made.told()
    by_name = {each.changed: each for each in free}
    assert by_name["job_double"].at is None
    assert by_name["job_double"].cost < changes[1].cost
    told = [row[-1] for row in report_what_if.rows(w, changes, free)]
    assert [text for text in told if ":" in text] == [
        "never: 5,910",
        "never: 3,540",
        "never: 2,790",
    ]
    assert report_what_if.CHEAPER in report_what_if.columns(changes, free)
    assert "rules out the last column" in report_what_if.note(w, changes, free)
    without = report_what_if.rows(w, changes)
    assert report_what_if.columns(changes) == report_what_if.COLUMNS
    assert without[-1][1] == "3rd oil change (over your limit)"
    assert "left out" in report_what_if.note(w, changes)


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
