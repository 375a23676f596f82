"""A table of somebody's own brought in on the page: choices, what they come to, and use."""

from __future__ import annotations

import pytest

from riskmodel.page import state
from riskmodel.page.examples import example
from riskmodel.records.case import Case
from riskmodel.records.loose_guess import LEAVE_OUT
from riskmodel.records.tables import LifeRecords
from riskmodel.words import import_words as words
from riskmodel.words import screen
from tests.page.conftest import Page

TABLE = """Car;Mileage at event;What happened;Use of it
A;120.000,5;Seized;Town
B;90 000 km;still going;town
C;80.000;Still going;motorway
D;75.000;replaced (worn);
E;ca. 70.000;Seized;Town
"""


def open_import(page: Page, text: str, name: str = "mine.csv") -> None:
    opened = page.app.session_state[state.OPENED]
    page.app.session_state[f"records.import#{opened}"] = True
    page.run()
    uploader = next(box for box in page.app.file_uploader if box.label == words.UPLOAD)
    uploader.set_value((name, text.encode(), "text/csv"))
    page.run()


def pick(page: Page, label: str, value: object) -> None:
    box = next(box for box in page.app.selectbox if box.label.startswith(label))
    box.set_value(value)
    page.run()


def use(page: Page) -> None:
    button = next(button for button in page.app.button if button.label == words.USE)
    assert not button.disabled
    button.click()
    page.run()


def records(page: Page) -> LifeRecords:
    case: Case = page.app.session_state[state.GOOD]
    assert case.records is not None
    return case.records


def test_it_is_not_drawn_before_it_is_opened(page: Page) -> None:
    assert words.ABOUT not in page.text
    assert [box.label for box in page.app.file_uploader] == [screen.UPLOAD]


def test_a_table_is_brought_in_by_choosing_columns(page: Page) -> None:
    before = page.part("verdict")
    open_import(page, TABLE)
    assert "5 rows of 4 columns parted by semicolons" in page.text
    assert "4 rows can be read: 1 part failed, 2 parts still running and 1 part" in page.text
    assert "a number, such as 120.000,5" in page.text
    button = next(button for button in page.app.button if button.label == words.USE)
    assert button.disabled
    assert page.part("verdict") == before
    page.tick(words.leave_out(1))
    use(page)
    assert records(page).age.tolist() == [120000.5, 90000, 80000, 75000]
    assert records(page).outcome == ("failed", "running", "running", "removed_worn")
    assert not records(page).covariates
    assert page.part("verdict") != before
    assert page.app.success[0].value.startswith(
        "4 rows taken over, in the place of the records before."
    )
    assert "trait use (mixed) does not occur" in page.text


def test_records_are_added_to_those_there(page: Page) -> None:
    before = records(page)
    open_import(page, "km,status,Use\n60000,failed,town\n70000,running,track\n")
    traits = next(box for box in page.app.multiselect if box.label == words.TRAITS)
    traits.set_value(["Use"])
    page.run()
    page.choose(words.HOW, "add")
    use(page)
    after = records(page)
    assert len(after) == len(before) + 2
    assert after.age[:-2].tolist() == before.age.tolist()
    assert after.covariates["use"][-2:] == ("town", "track")
    assert after.covariates["oil_interval"][-2:] == ("unknown", "unknown")
    assert page.app.session_state[state.GOOD].part.traits == example("road-car").part.traits


def test_a_word_without_a_meaning_has_to_be_given_one(page: Page) -> None:
    open_import(page, "km,status\n60000,failed\n70000,zzz\n80000,\n")
    assert words.PUT_RIGHT in page.text
    assert "“zzz”, an empty cell" in page.text
    assert words.USE not in [button.label for button in page.app.button]
    pick(page, "“zzz”", "running")
    pick(page, "Empty cells", LEAVE_OUT)
    assert "1 row left out, as you chose" in page.text
    use(page)
    assert records(page).outcome == ("failed", "running")


def test_one_answer_for_every_row(page: Page) -> None:
    open_import(page, "km\n60000\n70000\n")
    assert words.PUT_RIGHT in page.text
    pick(page, words.FIELDS["outcome"], ("every", "failed"))
    use(page)
    assert records(page).outcome == ("failed", "failed")


def test_miles_are_turned_into_the_unit_of_the_case(page: Page) -> None:
    open_import(page, "Miles,status\n60000,failed\n70000,running\n")
    use(page)
    assert records(page).age.tolist() == [96560.6, 112654.1]  # 1.609344 km a mile


def test_another_decimal_sign_can_be_chosen(page: Page) -> None:
    open_import(page, "km;status\n120.000;failed\n130.000;running\n")
    pick(page, words.DECIMAL, "point")
    assert records(page).age.tolist() != [120, 130]
    use(page)
    assert records(page).age.tolist() == [120, 130]


def test_another_separator_can_be_chosen(page: Page) -> None:
    open_import(page, "km;status;more,and\n1200;failed;x,y\n1300;running;x,y\n")
    pick(page, words.SEPARATOR, ",")
    assert "2 rows of 2 columns parted by commas" in page.text


@pytest.mark.parametrize(
    ("text", "told"),
    [("", "an empty file"), ("PK\x03\x04", "workbook"), ("a,b\n", "nothing below")],
)
def test_what_is_no_table_is_told(page: Page, text: str, told: str) -> None:
    open_import(page, text)
    assert page.app.error[0].value == screen.NOT_READ
    assert told in page.text
    assert page.part("verdict")


def test_too_many_words_for_an_outcome_are_told(page: Page) -> None:
    open_import(page, "km,status\n" + "".join(f"{1000 + i},w{i}\n" for i in range(40)))
    assert "40 different words" in page.app.error[0].value


def test_folding_it_keeps_what_was_chosen(page: Page) -> None:
    open_import(page, "km,status\n60000,failed\n70000,zzz\n")
    pick(page, "“zzz”", "running")
    page.app.session_state[f"records.import#{page.app.session_state[state.OPENED]}"] = False
    page.run()
    use(page)
    assert records(page).outcome == ("failed", "running")


def test_bringing_in_can_be_undone(page: Page) -> None:
    before = page.part("verdict")
    open_import(page, "km\n60000\n70000\n")
    pick(page, words.FIELDS["outcome"], ("every", "failed"))
    use(page)
    assert page.part("verdict") != before
    next(button for button in page.app.button if button.label == screen.RESET).click()
    page.run()
    assert page.part("verdict") == before


def test_no_label_shows_a_name_of_the_program(page: Page) -> None:
    open_import(page, TABLE)
    shown = [box.label for box in page.app.selectbox]
    shown += [option for box in page.app.selectbox for option in box.options]
    shown += [box.help or "" for box in page.app.selectbox]
    for text in shown:
        assert "_" not in text
    for frame in page.app.dataframe:
        assert not [name for name in frame.value.columns if "_" in str(name)]


def test_a_heading_with_markup_in_it_is_shown_as_it_is(page: Page) -> None:
    open_import(page, "km,status\n60000,failed\n70000,![a](http://example.org/a.png)\n")
    labels = [box.label for box in page.app.selectbox]
    assert not [label for label in labels if "![" in label]
