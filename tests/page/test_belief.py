"""A belief given by two answers on the page: what it sets, says, and how it is taken back."""

from __future__ import annotations

import math

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.life.answers import prior_from_answers
from riskmodel.page import state
from riskmodel.page.examples import example
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.quantity import Quantity
from riskmodel.words import belief as words
from riskmodel.words import headline, screen
from tests.page.conftest import Page


def answer(page: Page, share: float, low: float | None, high: float | None = None) -> None:
    for word, value in ((screen.LOW_END, low), (screen.HIGH_END, high)):
        label = f"{words.question(share, 'km')} {word}"
        box = next(box for box in page.app.number_input if box.label == label)
        if value is not None:
            box.set_value(value)
    page.run()


def held(page: Page) -> Case:
    case: Case = page.app.session_state[state.GOOD]
    return case


def labels(page: Page) -> list[str]:
    return [markdown.value for markdown in page.app.markdown]


def test_the_questions_change_nothing_until_they_are_used(page: Page) -> None:
    before = page.part("verdict")
    answer(page, 0.1, 60_000, 90_000)
    answer(page, 0.5, 120_000, 200_000)
    assert "Does that seem right?" in page.text
    assert page.part("verdict") == before
    assert held(page) == example("road-car")


def test_two_ranges_become_the_belief_and_the_verdict_follows(page: Page) -> None:
    before = page.part("verdict")
    answer(page, 0.1, 60_000, 90_000)
    answer(page, 0.5, 120_000, 200_000)
    page.tick(words.USE)
    life = held(page).life
    wanted = prior_from_answers(0.1, Quantity(60_000, 90_000), 0.5, Quantity(120_000, 200_000))
    for found, exact in (
        (life.shape_prior, wanted.shape_prior),
        (life.b50_prior, wanted.b50_prior),
    ):
        assert found is not None
        assert found.low == pytest.approx(exact.low, rel=0.005)  # three figures
        assert found.high == pytest.approx(exact.high, rel=0.005)
    # By hand: B50's range is the answer's, 1.3 times as wide on the log scale around 154,919.
    half = math.sqrt(120_000 * 200_000)
    assert life.b50_prior is not None
    assert life.b50_prior.high == pytest.approx(
        half * math.sqrt(200_000 / 120_000) ** 1.3, rel=0.01
    )
    assert headline(weigh(held(page))).replace("\u00a0", " ") in page.part("verdict")
    assert page.part("verdict") != before
    assert words.IN_FORCE in page.text
    assert "1.3 times as wide" in page.text
    assert "68 times in 100" in page.text


def test_what_it_says_stands_in_words(page: Page) -> None:
    answer(page, 0.1, 60_000, 90_000)
    answer(page, 0.5, 120_000, 200_000)
    b50 = 154_919.33 * 1.2909944**-1.3, 154_919.33 * 1.2909944**1.3
    assert (
        f"fail by an age between {round(b50[0], -4):,.0f} and {round(b50[1], -4):,.0f} km"
        in page.text
    )
    assert "each nine times in ten" in page.text
    # 9 in 10: the curve through the medians 73,485 and 154,919, by its closed form.
    shape = math.log(math.log(2) / -math.log(0.9)) / math.log(154_919.33 / 73_484.69)
    ninety = 154_919.33 * (math.log(10) / math.log(2)) ** (1 / shape)
    assert f"failed by about {round(ninety, -4):,.0f} km" in page.text


def test_the_two_boxes_make_way_while_it_is_used_and_come_back(page: Page) -> None:
    shape, half = BY_KEY["life.shape_prior"].label, BY_KEY["life.b50_prior"].label
    assert any(shape in label for label in labels(page))
    before = page.part("verdict")
    answer(page, 0.1, 60_000, 90_000)
    answer(page, 0.5, 120_000, 200_000)
    page.tick(words.USE)
    assert not [label for label in labels(page) if shape in label or half in label]
    page.tick(words.USE)
    assert any(shape in label for label in labels(page))
    assert page.part("verdict") == before
    assert held(page) == example("road-car")


def test_undoing_all_changes_takes_it_back(page: Page) -> None:
    before = page.part("verdict")
    answer(page, 0.1, 60_000, 90_000)
    answer(page, 0.5, 120_000, 200_000)
    page.tick(words.USE)
    next(button for button in page.app.button if button.label == screen.RESET).click()
    page.run()
    assert page.part("verdict") == before
    assert "Does that seem right?" not in page.text


def test_it_is_saved_with_the_case(page: Page) -> None:
    answer(page, 0.1, 60_000, 90_000)
    answer(page, 0.5, 120_000, 200_000)
    page.tick(words.USE)
    again = case_from_zip(case_to_zip(held(page)))
    assert again.life == held(page).life
    assert {"life.shape_prior", "life.b50_prior"} <= again.stated


def test_one_age_alone_is_an_answer_too(page: Page) -> None:
    answer(page, 0.1, 60_000)
    answer(page, 0.5, 150_000)
    assert "One age alone is taken as a range" in page.text
    page.tick(words.USE)
    wanted = prior_from_answers(0.1, 60_000, 0.5, 150_000).b50_prior
    assert held(page).life.b50_prior == Quantity(*words.as_stated(wanted))


@pytest.mark.parametrize(
    ("first", "second", "told"),
    [
        ((90_000, 100_000), (60_000, 70_000), words.NOT_RISING),
        ((90_000, 60_000), (120_000, 200_000), words.LOW_FIRST),
        ((0, 60_000), (120_000, 200_000), words.ABOVE_ZERO),
        ((100_000, 101_000), (101_500, 102_000), words.TOO_CLOSE),
        ((20_000, 180_000), (50_000, 190_000), words.TOO_CLOSE),
    ],
)
def test_answers_that_cannot_be_taken_are_told_and_change_nothing(
    page: Page, first: tuple[float, float], second: tuple[float, float], told: str
) -> None:
    before = page.part("verdict")
    answer(page, 0.1, *first)
    answer(page, 0.5, *second)
    assert [error.value for error in page.app.error] == [told]
    page.tick(words.USE)
    assert [error.value for error in page.app.error] == [f"{told} {words.NOT_USED}"]
    assert page.part("verdict") == before


def test_ticked_before_both_are_answered_it_asks_for_them(page: Page) -> None:
    page.tick(words.USE)
    assert page.app.warning[0].value == words.NOT_COMPLETE
    assert held(page) == example("road-car")
    answer(page, 0.1, 60_000, 90_000)
    assert page.app.warning[0].value == words.NOT_COMPLETE
    answer(page, 0.5, 120_000, 200_000)
    assert not page.app.warning
    assert words.IN_FORCE in page.text


def test_questions_carry_the_unit_of_the_case(page: Page) -> None:
    page.open("work-boat")
    assert "By what age in hours would half have failed?" in labels(page)
