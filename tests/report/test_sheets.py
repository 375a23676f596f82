"""The four sheets: one page each, the maker's procedure in each, and no limit of our own."""

from __future__ import annotations

import re

import pytest

from riskmodel import words
from riskmodel.report import owner
from riskmodel.words import sheets
from tests.report import made, printed
from tests.report.printed import needs_poppler
from tests.words.weighings import plain_case, weighing, with_values

ALL = owner.SHEETS


@needs_poppler
@pytest.mark.parametrize("example", made.EXAMPLES)
@pytest.mark.parametrize("name", ALL)
def test_each_sheet_is_one_page_with_its_title_and_the_machine(name: str, example: str) -> None:
    w = made.on_case(example)
    pdf = owner.sheet_pdf(name, w)
    said = printed.text(pdf)
    assert printed.pages(pdf) == 1
    assert sheets.NAMES[name] in said
    assert printed.plain(w.case.machine.name) in said
    assert printed.plain(sheets.MAKER) in said
    assert printed.info(pdf)["Tagged"] == "yes"


@pytest.mark.parametrize("name", ALL)
def test_each_names_the_maker_s_procedure_before_the_closing_line(name: str) -> None:
    body = printed.plain(owner.sheet_html(name, made.on_case("road-car")))
    assert "maker" in body.replace(printed.plain(sheets.MAKER), "")


@pytest.mark.parametrize("name", ALL)
def test_no_sheet_gives_a_limit_of_an_engine(name: str) -> None:
    """No torque, clearance, pressure, temperature or limit of a metal: those are the maker's."""
    w = weighing(with_values(plain_case(), "machine", date="2026-11-01"))
    body = owner.sheet_html(name, w).partition("</style>")[2]
    assert not re.search(r"\d\s*(Nm|mm|µm|bar|psi|kPa|°|degrees|ppm|litres|rpm)\b", body)


def test_a_bad_report_says_all_that_is_asked_of_it() -> None:
    said = printed.plain(owner.sheet_html("bad-report", made.on_case("road-car")))
    asked = "oil pressure drops|Don't load it|Bottle|oil's age|silicon|fuel|coolant|filter|"
    asked += "second sample|Ring the workshop|no full throttle"
    for word in asked.split("|"):
        assert word in said.replace("&#x27;", "'"), word
    assert said.index("Symptoms first") < said.index("load it") < said.index("other lines")
    assert "Pb" in said
    assert "122,000 km" in said


def test_the_workshop_is_asked_all_that_is_asked_of_it() -> None:
    said = printed.plain(owner.sheet_html("ask-the-workshop", made.told()[0]))
    asked = "done this job|journal is marked|warranty|single-use|tightened|clearance measured|"
    asked += "oil pump|pickup|cause be found|labelled by position|photographs"
    for word in asked.split("|"):
        assert word in said, word


def test_parts_and_jobs_come_from_the_case_with_a_day_to_book_by() -> None:
    w = made.on_case("road-car")
    said = printed.plain(owner.sheet_html("parts-and-jobs", w))
    for line in w.case.cost.while_open:
        assert line.job in said
    assert "EX-BE-01" in said
    assert re.search(r"Ask the workshop for a date (now|by \d+ \w+ \d{4})|No date to book", said)


@needs_poppler
def test_a_part_s_code_is_kept_on_one_line_and_copied_as_it_is() -> None:
    """A name that pushes the code to the end of a line, where a hyphen would break it."""
    for pushed in range(12, 40, 4):
        code = f"{'x' * 8} " * (pushed // 9) + "y" * (pushed % 9) + " EX-BE-01-ABC"
        w = weighing(with_values(plain_case(), "part", code=code))
        lines = printed.lines(owner.sheet_pdf("parts-and-jobs", w))
        assert any("EX-BE-01-ABC" in line for line in lines)
    assert '<span class="whole">EX-BE-01-ABC</span>' in owner.sheet_html("parts-and-jobs", w)


def test_the_day_to_book_by_is_the_plan_s_less_the_weeks_booked_ahead() -> None:
    """5,200 km at 11,500 km a year are 165 days from 1 November 2026: 15 April 2027; four weeks
    before that is 18 March 2027 (counted on a calendar)."""
    case = with_values(plain_case(), "machine", date="2026-11-01")
    w = weighing(with_values(case, "plan", booking_weeks=4.0))
    said = printed.plain(" ".join(sheets.booking(w)))
    assert "About 15 April 2027" in said
    assert "by 18 March 2027" in said


def test_until_then_tells_level_warmth_load_stop_and_the_next_sample() -> None:
    said = printed.plain(owner.sheet_html("until-then", made.on_case("work-boat")))
    for word in ("Oil level", "Warm oil before load", "No labouring", "When to stop", "sample"):
        assert word in said
    assert "2,780 h" in said


@pytest.mark.parametrize("name", ALL)
def test_with_symptoms_every_sheet_says_stop_and_none_tells_how_to_drive(name: str) -> None:
    w = made.knocking()
    said = printed.plain(owner.sheet_html(name, w))
    assert words.stop_heading(w.case) in said
    assert "No labouring" not in said
    assert "The plan:" not in said


def test_an_unknown_sheet_is_refused() -> None:
    with pytest.raises(KeyError):
        owner.sheet_pdf("no-such-sheet", made.told()[0])
