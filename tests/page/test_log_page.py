"""The page on its log: what is entered is there again, and nobody's entry is lost."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.oil.linings import LININGS
from riskmodel.page import kept, log_changes, log_file, state
from riskmodel.page.examples import example
from riskmodel.records.archive import case_to_zip
from riskmodel.records.errors import InputError
from riskmodel.records.log.bridge import export_case
from riskmodel.records.log.entries import InputsChanged, MeterReading
from riskmodel.words import headline, log_page, oil_linings, screen
from riskmodel.words import log_page_forms as forms
from tests.page.conftest import Page
from tests.page.log_made import TODAY, exact_case, field, fill, log_of, press, said
from tests.risk.cases import case_with


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: TODAY.isoformat())


# --- what is kept ----------------------------------------------------------------------------


def test_a_first_visit_keeps_nothing_and_shows_the_example(page: Page, own_log: Path) -> None:
    assert page.part("example")
    page.type("Meter now, km", 125_000.0)
    assert not own_log.exists()
    assert forms.THE_LOG not in page.headers


def test_a_case_offered_is_there_again_when_the_page_is_loaded_anew(page: Page) -> None:
    page.offer(("mine.zip", case_to_zip(exact_case())))
    assert log_page.TAKEN_IN in said(page)
    page.type("Failure, to", 15_000.0)
    page.type("Keep for, years", 5.0)
    name = page.app.session_state[state.MACHINE]
    again = Page(machine=name)
    assert "My car" in again.text
    assert again.part("verdict") == page.part("verdict")
    case = export_case(log_file.made(), name)
    assert headline(weigh(case)).replace("\u00a0", " ") in again.part("verdict")
    assert (case.cost.failure.high, case.plan.keep_years) == (15_000, 5.0)


def test_the_same_case_offered_twice_is_one_machine(page: Page) -> None:
    page.offer(("mine.zip", case_to_zip(exact_case())))
    page.open("road-car")
    page.offer(("again.zip", case_to_zip(exact_case())))
    assert log_page.KNOWN_ALREADY in said(page)
    assert list(log_file.made().state().machines) == ["my-car"]


def test_a_changed_figure_is_one_entry_and_taking_it_back_another() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name, by="Bert")
    page.type("Keep for, years", 6.0)
    entry = log.history(name)[-1]
    assert (entry.payload, entry.author) == (InputsChanged({"plan.keep_years": 6.0}), "Bert")
    before = log.last(name)
    page.run()
    assert log.last(name) == before
    press(page, screen.RESET)
    assert export_case(log, name).plan.keep_years == 3
    assert export_case(log, name) == exact_case()


def test_a_meter_read_on_brings_the_oil_change_nearer_and_back_again() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    page.type("Meter now, km", 101_500.0)
    held = log.machine(name)
    assert (held.reading, held.date) == (101_500.0, TODAY.isoformat())
    box = next(b for b in page.app.number_input if b.label.startswith("Next oil change in"))
    assert box.value == 2_500.0
    page.type("Meter now, km", 101_000.0)  # the reading before was mistyped
    assert [mark.reading for mark in log.machine(name).marks] == [100_000.0, 101_000.0]


def test_a_meter_below_what_the_log_knows_is_not_kept_and_said_so() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    before = log.last(name)
    page.type("Meter now, km", 10_000.0)
    assert log_page.NOT_KEPT in said(page)
    assert "at least 100,000 km" in page.text
    assert log.last(name) == before
    page.type("Meter now, km", 100_000.0)
    assert log_page.NOT_KEPT not in said(page)


def test_a_day_before_what_the_log_knows_is_told_as_a_day_and_not_as_a_reading() -> None:
    log, [name] = log_of(exact_case())
    case = export_case(log, name)
    before = replace(case, machine=replace(case.machine, date="2020-01-01"))
    with pytest.raises(InputError) as refused:
        log_changes.entries(log.state(), log.machine(name), case, before, TODAY.isoformat())
    [problem] = refused.value.problems
    assert (problem.where, problem.found) == ("machine.date", "2020-01-01")
    assert "a day not before" in problem.expected
    assert "at least" not in problem.expected


def test_every_table_and_list_of_the_example_goes_in_and_comes_out_the_same(page: Page) -> None:
    press(page, log_page.KEEP_EXAMPLE)
    log = log_file.made()
    assert export_case(log, page.app.session_state[state.MACHINE]) == example("road-car")
    assert page.app.session_state[state.GOOD] == example("road-car")
    entries = log.last("example-road-car-invented")
    editor = page.app.dataframe[1].key  # the samples: one result put right, one row out
    page.app.session_state[editor] = {
        "edited_rows": {0: {"Pb, ppm": "8"}},
        "added_rows": [],
        "deleted_rows": [2],
    }
    page.run()
    case = export_case(log, "example-road-car-invented")
    was = example("road-car").samples
    assert case.samples is not None
    assert was is not None
    assert case.samples.rows[0].elements["Pb"].value == 8.0
    assert case.samples.rows[1:] == (was.rows[1], *was.rows[3:])
    assert log.last("example-road-car-invented") == entries + 3  # two undone, one anew


def test_what_is_brought_in_as_a_whole_is_there_again_too() -> None:
    rows = ["150000,failed", "180000,failed", "210000,running"]
    made = case_with(
        rows,
        machine={"name": "My car", "date": "2026-11-01"},
        part={"code": "EX-1", "lining": "something else"},
        oil={"interval": 10_000},
    )
    log, [name, other] = log_of(made, made)
    page = Page(machine=name)
    box = next(box for box in page.app.selectbox if box.label == oil_linings.CHOOSE)
    box.set_value(LININGS[0])
    page.run()
    press(page, oil_linings.FILL_IN)
    case = export_case(log, name, shared=False)
    assert case.part.lining == LININGS[0].name
    assert case.oil.element
    assert case.records == made.records  # though it has left the group that shares them
    assert Page(machine=name).part("verdict") == page.part("verdict")
    assert export_case(log, other, shared=False) == made


def test_life_records_are_shared_by_all_with_such_a_part() -> None:
    made = case_with(
        ["150000,failed", "180000,failed", "210000,running"],
        machine={"name": "My car", "date": "2026-11-01"},
        part={"code": "EX-1"},
    )
    log, [name, other] = log_of(made, made)
    page = Page(machine=name)
    page.app.session_state[page.app.dataframe[0].key] = {
        "edited_rows": {0: {"Age, km": 140_000}},
        "added_rows": [],
        "deleted_rows": [],
    }
    page.run()
    records = export_case(log, other, shared=False).records
    assert records is not None
    assert records.age.tolist() == [140_000, 180_000, 210_000]
    assert [entry.author for entry in log.history() if entry.machine is None] == [
        "Ann",
        log_page.SOMEBODY,
    ]
    # The other machine's part, still running, is among what this one learns from.
    learned = page.app.session_state[state.GOOD].records
    assert learned.age.tolist() == [140_000, 180_000, 210_000, 100_000]


def test_a_machine_given_up_is_shown_and_not_changed() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    fill(page, "retired", reading=100_500.0, date=TODAY, note="sold")
    assert log_page.GIVEN_UP in said(page)
    before = log.last(name)
    page.type("Keep for, years", 6.0)
    assert log_page.NOT_KEPT in said(page)
    assert log.last(name) == before


def test_an_address_of_no_machine_is_told() -> None:
    page = Page(machine="nobody")
    assert log_page.GONE in said(page)
    assert page.part("verdict")


# --- who else writes -------------------------------------------------------------------------


def test_two_visitors_who_change_the_same_machine_are_told_and_neither_loses_anything() -> None:
    log, [name] = log_of(exact_case())
    first, second = Page(machine=name, by="Ann"), Page(machine=name, by="Bert")
    first.type("Keep for, years", 6.0)
    second.type("Usage per year, km", 20_000.0)
    assert log_page.CLASH in said(second)
    assert "Keep for: 6 (Ann" in second.text
    assert export_case(log, name).machine.usage_per_year == 10_000
    box = next(b for b in second.app.number_input if b.label.startswith("Usage per year"))
    assert box.value == 20_000.0
    press(second, log_page.KEEP_MINE)
    case = export_case(log, name)
    assert (case.plan.keep_years, case.machine.usage_per_year) == (6.0, 20_000)
    assert log_page.CLASH not in said(second)
    first.run()
    assert log_page.NEWER in said(first)
    assert "Bert" in said(first)


def test_a_form_that_clashes_keeps_what_was_typed_and_can_be_entered_again() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name, by="Bert")
    log.add(MeterReading(103_000, "2026-11-20"), machine=name, author="Ann")
    before = log.last(name)
    fill(page, "reading", reading=104_000.0, date=TODAY, note="at the gate")
    assert log_page.CLASH in said(page)
    assert "Meter at 103,000 km, 20 November 2026 (Ann" in page.text
    assert log.last(name) == before
    assert field(page, "reading", "note").value == "at the gate"
    press(page, forms.ENTER)
    assert log.history(name)[-1].payload == MeterReading(104_000, "2026-12-01", "at the gate")
    assert field(page, "reading", "note").value == ""


def test_changes_from_the_command_line_are_shown_without_being_asked_for() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    log.add(MeterReading(103_000, "2026-11-20"), machine=name, author="Ann")
    page.run()
    assert "103,000 km on the meter" in page.text
    assert log_page.NEWER in said(page)


def test_a_machine_that_somebody_else_took_out_is_still_shown_with_what_was_typed() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    log.undo(1, author="Ann")
    page.type("Keep for, years", 6.0)
    assert log_page.NO_LONGER in page.text
    assert "6 years you keep it" in page.part("verdict")
