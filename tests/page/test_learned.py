"""What the records say, on the page below the answer."""

from __future__ import annotations

from dataclasses import replace
from html import escape

import pytest

from riskmodel.page import learned as page_learned
from riskmodel.page.answer import learned_from
from riskmodel.page.examples import example
from riskmodel.records.archive import case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.files import changed
from riskmodel.words import learned as words
from riskmodel.words import screen
from tests.page.conftest import Page
from tests.words.life_cases import case_of, learned_of


def subheaders(page: Page) -> list[str]:
    return [header.value for header in page.app.main.subheader]


def as_text(sentences: list[str]) -> list[str]:
    """Sentences as they stand in the page's HTML."""
    return [escape(text).replace("\u00a0", " ") for text in sentences]


@pytest.mark.parametrize(
    ("folder", "name"), [("road-car", "road car"), ("work-boat", "working boat")]
)
def test_both_examples_tell_what_the_records_say(page: Page, folder: str, name: str) -> None:
    if folder != "road-car":
        page.open(folder)
    case, _ = learned_of(name)
    learnt = learned_from(case)  # as the page asks: the records are rows there, not lines
    assert screen.RECORDS_SAY in page.headers
    assert subheaders(page)[-3:] == [screen.FAIR, screen.APART, screen.REMARKS]
    for text in as_text(
        [
            *words.source_sentences(case, learnt),
            words.choice_sentence(case, learnt),
            *words.effect_sentences(case, learnt),
            *words.remark_items(learnt, "row"),
        ]
    ):
        assert text in page.text
    assert len(page.app.get("vega_lite_chart")) == 17


def test_it_stands_below_the_answer_and_above_the_data(page: Page) -> None:
    headers = page.headers
    assert headers.index(screen.BEAR_IN_MIND) < headers.index(screen.RECORDS_SAY)
    assert headers.index(screen.RECORDS_SAY) < headers.index(screen.BEHIND)


def test_a_symptom_takes_it_away(page: Page) -> None:
    page.tick("A knock")
    assert screen.RECORDS_SAY not in page.headers
    page.tick("A knock")
    assert screen.RECORDS_SAY in page.headers


@pytest.mark.parametrize("name", ["no records", "no failure", "conflict"])
def test_cases_with_little_to_say_say_so(page: Page, name: str) -> None:
    case, learnt = learned_of(name)
    page.offer(("mine.zip", case_to_zip(case)))
    assert as_text(words.source_sentences(case, learnt))[0] in page.text
    if case.records is None:
        assert screen.REMARKS not in subheaders(page)
        assert screen.FAIR not in subheaders(page)
    else:
        assert words.choice_sentence(case, learnt).split(". ")[0] in page.text


def test_where_nothing_was_learned_the_page_says_why(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(case: Case) -> None:
        raise CannotAnswer("the records <b>settle</b> nothing")

    monkeypatch.setattr(page_learned, "learned_from", refuse)
    page.run()
    assert "the records &lt;b&gt;settle&lt;/b&gt; nothing" in page.text
    assert page.part("verdict")


def test_a_price_does_not_have_the_records_looked_at_again() -> None:
    case = example("work-boat")
    first = learned_from(case)
    assert learned_from(changed(case, {"cost.failure": 20000.0})) is first
    assert learned_from(replace(case, samples=None)) is first


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("machine.reading", 2800.0),
        ("part.entered_at", 100.0),
        ("part.in_records", True),
        ("part.traits", {}),
        ("life.reporting_ratio", 2.0),
        ("life.shape_prior", 2.5),
        ("life.b50_prior", [1000.0, 9000.0]),
        ("warning.visible_lead", [100.0, 500.0]),
        ("oil.next_change_in", 60.0),
        ("plan.keep_years", 4.0),
    ],
)
def test_whatever_the_records_are_looked_at_with_counts(key: str, value: object) -> None:
    case = example("work-boat")
    assert learned_from(changed(case, {key: value})) is not learned_from(case)


def test_other_records_are_looked_at_anew() -> None:
    case = case_of("few")
    assert case.records is not None
    older = replace(case, records=replace(case.records, age=case.records.age + 1000.0))
    assert learned_from(older) is not learned_from(case)
