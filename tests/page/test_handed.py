"""The owner's report, made on the page on demand; also where symptoms stop all."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.page import handed
from riskmodel.page.answer import digest
from riskmodel.page.examples import example
from riskmodel.page.first_case import FirstAnswers, first_case
from riskmodel.page.handed import day
from riskmodel.page.illustrative import with_note
from riskmodel.records.archive import case_to_zip
from riskmodel.records.files import changed
from riskmodel.words import screen, stop_heading
from tests.page.conftest import Page
from tests.risk.cases import case_with

INVENTED = FirstAnswers(
    unit="km",
    source="invented",
    reading=100_000.0,
    year=10_000.0,
    planned=(2_000.0, None),
    failure=(12_000.0, None),
    keep=3.0,
)


def labels(page: Page) -> set[str]:
    return {str(each.proto.label) for each in page.app.get("download_button")}


def make(page: Page) -> None:
    next(each for each in page.app.button if each.label == screen.MAKE_REPORT).click().run()
    assert not page.app.exception


def test_the_report_is_made_when_asked_for(page: Page) -> None:
    assert screen.REPORT_PDF not in labels(page)
    make(page)
    assert {screen.REPORT_PDF, screen.REPORT_HTML} <= labels(page)


def test_with_a_symptom_it_is_offered_too_and_says_stop() -> None:
    case = case_with(
        None,
        machine={"name": "My car", "date": "2026-11-01"},
        life={"shape_prior": 3, "b50_prior": 180_000},
    )
    page = Page()
    page.offer(("mine.zip", case_to_zip(case)))
    verdict = page.part("verdict")
    page.tick("A knock")
    assert page.part("stop")
    assert screen.REPORT_STOP_ABOUT in page.text
    make(page)
    assert {screen.REPORT_PDF, screen.REPORT_HTML} <= labels(page)
    page.tick("A knock")
    assert page.part("verdict") == verdict
    assert screen.REPORT_PDF not in labels(page)  # made of another content


def test_what_it_prints_with_a_symptom_is_stop_whatever_was_weighed_before() -> None:
    case = case_with(None, life={"shape_prior": 3, "b50_prior": 180_000})
    knocks = changed(case, {"machine.symptoms": ["knock"]})
    _, plain = handed._made(digest(case), case, weigh(case), "2026-11-01")
    _, stop = handed._made(digest(knocks), knocks, None, "2026-11-01")
    assert stop_heading(knocks) in stop.decode()
    assert stop_heading(knocks) not in plain.decode()
    assert "nine times in ten" in plain.decode()
    assert "nine times in ten" not in stop.decode()


def test_where_nothing_settles_the_life_it_is_told(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unsettled(case: object) -> None:
        raise handed.CannotAnswer("nothing is known of its life")

    monkeypatch.setattr(handed, "weigh", unsettled)
    page.type("Keep for, years", 2.25)  # a content that no test before has had a report of
    page.tick("A knock")
    make(page)
    assert f"{screen.NO_REPORT} nothing is known of its life" in page.text


def test_it_is_dated_as_the_case_is() -> None:
    case = example("road-car")
    assert day(case) == case.machine.date
    undated = replace(case, machine=replace(case.machine, date=None))
    assert len(day(undated)) == len("2026-11-01")


def test_a_report_on_invented_records_says_so() -> None:
    case = first_case(INVENTED, "2026-12-01")
    _, html = handed._made(digest(case), case, with_note(weigh(case)), "2026-12-01")
    assert "ILLUSTRATION" in html.decode()
