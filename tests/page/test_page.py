"""The page, run without a browser: what it shows, and how it follows what is entered."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from riskmodel.decision.basis import Basis
from riskmodel.decision.weigh import Begun, begin, weigh
from riskmodel.page import state
from riskmodel.page.examples import example
from riskmodel.page.figures import MAIN, MORE
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.files import case_to_files, changed
from riskmodel.records.inputs import BY_KEY
from riskmodel.words import (
    ceiling_sentences,
    formats,
    headline,
    intervals,
    long_run,
    screen,
    swings,
    use,
)
from tests.page.conftest import Page
from tests.risk.cases import case_with
from tests.words.test_wording import NEVER
from tests.words.weighings import plain_case


def own_case(**machine: object) -> Case:
    """A case of one's own: the road car under another name and no longer marked as invented."""
    case = example("road-car")
    values: dict[str, object] = {"name": "My own car", "invented": False, **machine}
    return replace(case, machine=replace(case.machine, **values))  # type: ignore[arg-type]


def test_it_opens_on_the_road_car_with_no_set_up(page: Page) -> None:
    assert "Example road car (invented)" in page.text
    assert page.part("example").startswith('<div class="example"><p>EXAMPLE')
    assert headline(weigh(example("road-car"))).replace("\u00a0", " ") in page.part("verdict")


def test_it_is_read_in_this_order(page: Page) -> None:
    wanted = [
        screen.SYMPTOMS_ASK,
        screen.TRADE_OFF,
        screen.PLANS,
        screen.CHANCE,
        screen.WHY,
        screen.CHANGE,
        screen.NEXT,
        screen.CAUTIONS,
        screen.BEAR_IN_MIND,
        long_run.HEADING,
        intervals.HEADING,
        use.HEADING,
        screen.OIL_SAYS,
        screen.RECORDS_SAY,
        screen.BEHIND,
    ]
    assert page.headers == wanted
    assert page.text.index('class="verdict"') < page.text.index("The costs cross")


def test_the_cautions_stand_right_under_the_verdict(page: Page) -> None:
    kinds = [match[1] for body in page.html if (match := re.match(r'<div class="(\w+)"', body))]
    assert kinds == ["example", "verdict", "caution"]
    assert "Stop at once" in page.part("caution")


def test_the_other_example_can_be_chosen(page: Page) -> None:
    page.open("work-boat")
    assert "Example working boat (invented)" in page.text
    assert "5 years you keep it" in page.text
    page.open("road-car")
    assert "Example road car (invented)" in page.text


@pytest.mark.parametrize("symptom", ["A knock", "Low oil pressure", "Metal in the filter"])
def test_any_symptom_replaces_the_verdict_and_every_figure(page: Page, symptom: str) -> None:
    page.tick(symptom)
    assert "Do not start the engine" in page.part("stop")
    assert not page.part("verdict")
    assert "would fail" not in page.text
    assert "Average cost" not in page.text
    assert "EUR" not in page.text.split('class="stop"')[1].split("</div>")[0]
    assert not page.app.get("vega_lite_chart")
    page.tick(symptom)
    assert page.part("verdict")
    assert not page.part("stop")


def test_a_symptom_counts_whatever_is_wrong_with_the_figures(page: Page) -> None:
    page.type("Replacement in time, EUR, from", 50000.0)
    assert page.app.error
    page.tick("A knock")
    assert page.part("stop")
    assert not page.part("verdict")
    page.type("Replacement in time, EUR, from", 2000.0)
    assert page.part("stop")
    page.tick("A knock")
    assert page.part("verdict")


def test_an_opened_case_with_a_symptom_shows_the_stop_at_once(page: Page) -> None:
    page.offer(("mine.zip", case_to_zip(own_case(symptoms=("knock",)))))
    assert page.part("stop")
    assert not page.part("verdict")


@pytest.fixture
def puzzle(monkeypatch: pytest.MonkeyPatch) -> str:
    """The name of a machine of whose life nothing can be said."""

    def puzzled(case: Case, base: Basis) -> Begun:
        if case.machine.name == "Puzzle":
            raise CannotAnswer("the records do not settle how long the part lasts")
        return begin(case, base)

    monkeypatch.setattr("riskmodel.page.answer.begin", puzzled)
    return "Puzzle"


def test_a_case_without_an_answer_is_told_and_the_case_before_stays(
    page: Page, puzzle: str
) -> None:
    page.offer(("mine.zip", case_to_zip(own_case(name=puzzle))))
    assert page.app.error[0].value == screen.NOT_READ
    assert "do not settle how long the part lasts" in page.text
    assert "Example road car (invented)" in page.text
    assert page.part("verdict")


def test_a_case_with_a_symptom_opens_even_where_nothing_can_be_answered(
    page: Page, puzzle: str
) -> None:
    page.offer(("mine.zip", case_to_zip(own_case(name=puzzle, symptoms=("knock",)))))
    assert page.part("stop")
    page.tick("A knock")
    assert page.app.error[0].value == screen.CANNOT_ANSWER
    assert not page.part("verdict")


