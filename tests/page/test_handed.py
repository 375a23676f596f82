"""The owner's report, made on the page on demand."""

from __future__ import annotations

from riskmodel.page.examples import example
from riskmodel.page.handed import day
from riskmodel.words import screen
from tests.page.conftest import Page


def labels(page: Page) -> set[str]:
    return {str(each.proto.label) for each in page.app.get("download_button")}


def test_the_report_is_made_when_asked_for(page: Page) -> None:
    assert screen.REPORT_PDF not in labels(page)
    next(each for each in page.app.button if each.label == screen.MAKE_REPORT).click().run()
    assert not page.app.exception
    assert {screen.REPORT_PDF, screen.REPORT_HTML} <= labels(page)


def test_it_is_dated_as_the_case_is() -> None:
    case = example("road-car")
    assert day(case) == case.machine.date
