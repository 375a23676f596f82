"""The long run and other oil intervals on the page."""

from __future__ import annotations

import pytest

from riskmodel.page import intervals as section
from riskmodel.words import intervals, long_run, symptom_words
from riskmodel.words.formats import sentence
from tests.decision.sampled_case import sampled_case
from tests.page.conftest import Page

QUICK = sampled_case("road_car")
"""Weighed in a moment; what the page passes on is noted down."""


def ask(page: Page) -> None:
    next(button for button in page.app.button if button.label == intervals.ASK).click()
    page.run()


def shown(page: Page) -> list[str]:
    return [heading.value for heading in page.app.main.subheader]


@pytest.fixture
def asked(page: Page, monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The powers that the page had studied, a quick case standing in for the example."""
    powers: list[float] = []
    study = section.interval_study

    def noted(case):  # type: ignore[no-untyped-def]
        from dataclasses import replace

        powers.append(case.oil.life_gamma)
        return study(replace(QUICK, oil=replace(QUICK.oil, life_gamma=case.oil.life_gamma)))

    monkeypatch.setattr(section, "interval_study", noted)
    section._studied.clear()
    return powers


def test_long_run_stands_below_the_plans_with_its_chart_on_demand(page: Page) -> None:
    assert long_run.HEADING in page.headers
    assert "it would cost least to replace each at about" in page.text
    folded = next(each for each in page.app.expander if each.label == long_run.MORE)
    assert folded.get("vega_lite_chart")
    assert "no advice on the part that is in now" in page.text


def test_intervals_are_studied_on_demand(page: Page, asked: list[float]) -> None:
    assert intervals.HEADING in page.headers
    assert intervals.SOONER not in shown(page)
    assert asked == []
    ask(page)
    assert asked == [0.0]
    assert "Nothing is claimed here for fresher oil" in page.text
    assert intervals.SOONER in shown(page)
    assert intervals.LONGER not in shown(page)
    # another run keeps it, and works nothing out again
    page.run()
    assert intervals.SOONER in shown(page)
    assert asked == [0.0]


def test_a_claim_for_fresher_oil_is_tried_without_changing_the_case(
    page: Page, asked: list[float]
) -> None:
    page.type(intervals.GAMMA, 0.5)
    ask(page)
    assert asked == [0.5]
    assert intervals.LONGER in shown(page)
    assert "as claimed here" in page.text
    page.type(intervals.GAMMA, 0.0)  # what is shown belongs to what was asked for
    assert intervals.SOONER not in shown(page)


def test_neither_stands_beside_symptoms(page: Page) -> None:
    page.tick(sentence(symptom_words("knock")))
    assert long_run.HEADING not in page.headers
    assert intervals.HEADING not in page.headers
