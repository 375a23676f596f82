"""The first visit: plain questions, a first verdict, and invented records on purpose only."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.life.answers import prior_from_answers
from riskmodel.page import first_case, illustrative, kept, log_file, state
from riskmodel.page.examples import example
from riskmodel.page.first_case import FirstAnswers
from riskmodel.page.first_records import records_in
from riskmodel.records.case import Case
from riskmodel.records.errors import InputError
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.log.bridge import export_case, import_case
from riskmodel.records.quantity import Quantity
from riskmodel.words import belief as belief_words
from riskmodel.words import first_visit as words
from riskmodel.words import headline, log_page, missing, screen
from tests.page.conftest import Page
from tests.risk.cases import case_with
from tests.words.test_wording import NEVER

TODAY = "2026-12-01"
ANSWERS: dict[str, Any] = {
    "name": "The blue van",
    "reading": 124_000.0,
    "year": 12_000.0,
    "planned-from": 2_400.0,
    "failure-from": 9_000.0,
    "failure-to": 14_000.0,
    "keep": 3.0,
    "currency": "EUR",
    "tenth-from": 90_000.0,
    "half-from": 150_000.0,
    "half-to": 220_000.0,
}
ANSWERED = FirstAnswers(
    unit="km",
    source="belief",
    name="The blue van",
    reading=124_000.0,
    year=12_000.0,
    planned=(2_400.0, None),
    failure=(9_000.0, 14_000.0),
    keep=3.0,
    currency="EUR",
    tenth=(90_000.0, None),
    half=(150_000.0, 220_000.0),
)
LINES = "124000 failed\n98,000 still running\n150000 failed\n140000 removed, worn\n180000 running"


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: TODAY)


def first() -> Page:
    return Page(screen="")


def widget(page: Page, name: str) -> Any:
    for group in ("number_input", "text_input", "text_area", "radio", "checkbox"):
        for one in getattr(page.app, group):
            if one.key == f"q.{name}":
                return one
    raise AssertionError(f"no question {name}")


def answer(page: Page, **answers: Any) -> None:
    for name, value in answers.items():
        widget(page, name).set_value(value)
    page.run()


def press(page: Page, label: str) -> None:
    next(one for one in page.app.button if one.label.replace("\\", "") == label).click()
    page.run()


def opened(page: Page) -> str | None:
    name: str | None = page.app.session_state[state.MACHINE]
    return name


# --- the questions -----------------------------------------------------------------------------


def test_an_empty_log_and_no_address_ask_plain_questions_and_keep_nothing(own_log: Any) -> None:
    page = first()
    assert words.INTRO in page.text
    assert not page.part("verdict")
    assert not page.part("example")
    assert page.headers == [screen.SYMPTOMS_ASK, words.QUESTIONS, words.OTHERWISE]
    assert not page.app.sidebar.button
    assert not own_log.exists()


def test_the_answers_give_a_verdict_and_a_machine_of_the_log() -> None:
    page = first()
    answer(page, **ANSWERS)
    press(page, words.DO)
    assert opened(page) == "the-blue-van"
    case = export_case(log_file.made(), "the-blue-van")
    assert headline(weigh(case)).replace("\u00a0", " ") in page.part("verdict")
    assert "The blue van: 124,000 km on the meter, 1 December 2026" in page.text
    assert (case.cost.planned, case.cost.failure) == (Quantity(2400, 2400), Quantity(9000, 14000))
    wanted = prior_from_answers(0.1, 90_000, 0.5, Quantity(150_000, 220_000))
    assert case.life.b50_prior is not None
    assert case.life.b50_prior.low == pytest.approx(wanted.b50_prior.low, rel=0.005)  # 3 figures
    assert case.life.shape_prior.high == pytest.approx(wanted.shape_prior.high, rel=0.005)
    # Nothing is asked twice: the panel holds every answer.
    boxes = {box.label: box.value for box in page.app.sidebar.number_input}
    assert boxes["Meter now, km"] == 124_000
    assert boxes["Failure, EUR, to"] == 14_000
    again = Page(machine="the-blue-van")
    assert again.part("verdict") == page.part("verdict")


def test_the_questions_follow_the_unit() -> None:
    page = first()
    answer(page, unit="h")
    assert widget(page, "reading").label == "What does the meter show now, in hours?"
    assert widget(page, "interval").placeholder.replace("\u00a0", " ") == "100 h if left empty"
    assert any("By what age in hours" in markdown.value for markdown in page.app.markdown)


def test_what_is_still_open_is_told_and_pressing_on_names_each_question() -> None:
    page = first()
    assert "Still to answer: the meter, the use in a year, the quote" in page.text
    answer(page, reading=100_000.0, year=10_000.0)
    assert "Still to answer: the quote" in page.text
    press(page, words.DO)
    assert words.NOT_YET in [error.value for error in page.app.error]
    assert words.LABELS["planned"] in page.text
    assert opened(page) is None


def test_answers_that_contradict_each_other_are_told_by_their_question() -> None:
    page = first()
    answer(page, **{**ANSWERS, "failure-from": 20_000.0})
    press(page, words.DO)
    assert words.LABELS["failure"] in page.text
    assert "the lower number first" in page.text
    answer(page, **{"failure-from": 9_000.0, "tenth-from": 300_000.0})
    assert belief_words.NOT_RISING in [error.value for error in page.app.error]
    press(page, words.DO)
    assert opened(page) is None


def test_a_symptom_says_stop_before_anything_is_answered_and_goes_along() -> None:
    page = first()
    answer(page, knock=True)
    assert "Do not start the engine" in page.part("stop")
    answer(page, **ANSWERS)
    press(page, words.DO_STOP)
    assert page.part("stop")
    assert not page.part("verdict")
    assert export_case(log_file.made(), "the-blue-van").machine.symptoms == ("knock",)


def test_nothing_it_says_shows_a_key_or_calls_an_engine_what_nobody_knows() -> None:
    page = first()
    shown = [page.text, *(m.value for m in page.app.markdown)]
    for kind in ("number_input", "text_input", "checkbox", "radio", "button"):
        for element in getattr(page.app, kind):
            shown += [element.label, getattr(element, "help", "") or ""]
    for text in shown:
        visible = re.sub(r"<[^>]*>", " ", text)
        assert not NEVER.search(visible), visible
        assert not any(key in visible for key in BY_KEY), visible
        assert not re.search(r"\b[a-z]+_[a-z]+\b", visible), visible


# --- coming back -------------------------------------------------------------------------------


def own(name: str) -> Case:
    return case_with(
        None,
        machine={"name": name, "date": "2026-11-01"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        oil={"interval": 10_000},
    )


def test_the_only_machine_opens_by_itself_and_several_can_be_chosen() -> None:
    log = log_file.made()
    import_case(log, own("A car"), author="Ann")
    page = first()
    assert "A car: 100,000 km" in page.text
    assert page.part("verdict")
    import_case(log, own("B car"), author="Ann")
    page = first()
    assert words.YOURS in page.headers
    assert not page.part("verdict")
    press(page, words.OPEN.format(name="B car"))
    assert "B car: 100,000 km" in page.text


def test_another_machine_is_begun_from_the_panel() -> None:
    page = Page()
    press(page, words.START_ANOTHER)
    assert words.QUESTIONS in page.headers
    assert not page.part("verdict")


def test_the_examples_are_one_press_away() -> None:
    page = first()
    press(page, words.OPEN_EXAMPLE.format(name=screen.WORK_BOAT))
    assert "Example working boat (invented)" in page.text
    assert page.part("example")


# --- records -----------------------------------------------------------------------------------


def test_own_records_give_a_verdict() -> None:
    page = first()
    answer(
        page, **{name: value for name, value in ANSWERS.items() if name[:4] not in ("tent", "half")}
    )
    answer(page, by="records")
    answer(page, records=LINES)
    press(page, words.DO)
    records = export_case(log_file.made(), "the-blue-van").records
    assert records is not None
    assert records.outcome == ("failed", "running", "failed", "removed_worn", "running")
    assert records.age.tolist() == [124_000, 98_000, 150_000, 140_000, 180_000]
    assert page.part("verdict")
    assert not page.part("example")
    assert "judged from 5 records with 2 failures" in page.text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("124000", "an age and what became of the part"),
        ("124000 failed\n-5 failed", "line 2"),
        ("100 whatever", "failed, running, removed, removed worn or removed unworn"),
        ("x,y\n1,2", "a heading for the age"),
        ("90000 running\n100000 running", "none of these parts failed"),
    ],
)
def test_records_that_cannot_be_read_are_told(text: str, told: str) -> None:
    with pytest.raises(InputError) as error:
        first_case.first_case(replace(ANSWERED, source="records", records=text), TODAY)
    assert told in " ".join(f"{p.where} {p.found} {p.expected}" for p in error.value.problems)


def test_a_table_with_headings_is_read_in_its_own_unit() -> None:
    text = "Mileage (mi);What happened\n100.000;seized\n50.000;still running"
    read = records_in(text, "km").decode().splitlines()
    assert read == ["age,outcome", "160934.4,failed", "80467.2,running"]  # 1.609344 km a mile


def test_invented_records_judge_on_purpose_and_the_verdict_says_so() -> None:
    page = first()
    answer(page, **ANSWERS)
    answer(page, by="invented")
    assert words.SOURCES_HELP["invented"] in page.text
    press(page, words.DO)
    assert "ILLUSTRATION. All of the life records" in page.part("example")
    assert "EXAMPLE" not in page.part("example")
    assert words.ON_INVENTED in page.part("verdict")
    assert page.text.count("ILLUSTRATION") == 2  # at the head, and in what the report says too
    assert "Records of real parts in the place of the invented ones" in page.text


@pytest.mark.parametrize("unit", ["km", "mi", "h"])
def test_they_are_known_again_however_they_came_in(unit: Any) -> None:
    """By what they hold: in the other unit of distance, some taken out, some of one's own added."""
    answers = replace(ANSWERED, unit=unit, source="invented")
    case = first_case.first_case(answers, TODAY)
    assert "All of the life records" in illustrative.told(case)
    lines = illustrative.records(unit).decode().splitlines()
    for kept_lines, share in ((lines[:-20], "All"), ([*lines, "123456,running,,,1,,"], " of ")):
        mixed = case_with(kept_lines[1:], kept_lines[0], machine={"unit": unit})
        assert share in illustrative.told(mixed)
    few = case_with(lines[1:20], lines[0], machine={"unit": unit})
    assert illustrative.told(few) == ""