def test_figures_that_leave_no_answer_are_told_and_the_last_answer_stays(
    page: Page, puzzle: str
) -> None:
    before = page.part("verdict")
    name = next(box for box in page.app.text_input if box.label == "Name")
    name.set_value(puzzle)
    page.run()
    assert page.app.error[0].value == screen.CANNOT_ANSWER
    assert page.part("verdict") == before


def test_a_changed_price_is_followed_by_the_verdict_and_the_table(page: Page) -> None:
    before = page.part("verdict")
    page.type("Replacement in time, EUR, to", 9000.0)
    low = example("road-car").cost.planned.low
    case = changed(example("road-car"), {"cost.planned": [low, 9000.0]})
    w = weigh(case)
    assert headline(w).replace("\u00a0", " ") in page.part("verdict")
    assert page.part("verdict") != before
    now = formats.money(w.plans[0].cost.value, "EUR").replace("\u00a0", " ")
    assert f'<th scope="row">Replace now</th><td data-label="Average cost">{now}' in page.text


def test_the_same_figure_twice_is_an_exact_price(page: Page) -> None:
    high = example("road-car").cost.planned.high
    page.type("Replacement in time, EUR, from", high)
    exact = changed(example("road-car"), {"cost.planned": high})
    now = formats.money(weigh(exact).plans[0].cost.value, "EUR").replace("\u00a0", " ")
    assert now in page.text


def test_an_impossible_range_is_told_by_its_label_and_the_last_answer_stays(page: Page) -> None:
    before = page.part("verdict")
    page.type("Replacement in time, EUR, from", 5000.0)
    assert page.app.error[0].value == screen.NOT_TAKEN
    assert "Replacement in time" in page.text
    assert "cost.planned" not in page.text
    assert page.part("verdict") == before
    page.type("Replacement in time, EUR, from", example("road-car").cost.planned.low)
    assert not page.app.error


def test_figures_without_an_answer_are_told_and_the_last_answer_stays(page: Page) -> None:
    page.type("Keep for, years", 0.0)
    assert page.app.error
    assert page.part("verdict")


def test_shares_are_asked_for_as_counts_of_100(page: Page) -> None:
    page.type("Most risk you will bear, of 100", 1.0)
    assert "You asked for at most 1 failures of 100" in page.part("verdict")


def test_a_limit_can_be_taken_back() -> None:
    # A box emptied by hand gives None, which a page run without a browser cannot show.
    case = changed(example("road-car"), {"plan.most_risk": None})
    assert case.plan.most_risk is None
    assert not ceiling_sentences(weigh(case))


def test_giving_the_machine_up_after_a_failure_is_a_choice(page: Page) -> None:
    before = page.text
    page.choose("After a failure", "stop")
    assert page.text != before


def test_changes_can_be_undone(page: Page) -> None:
    before = page.part("verdict")
    page.type("Failure, EUR, to", 60000.0)
    assert page.part("verdict") != before
    assert screen.CHANGED in page.text
    undo = next(button for button in page.app.button if button.label == screen.RESET)
    undo.click()
    page.run()
    assert page.part("verdict") == before
    assert screen.CHANGED not in page.text


def test_a_zip_opens_and_the_example_banner_goes(page: Page) -> None:
    page.offer(("mine.zip", case_to_zip(own_case())))
    assert "My own car" in page.text
    assert "EXAMPLE" not in page.part("example")
    assert "ILLUSTRATION" in page.part("example")  # its records are still those of the example


def test_the_case_file_and_its_tables_open_together(page: Page) -> None:
    page.offer(*case_to_files(own_case()).items())
    assert "My own car" in page.text


def test_a_bad_file_is_told_with_line_and_key_and_the_case_before_stays(page: Page) -> None:
    files = case_to_files(own_case())
    files["case.toml"] = files["case.toml"].replace(
        b"usage_per_year = 11500", b"usage_per_year = -1"
    )
    page.offer(*files.items())
    assert page.app.error[0].value == screen.NOT_READ
    assert "case.toml" in page.text
    assert re.search(r"line \d+, machine.usage_per_year", page.text)
    assert "Example road car (invented)" in page.text
    assert page.part("verdict")
    page.open("work-boat")
    assert not page.app.error


def test_every_fault_of_a_table_is_told_together(page: Page) -> None:
    files = case_to_files(own_case())
    files["records.csv"] = b"age,outcome\n-5,failed\n90000,exploded\n"
    page.offer(*files.items())
    assert "line 2" in page.text
    assert "line 3" in page.text
    assert "exploded" in page.text


def test_what_is_saved_is_what_is_shown(page: Page) -> None:
    page.type("Meter now, km", 130000.0)
    held = page.app.session_state[state.GOOD]
    assert held.machine.reading == 130000.0
    assert case_from_zip(case_to_zip(held)) == held


