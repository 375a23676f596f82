"""Oil samples changed on the page: rows, faults, and what follows from them.

An edit is what the browser sends: cells by place, rows added, rows deleted.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.page import state
from riskmodel.page.examples import example
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.oil_table import read_samples
from riskmodel.records.sample_rows import csv_of_samples, rows_of_samples
from riskmodel.records.tables import OilSample, Reading
from riskmodel.words import log_page, records_entry, screen
from riskmodel.words import oil as oil_words
from riskmodel.words import oil_entry as words
from tests.oil.made import case_with_oil
from tests.page.conftest import Page

METER, OIL_AGE, LEAD, COPPER = "Meter, km", "Usage on the oil, km", "Pb, ppm", "Cu, ppm"
ROWS = [f"{10_000 * i},10000,4,{5 + i % 2}" for i in range(4, 10)]
NEW = {METER: 98_000, OIL_AGE: 8_000, LEAD: "18", COPPER: "15"}
KNOWN = {"lead": [4000, 30000], "lead_factor": 1.0, "silent": 0.25}


def small_case(rows: list[str] | None = ROWS) -> Case:
    """A case that is soon weighed."""
    return case_with_oil(rows, warning=KNOWN, keep_years=1)


@pytest.fixture
def small(page: Page) -> Page:
    page.offer(("case.zip", case_to_zip(small_case())))
    return page


def edit(page: Page, *, cells: object = None, added: object = (), deleted: object = ()) -> None:
    """Changes the samples as the browser would tell it."""
    table(page, -1, cells, added, deleted)


def table(page: Page, place: int, cells: object, added: object = (), deleted: object = ()) -> None:
    key = page.app.dataframe[place].key
    assert key is not None
    page.app.session_state[key] = {
        "edited_rows": cells or {},
        "added_rows": list(added),  # type: ignore[call-overload]
        "deleted_rows": list(deleted),  # type: ignore[call-overload]
    }
    page.run()


def held(page: Page) -> Case:
    case: Case = page.app.session_state[state.GOOD]
    return case


def samples(case: Case) -> tuple[OilSample, ...]:
    assert case.samples is not None
    return case.samples.rows


def press(page: Page, label: str) -> None:
    next(button for button in page.app.button if button.label == label).click()
    page.run()


def fault_rows(page: Page) -> list[list[str]]:
    """Cells of the table of faults, row by row."""
    body = next(b for b in page.html if 'scope="col">Row</th>' in b).replace("\u00a0", " ")
    return [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in body.split("<tr>")[2:]]


# --- what stands in it -------------------------------------------------------------------------


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_every_reading_stands_in_the_table_as_it_was_reported(page: Page, folder: str) -> None:
    page.open(folder)
    case, frame = example(folder), page.app.dataframe[-1].value
    rows = samples(case)
    assert frame[f"Meter, {case.machine.unit}"].tolist() == [row.reading for row in rows]
    for symbol in ("Pb", "Cu", "Sn", "Fe", "Si"):
        told = [str(row.elements.get(symbol, "")) for row in rows]
        assert frame[f"{symbol}, ppm"].tolist() == told
    assert "<1" in frame["Sn, ppm"].tolist()
    assert list(frame.index) == list(range(1, len(rows) + 1))
    assert not [name for name in frame.columns if "_" in name]


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_rows_are_written_and_read_back_the_same(folder: str) -> None:
    case = example(folder)
    assert case.samples is not None
    declared = [element.symbol for element in case.oil.element]
    data = csv_of_samples(rows_of_samples(case.samples, declared), case.samples.columns)
    assert read_samples(data, elements=declared) == case.samples


def test_opening_a_case_changes_nothing_in_it(small: Page) -> None:
    assert held(small) == small.app.session_state[state.BASE]
    assert log_page.CHANGED_HERE not in small.text
    assert held(small) == small_case()


# --- changes are followed ----------------------------------------------------------------------


def test_a_surge_typed_in_is_followed_by_case_and_answer(small: Page) -> None:
    before = weigh(held(small)).risk[0]
    edit(small, added=[NEW])
    case = held(small)
    assert not small.app.error
    last = samples(case)[-1]
    assert (last.reading, last.oil_age) == (98_000, 8_000)
    assert last.elements == {"Pb": Reading(18.0), "Cu": Reading(15.0)}
    after = weigh(case)
    assert after.risk[0].chance.value > 2 * before.chance.value
    said = oil_words.factor_sentences(after)[0].replace("\u00a0", " ")
    assert said in small.text
    assert "Lead (Pb) and copper (Cu): the sample at 98,000 km lies above" in small.text
    assert log_page.CHANGED_HERE in small.text


def test_the_same_change_in_the_file_gives_the_same_case(small: Page) -> None:
    edit(small, cells={2: {LEAD: "<2"}, 3: {OIL_AGE: 9_500}}, deleted=[0])
    rows = ROWS[1:]
    rows[1] = rows[1].replace("10000,4,", "10000,<2,")
    rows[2] = rows[2].replace(",10000,", ",9500,")
    assert replace(held(small), stated=frozenset()) == replace(small_case(rows), stated=frozenset())


def test_a_new_row_takes_its_place_by_the_meter(small: Page) -> None:
    edit(small, added=[{**NEW, METER: 65_500, OIL_AGE: 5_500, LEAD: "2", COPPER: "3"}])
    assert not small.app.error
    meters = [row.reading or 0.0 for row in samples(held(small))]
    assert meters == sorted(meters)
    assert 65_500 in meters


def test_all_rows_deleted_leave_a_case_without_samples(small: Page) -> None:
    edit(small, deleted=range(len(ROWS)))
    case = held(small)
    assert case.samples is None
    assert case.oil.samples is None
    assert screen.NO_SAMPLES in small.text


def test_the_first_sample_of_a_case_is_entered_on_the_page(page: Page) -> None:
    page.offer(("case.zip", case_to_zip(small_case(None))))
    assert words.ABOUT_EMPTY in page.text
    edit(page, added=[{METER: 98_000, OIL_AGE: 8_000, LEAD: "4"}])
    assert not page.app.error
    case = held(page)
    assert case.oil.samples == "oil.csv"
    assert samples(case)[0].elements == {"Pb": Reading(4.0)}
    assert "The one sample that counts" in page.text


def test_the_saved_case_carries_the_samples_and_opens_the_same(small: Page) -> None:
    edit(small, added=[NEW])
    case = held(small)
    again = case_from_zip(case_to_zip(case))
    assert again.samples == case.samples
    small.offer(("saved.zip", case_to_zip(case)))
    assert held(small).samples == case.samples


# --- what is not complete or not right ---------------------------------------------------------


def test_a_row_that_is_not_complete_waits_and_says_what_it_needs(small: Page) -> None:
    before = held(small)
    edit(small, added=[{METER: 98_000}])
    assert held(small) == before
    assert not small.app.error
    assert (
        "Row 7 is not complete, so it neither counts nor is saved yet. It still needs: "
        "“Usage on the oil, km” and what one metal came to." in small.text
    )
    edit(small, added=[{}])
    assert "is not complete" not in small.text, "a row still empty is not worth a word"


@pytest.mark.parametrize(
    ("cells", "row", "column", "found"),
    [
        ({1: {LEAD: "four"}}, "2", LEAD, "four"),
        ({1: {LEAD: "1,5"}}, "2", LEAD, "1,5"),
        ({5: {METER: 120_000}}, "6", METER, "120,000"),
        ({4: {METER: 41_000}}, "5", METER, "in row 4"),
        ({0: {OIL_AGE: 41_000}}, "1", OIL_AGE, "41,000"),
        ({3: {OIL_AGE: 0}}, "4", OIL_AGE, "0"),
        ({3: {"Date": "22.8.2026"}}, "4", "Date", "22.8.2026"),
        ({3: {LEAD: None, COPPER: None}}, "4", LEAD, "no element measured"),
    ],
)
def test_a_fault_is_told_by_row_and_heading_and_the_answer_stays(
    small: Page, cells: object, row: str, column: str, found: str
) -> None:
    before, verdict = held(small), small.part("verdict")
    edit(small, cells=cells)
    assert held(small) is before
    assert small.part("verdict") == verdict
    told = fault_rows(small)
    assert told[0][:2] == [row, column]
    assert found in told[0][2]
    assert not re.search(r"[a-z]_[a-z]|\.csv|\bline \d", " ".join(told[0]))
    said = [error.value for error in small.app.error]
    assert said == [words.NOT_TAKEN, records_entry.FAULTS]


def test_the_rows_of_faults_are_those_of_the_table_after_rows_were_deleted(small: Page) -> None:
    edit(small, cells={3: {LEAD: "four"}}, deleted=[0, 1])
    assert fault_rows(small)[0][0] == "4"


def test_a_fault_put_right_is_gone_and_nothing_else_was_lost(small: Page) -> None:
    edit(small, cells={1: {LEAD: "four"}}, added=[NEW])
    assert small.app.error
    edit(small, cells={1: {LEAD: "5"}}, added=[NEW])
    assert not small.app.error
    assert samples(held(small))[1].elements["Pb"] == Reading(5.0)
    assert samples(held(small))[-1].reading == 98_000


def test_faults_of_records_and_samples_are_each_told_at_their_table(page: Page) -> None:
    edit(page, cells={1: {LEAD: "four"}})
    table(page, 0, {0: {"Age, km": -5}})
    said = [error.value for error in page.app.error]
    assert said == [
        records_entry.NOT_TAKEN,
        words.NOT_TAKEN,
        records_entry.FAULTS,
        records_entry.FAULTS,
    ]


def test_changes_are_taken_back(small: Page) -> None:
    edit(small, added=[NEW], deleted=[0])
    assert held(small) != small_case()
    press(small, words.UNDO)
    assert held(small) == small_case()
    assert log_page.CHANGED_HERE not in small.text


def test_a_case_without_declared_metals_says_how_to_declare_them(page: Page) -> None:
    page.offer(("case.zip", case_to_zip(case_with_oil(None, elements=[]))))
    assert "does not say which metals" in page.text