def test_an_example_as_a_whole_is_told_as_such_alone() -> None:
    assert illustrative.told(example("road-car")) == ""
    w = weigh(case_with(None, life={"shape_prior": 3, "b50_prior": 180_000}))
    assert illustrative.with_note(w) is w


# --- sharpening --------------------------------------------------------------------------------


def test_what_the_last_change_did_is_told_also_after_a_reload() -> None:
    page = first()
    answer(page, **ANSWERS)
    press(page, words.DO)
    assert "Last change" not in page.text
    page.type("Failure, EUR, to", 40_000.0)
    told = "Last change: Failure: 9,000 to 40,000 EUR instead of 9,000 to 14,000 EUR."
    assert told in page.text
    assert told in Page(machine="the-blue-van").text


def test_an_example_tells_it_for_the_visit() -> None:
    page = Page()
    assert "Last change" not in page.text
    page.type("Keep for, years", 2.0)
    assert "Last change: Keep for: 2 years instead of 3 years." in page.text


def test_what_is_missing_is_told_with_the_way_there_until_it_is_entered() -> None:
    page = first()
    answer(page, **ANSWERS)
    press(page, words.DO)
    assert "Life records of such parts: the verdict rests on a belief alone." in page.text
    assert '<a href="#to=Tell%20how%20it%20is%20driven%2C%20by%20plain%20questions">' in page.text
    assert "When the next oil change is due: 8,000 km from now is assumed." in page.text
    page.type("Next oil change in", 5_000.0)
    assert "When the next oil change is due" not in page.text