def test_a_name_with_markup_in_it_is_shown_as_it_is(page: Page) -> None:
    name = "<b>Car</b> $1$ ![a](http://example.org/a.png)"
    page.offer(("mine.zip", case_to_zip(own_case(name=name))))
    assert "&lt;b&gt;Car&lt;/b&gt;" in page.text
    assert "<b>Car" not in page.text
    for markdown in page.app.markdown:
        assert "![" not in markdown.value


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_nothing_on_the_page_shows_a_key_or_calls_an_engine_what_nobody_knows(
    page: Page, folder: str
) -> None:
    page.open(folder)
    shown = [page.text, *page.headers, *(m.value for m in page.app.markdown)]
    for kind in ("number_input", "checkbox", "radio", "text_input", "date_input", "expander"):
        for element in getattr(page.app, kind):
            shown += [element.label, getattr(element, "help", "") or ""]
    for frame in page.app.dataframe:
        shown += [str(column) for column in frame.value.columns]
    for text in shown:
        visible = re.sub(r"<[^>]*>", " ", text)
        assert not NEVER.search(visible), visible
        for key in BY_KEY:
            assert key not in visible
        assert not re.search(r"\b[a-z]+_[a-z]+\b", visible), visible


def test_every_figure_on_the_panel_is_an_input_and_stands_there_once() -> None:
    places = [*MAIN, *(place for group in MORE.values() for place in group)]
    places.remove("plan.keep")  # stands for years or usage, whichever the case states
    assert len(places) == len(set(places))
    assert set(places) <= set(BY_KEY)
    assert set(screen.FIGURE_GROUPS) == set(MORE)


def test_labels_units_and_help_come_from_the_table_of_inputs(page: Page) -> None:
    entry = BY_KEY["machine.usage_per_year"]
    box = next(box for box in page.app.number_input if box.label.startswith(entry.label))
    assert box.label == f"{entry.label}, km"
    assert box.help == entry.help
    page.open("work-boat")
    assert any(box.label == f"{entry.label}, h" for box in page.app.number_input)


def test_every_chart_has_a_sentence_and_its_figures_beside_it(page: Page) -> None:
    assert len(page.app.get("vega_lite_chart")) == 17
    tables = [expander for expander in page.app.expander if expander.label == screen.TABLE]
    assert len(tables) == 9
    for table in tables:
        assert table.get("html")


def test_records_and_samples_can_be_looked_at(page: Page) -> None:
    records, samples = (frame.value for frame in page.app.dataframe)
    case = example("road-car")
    assert case.records is not None
    assert case.samples is not None
    assert len(records) == len(case.records)
    assert len(samples) == len(case.samples)
    assert "What became of it" in records.columns
    assert "Pb, ppm" in samples.columns
    assert not samples.drop(columns="Topped up, litres").isna().all(axis=None)
    running = records["What became of it"] == "still running"
    assert records.loc[running, "Cause of the failure"].isna().all()


def test_two_visitors_do_not_meet(page: Page) -> None:
    other = Page()
    page.open("work-boat")
    other.run()
    assert "Example road car (invented)" in other.text


def test_without_records_no_other_assumption_about_them_is_promised(page: Page) -> None:
    page.offer(("mine.zip", case_to_zip(plain_case())))
    assert screen.TRY_OTHERS_BELIEF in page.text
    assert screen.TRY_OTHERS_ABOUT not in page.text


def test_other_assumptions_are_tried_on_demand_and_only_for_the_case_they_were_asked_of(
    page: Page,
) -> None:
    failed = [60_000, 95_000, 110_000, 130_000, 145_000, 160_000, 190_000, 210_000]
    rows = [f"{age},failed" for age in failed] + ["150000,running"] * 6
    page.offer(("few.zip", case_to_zip(case_with(rows))))  # one that is soon tried
    assert "10 times as readily" not in page.text
    assert screen.TRY_OTHERS_ABOUT in page.text
    next(button for button in page.app.button if button.label == screen.TRY_OTHERS).click()
    page.run()
    assert "failures were reported 10 times as readily as survivors" in page.text
    assert "all is as it stands" in page.text
    page.type("Meter now, km", 101000.0)
    assert "10 times as readily" not in page.text


def test_where_one_plan_alone_can_be_had_a_sentence_stands_in_the_place_of_a_table(
    page: Page,
) -> None:
    """The workshop is booked for longer than the machine is kept."""
    rows = ["60000,failed", "145000,failed", "190000,failed", "150000,running"]
    booked = changed(case_with(rows), {"plan.booking_weeks": 520})
    page.offer(("booked.zip", case_to_zip(booked)))
    next(button for button in page.app.button if button.label == screen.TRY_OTHERS).click()
    page.run()
    assert swings.ALONE in page.text
    assert all("<td" in body for body in page.html if "<table" in body)
