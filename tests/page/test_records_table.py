"""The life records changed on the page: rows, columns, faults, and what follows from them.

An edit is what the browser sends: cells by place, rows added, rows deleted.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.page import records_table, state
from riskmodel.page.examples import example
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.files import changed
from riskmodel.records.tables import LifeRecords
from riskmodel.words import headline, screen
from riskmodel.words import records_entry as words
from tests.page.conftest import Page

AGE, OUTCOME = "Age, km", "What became of it"


def edit(page: Page, *, cells: object = None, added: object = (), deleted: object = ()) -> None:
    """Changes the table as the browser would tell it."""
    editor = page.app.dataframe[0].key
    page.app.session_state[editor] = {
        "edited_rows": cells or {},
        "added_rows": list(added),  # type: ignore[call-overload]
        "deleted_rows": list(deleted),  # type: ignore[call-overload]
    }
    page.run()


def held(page: Page) -> Case:
    case: Case = page.app.session_state[state.GOOD]
    return case


def records(case: Case) -> LifeRecords:
    assert case.records is not None
    return case.records


def choose_columns(page: Page, columns: list[str]) -> None:
    page.app.multiselect[0].set_value(columns)
    page.run()


def press(page: Page, label: str) -> None:
    next(button for button in page.app.button if button.label == label).click()
    page.run()


def table_of(page: Page) -> list[str]:
    return [str(name) for name in page.app.dataframe[0].value.columns]


def test_opening_a_case_changes_nothing_in_it(page: Page) -> None:
    assert held(page) is page.app.session_state[state.BASE]
    assert screen.CHANGED not in page.text


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_every_cell_stands_in_the_table_in_words(page: Page, folder: str) -> None:
    page.open(folder)
    frame, case = page.app.dataframe[0].value, example(folder)
    unit = case.machine.unit
    assert frame[f"Age, {unit}"].tolist() == records(case).age.tolist()
    assert set(frame[OUTCOME]) <= set(words.CHOICES["outcome"].values())
    assert list(frame.index) == list(range(1, len(records(case)) + 1))
    assert not [name for name in table_of(page) if "_" in name]


def test_a_changed_age_is_followed_by_case_and_verdict(page: Page) -> None:
    before = page.part("verdict")
    failed = [i for i, outcome in enumerate(records(held(page)).outcome) if outcome == "failed"]
    edit(page, cells={i: {AGE: 400_000, "Watched from, km": None} for i in failed[:12]})
    case = held(page)
    assert not page.app.error
    assert records(case).age[failed[:12]].tolist() == [400_000.0] * 12
    assert page.part("verdict") != before
    assert headline(weigh(case)).replace("\u00a0", " ") in page.part("verdict")
    assert screen.CHANGED in page.text


def test_the_same_change_in_the_file_gives_the_same_case(page: Page) -> None:
    edit(page, cells={3: {AGE: 99_000}})
    case, opened = held(page), example("road-car")
    ages = records(opened).age.copy()
    ages[3] = 99_000
    assert case == replace(opened, records=replace(records(opened), age=ages))


def test_rows_are_added_and_deleted(page: Page) -> None:
    before = records(held(page))
    row = {AGE: 87_000, OUTCOME: "failed", "Use": "town", "Oil interval": "long"}
    edit(page, added=[row], deleted=[0, 5])
    after = records(held(page))
    assert len(after) == len(before) - 1
    assert after.age[0] == before.age[1]
    assert (after.age[-1], after.outcome[-1], after.cause[-1]) == (87_000, "failed", "wear")
    assert after.covariates["use"][-1] == "town"


def test_words_chosen_become_entries_of_the_file(page: Page) -> None:
    place = records(held(page)).outcome.index("running")
    edit(
        page,
        cells={
            place: {OUTCOME: "taken out, looked worn", "Why taken out": "trouble was suspected"}
        },
    )
    after = records(held(page))
    assert (after.outcome[place], after.why[place]) == ("removed_worn", "suspected")


def test_a_fault_is_told_beside_the_table_by_row_and_heading(page: Page) -> None:
    before = page.part("verdict")
    edit(page, cells={6: {AGE: -5}}, deleted=[0])
    assert [error.value for error in page.app.error] == [words.NOT_TAKEN, words.FAULTS]
    assert re.search(r'row">7</th><td data-label="Column">Age, km</td>.*?-5.*?above 0', page.text)
    assert page.part("verdict") == before
    edit(page, cells={6: {AGE: 5}}, deleted=[0])
    assert not page.app.error


def test_no_message_shows_a_name_of_the_file(page: Page) -> None:
    choose_columns(page, ["age_from", "entered_at", "count", "cause", "why"])
    edit(
        page,
        cells={
            0: {AGE: 50_000, OUTCOME: "failed", "Last seen running, km": 60_000},
            1: {OUTCOME: "taken out, looked worn", "Cause of the failure": "wear"},
            2: {OUTCOME: "still running", "Why taken out": "trouble was suspected"},
            3: {"Parts": 1.5},
            4: {AGE: 60_000, "Last seen running, km": 10_000, "Watched from, km": 20_000},
        },
    )
    told = next(body for body in page.html if words.FAULT_ROW in body and 'class="figures"' in body)
    visible = re.sub(r"<[^>]*>", " ", told)
    assert not re.search(r"[a-z]_[a-z]", visible)
    assert "“taken out, looked worn”" in visible
    assert "“trouble was suspected”, with “still running”" in visible
    assert "60,000, with age 50,000" in visible


def test_a_row_half_entered_waits_and_the_answer_stands(page: Page) -> None:
    before = page.part("verdict")
    edit(page, added=[{AGE: 70_000, "Use": "town"}, {}])
    assert not page.app.error
    assert "Row 190 is not complete" in page.text
    assert "still needs: “What became of it” and “Oil interval”" in page.text
    assert "Row 191" not in page.text
    assert page.part("verdict") == before
    assert len(records(held(page))) == 189


def test_a_row_emptied_by_hand_is_told(page: Page) -> None:
    empty = dict.fromkeys(table_of(page))
    edit(page, cells={8: empty})
    assert "Row 9 is not complete" in page.text
    assert len(records(held(page))) == 188


def test_columns_are_chosen_and_what_is_hidden_is_kept(page: Page) -> None:
    before = records(held(page))
    edit(page, cells={3: {AGE: 99_000}})
    choose_columns(page, ["count"])
    assert table_of(page) == [AGE, OUTCOME, "Parts"]
    after = records(held(page))
    assert after.covariates == before.covariates
    assert after.age[3] == 99_000
    assert np.array_equal(after.entered_at, before.entered_at)


def test_a_row_added_while_a_trait_is_hidden_takes_it_as_unknown(page: Page) -> None:
    choose_columns(page, [])
    assert words.HIDDEN_TRAITS in page.text
    edit(page, added=[{AGE: 87_000, OUTCOME: "failed"}])
    assert records(held(page)).covariates["use"][-1] == "unknown"


def test_what_is_saved_carries_the_changed_records(page: Page) -> None:
    edit(page, cells={3: {AGE: 99_000}}, deleted=[7])
    case = held(page)
    again = case_from_zip(case_to_zip(case))
    assert again == case
    assert len(records(again)) == 188


def test_changes_are_taken_back(page: Page) -> None:
    before = page.part("verdict")
    edit(page, deleted=list(range(40)))
    assert page.part("verdict") != before
    press(page, words.UNDO)
    assert page.part("verdict") == before
    assert held(page) == example("road-car")
    edit(page, deleted=list(range(40)))
    press(page, screen.RESET)
    assert page.part("verdict") == before


def test_another_case_does_not_meet_the_changes(page: Page) -> None:
    edit(page, deleted=[0])
    page.open("work-boat")
    assert held(page) == example("work-boat")
    page.open("road-car")
    assert held(page) == example("road-car")


THREE = b"age,outcome\n60000,failed\n70000,running\n80000,failed\n"


def without_records() -> Case:
    opened = example("road-car")
    case = replace(opened, part=replace(opened.part, traits={}))
    return changed(case, {"life.records": None, "life.b50_prior": [90_000, 300_000]})


def test_a_column_the_file_lacks_can_be_added(page: Page) -> None:
    case = changed(without_records(), {"life.records": "r.csv"}, {"r.csv": THREE})
    page.offer(("mine.zip", case_to_zip(case)))
    assert table_of(page) == [AGE, OUTCOME]
    choose_columns(page, ["entered_at"])
    assert held(page) == case
    assert screen.CHANGED not in page.text
    edit(page, cells={0: {"Watched from, km": 100}})
    assert records(held(page)).entered_at.tolist() == [100, 0, 0]
    assert held(page).life.records == "r.csv"


def test_a_case_without_records_starts_with_an_empty_table(page: Page) -> None:
    page.offer(("mine.zip", case_to_zip(without_records())))
    assert words.ABOUT_EMPTY in page.text
    assert table_of(page) == [AGE, OUTCOME]
    assert len(page.app.dataframe[0].value) == 0
    before = page.part("verdict")
    edit(page, added=[{AGE: 60_000, OUTCOME: "failed"}, {AGE: 90_000, OUTCOME: "still running"}])
    assert not page.app.error
    case = held(page)
    assert records(case).outcome == ("failed", "running")
    assert case.life.records == "records.csv"
    assert page.part("verdict") != before


def test_all_records_can_be_taken_out_where_a_belief_remains(page: Page) -> None:
    opened = example("road-car")
    case = replace(opened, part=replace(opened.part, traits={}))
    case = changed(case, {"life.b50_prior": [90_000, 300_000]})
    page.offer(("mine.zip", case_to_zip(case)))
    edit(page, deleted=list(range(189)))
    assert not page.app.error
    assert held(page).records is None


def test_no_records_and_no_belief_either_is_told_in_words(page: Page) -> None:
    before = page.part("verdict")
    edit(page, deleted=list(range(189)))
    assert page.app.error[0].value == words.NOT_TAKEN
    assert "neither records nor a belief about their life" in page.text
    assert page.part("verdict") == before


def test_a_trait_of_this_engine_that_the_records_lose_is_left_aside_and_told(page: Page) -> None:
    places = [i for i, use in enumerate(records(held(page)).covariates["use"]) if use == "mixed"]
    edit(page, cells={i: {"Use": "other use"} for i in places})
    assert not page.app.error
    assert "This engine's trait use (mixed) does not occur" in page.text.replace("&#x27;", "'")
    assert held(page).part.traits == {"oil_interval": "short"}
    press(page, words.UNDO)
    assert held(page).part.traits == example("road-car").part.traits


def test_a_symptom_counts_whatever_is_wrong_with_the_records(page: Page) -> None:
    edit(page, cells={0: {AGE: -1}})
    page.tick("A knock")
    assert page.part("stop")
    assert not page.part("verdict")


def test_a_large_table_is_shown_and_not_changed(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(records_table, "MOST_ROWS", 150)
    page.run()
    assert words.too_many(189, 150) in page.text
    assert page.app.dataframe[0].proto.editing_mode == 0  # read only
    assert len(page.app.dataframe[0].value) == 189


def test_a_trait_may_be_called_like_a_column(page: Page) -> None:
    opened = example("road-car")
    two = replace(
        records(opened),
        covariates={"use": records(opened).covariates["use"], "parts": ("a",) * 189},
        columns=("age", "outcome", "count", "use", "parts"),
    )
    case = replace(opened, records=two, part=replace(opened.part, traits={}))
    page.offer(("mine.zip", case_to_zip(case)))
    assert {"Parts", "Parts (trait)"} <= set(table_of(page))