def test_each_thing_missing_is_told_once_and_a_full_case_misses_little() -> None:
    bare = weigh(own("A car"))
    found = missing.missing(bare)
    assert len(found) == missing.MOST
    assert len({each.section for each in found}) == len(found)
    full = missing.missing(weigh(example("road-car")))
    assert not {screen.RECORDS, screen.SAMPLES} & {each.section for each in full}


def test_a_machine_that_is_kept_says_where(own_log: Any) -> None:
    page = first()
    answer(page, **ANSWERS)
    press(page, words.DO)
    assert log_page.TAKEN_IN in [info.value for info in page.app.info]
    assert own_log.exists()


def test_a_price_given_as_a_range_is_not_missed_where_one_would_walk_away() -> None:
    """The answer then holds what walking away costs, one figure: what was entered is a range."""
    case = case_with(
        None,
        machine={"value": 6_000, "scrap": 500},
        life={"shape_prior": 3, "b50_prior": 180_000},
        cost={"failure": [11_000, 60_000]},
    )
    w = weigh(case)
    assert w.walks_away
    assert w.case.cost.failure.exact
    said = [each.text for each in missing.missing(w, case)]
    assert not any("price of a failure" in text for text in said)
    assert any("price of a failure" in text for text in [m.text for m in missing.missing(w)])
