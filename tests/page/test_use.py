"""How it was driven on the page: shown, asked in plain questions, compared on demand."""

from __future__ import annotations

import pytest

from riskmodel.decision.habits import Habit, habits
from riskmodel.page import state
from riskmodel.page import use as section
from riskmodel.page.examples import example
from riskmodel.records.archive import case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.files import changed
from riskmodel.use.effective_age import use_of
from riskmodel.use.from_answers import stated_by
from riskmodel.use.kinds import standard_kinds
from riskmodel.use.questions import implied_shares, questions
from riskmodel.words import symptom_words, use, use_habits, use_questions
from riskmodel.words.formats import sentence
from tests.page.conftest import Page
from tests.risk.cases import case_with

ANSWERS = {
    "starts": 9.0, "short": 5.0, "unwarmed": 2.0, "hard_days": 2.0, "hard_usage": 300.0,
    "book_interval": 10_000.0, "own_interval": 12_500.0, "wrong_fills": 0.0, "low_checks": 1.0,
    "lugging": 1.0, "towing": 0.0,
}  # fmt: skip


def of_case(**more: object) -> Case:
    return case_with(None, life={"b50_prior": [1e5, 3e5]}, **more)


def press(page: Page, label: str) -> None:
    next(button for button in page.app.button if button.label == label).click()
    page.run()


def opened(case: Case) -> Page:
    """The page with a case of the test's own in the place of the example."""
    page = Page()
    page.offer(("mine.zip", case_to_zip(case)))
    return page


def answer_all(page: Page, answers: dict[str, float]) -> None:
    boxes = {box.key.split("#")[0]: box for box in page.app.number_input if box.key}
    for key, value in answers.items():
        boxes[f"use.{key}"].set_value(value)
    page.run()


def test_the_example_shows_its_effective_age_its_stretches_and_the_bar(page: Page) -> None:
    assert use.HEADING in page.headers
    assert "By how it was driven these count like about" in page.text
    assert "From 61,000 to 98,000 km on the meter: mixed 60 of 100" in page.text
    assert "so many are owed to life records" in page.text
    assert "NOT yet used" not in page.text
    assert "Half the yearly usage" not in page.text  # on demand only


def test_habits_are_compared_on_demand(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Case] = []

    def noted(case: Case) -> tuple[Habit, ...]:
        asked.append(case)
        return habits(case)

    monkeypatch.setattr(section, "habits", noted)
    section._compared.clear()
    page = opened(of_case())
    assert asked == []
    press(page, use_habits.ASK)
    assert len(asked) == 1
    assert "Half the yearly usage" in page.text
    assert "fewer of 1,000 than as now" in page.text
    page.run()
    assert len(asked) == 1


def test_questions_show_the_shares_that_they_imply_and_go_into_the_case() -> None:
    page = opened(of_case())
    assert "Nothing is told of how it was driven" in page.text
    answer_all(page, {"towing": 3.0})
    assert '<td data-label="Of 100 by your answers">30</td>' in page.text
    assert '<td data-label="Of 100 by your answers">not told</td>' in page.text
    assert use_questions.IN_PART in page.text
    answer_all(page, ANSWERS)
    assert use_questions.IN_PART not in page.text
    press(page, use_questions.USE)
    assert use_questions.IN_FORCE in page.text
    assert "By how it was driven these count like about" in page.text
    case = page.app.session_state[state.BASE]
    implied = implied_shares(ANSWERS, "km", case.machine.usage_per_year)
    told = case.use.stretches[-1].shares
    assert told == pytest.approx(dict(implied.mix.shares), abs=1e-4)
    # answered anew, they stand in the place of the first answers
    answer_all(page, {"towing": 2.0})
    press(page, use_questions.USE)
    case = page.app.session_state[state.BASE]
    assert case.use.stretches[-1].shares["towing"] == pytest.approx(0.2, abs=1e-4)
    press(page, use_questions.TAKE_OUT)
    assert "Nothing is told of how it was driven" in page.text


def test_an_answer_that_cannot_be_is_told_where_it_is_given() -> None:
    page = opened(of_case())
    answer_all(page, {"starts": 3.0, "short": 5.0})
    assert any("5 short trips, but 3 starts" in error.value for error in page.app.error)
    assert page.part("verdict")


def test_nothing_of_it_stands_beside_symptoms(page: Page) -> None:
    page.tick(sentence(symptom_words("knock")))
    assert use.HEADING not in page.headers


# --- the case by the answers -----------------------------------------------------------------


def test_answers_replace_what_the_case_said_and_the_trait_that_tells_the_same() -> None:
    """The road car states stretches of kinds of its own, and its trait in the records' column."""
    case = example("road-car")
    implied = implied_shares(ANSWERS, "km", case.machine.usage_per_year)
    found = changed(case, stated_by(case, implied, earlier=False))
    names = [kind.name for kind in standard_kinds("km")]
    assert [kind.name for kind in found.use.kinds] == names
    first, second = found.use.stretches
    assert (first.until, first.unknown) == (61_000, True)
    assert (second.until, second.unknown) == (124_000, False)
    assert second.shares == pytest.approx(dict(implied.mix.shares), abs=1e-4)
    assert not found.use.ahead
    assert dict(found.part.traits) == {"oil_interval": "short"}
    alike = changed(case, stated_by(case, implied, earlier=True))
    assert len(alike.use.stretches) == 1


@pytest.mark.parametrize("part", [{"fitted_at": 100_000}, {"entered_at": 100_000}])
def test_habits_to_come_are_stated_where_nothing_of_ones_own_lies_behind(
    part: dict[str, float],
) -> None:
    case = of_case(part=part)
    implied = implied_shares(ANSWERS, "km", 10_000)
    found = changed(case, stated_by(case, implied, earlier=False))
    assert found.use.ahead == pytest.approx(dict(implied.mix.shares), abs=1e-4)
    assert all(stretch.unknown for stretch in found.use.stretches)


def test_an_answer_in_part_is_stated_and_the_rest_stays_untold() -> None:
    case = of_case()
    implied = implied_shares({"towing": 3.0}, "km", 10_000)
    found = changed(case, stated_by(case, implied, earlier=False))
    (stretch,) = found.use.stretches
    assert (dict(stretch.shares or {}), stretch.unknown) == ({"towing": 0.3}, True)
    assert use_of(found).mix_ahead == implied.mix
    # known in part, it is known better than not at all
    before, after = (use.summary(use.ahead) for use in map(use_of, (case, found)))
    assert after.high / after.low < before.high / before.low


def test_no_answer_at_all_leaves_what_was_believed() -> None:
    case = of_case()
    nothing = implied_shares(dict.fromkeys(q.key for q in questions("km")), "km", 10_000)
    found = changed(case, stated_by(case, nothing, earlier=False))
    before, after = use_of(case), use_of(found)
    assert after.summary(after.age) == before.summary(before.age)
    assert after.summary(after.ahead) == before.summary(before.ahead)
