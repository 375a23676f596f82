"""The page on its log: what is entered is there again, and nobody's entry is lost.

The cases are of exactly known life, so that an answer takes little time.
"""

from __future__ import annotations

import datetime
import io
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest

from riskmodel.decision.rank import GivenCase, rank
from riskmodel.decision.weigh import weigh
from riskmodel.oil.linings import LININGS
from riskmodel.page import kept, log_file, log_files, state
from riskmodel.page.examples import example
from riskmodel.records.archive import case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.log.bridge import case_of_decision, export_case, import_case
from riskmodel.records.log.entries import InputsChanged, MeterReading
from riskmodel.records.log.folder import import_log
from riskmodel.records.log.log import Log
from riskmodel.words import headline, log_page, log_page_files, oil_linings, screen
from riskmodel.words import log_page_forms as forms
from riskmodel.words import log_page_workshop as workshop
from riskmodel.words import rank as rank_words
from riskmodel.words import said_and_seen as said_words
from tests.page.conftest import Page
from tests.risk.cases import case_with
from tests.words.test_wording import NEVER

LEAD = {"symbol": "Pb", "typical": [0.2, 0.9], "from_part": True}
TODAY = datetime.date(2026, 12, 1)


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: TODAY.isoformat())


def exact_case(name: str = "My car", **machine: Any) -> Case:
    """A car of 100,000 km with a part of exactly known life."""
    return case_with(
        None,
        machine={"name": name, "date": "2026-11-01", **machine},
        part={"code": "EX-1"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        oil={"interval": 10_000, "next_change_in": 4_000},
    )


def log_of(*cases: Case) -> tuple[Log, list[str]]:
    """The page's log with these machines, and their ids."""
    log = log_file.made()
    return log, [import_case(log, case, author="Ann").machine for case in cases]


def button(page: Page, label: str) -> Any:
    return next(one for one in page.app.button if one.label == label)


def press(page: Page, label: str) -> None:
    button(page, label).click()
    page.run()


def fill(page: Page, kind: str, **values: Any) -> None:
    """Chooses what happened, fills the form in and enters it."""
    if page_kind(page).value != kind:
        page_kind(page).set_value(kind)
        page.run()
    for name, value in values.items():
        field(page, kind, name).set_value(value)
    press(page, forms.ENTER)


def page_kind(page: Page) -> Any:
    return next(box for box in page.app.selectbox if box.label == forms.ASK)


def field(page: Page, kind: str, name: str) -> Any:
    """A widget of a form by its name in the program."""
    for group in ("number_input", "text_input", "date_input", "selectbox", "checkbox"):
        for one in getattr(page.app, group):
            if one.key and f".{kind}.{name}#" in one.key:
                return one
    raise AssertionError(f"no field {name}")


def said(page: Page) -> str:
    """Everything told in the coloured boxes of the page."""
    boxes = [*page.app.info, *page.app.warning, *page.app.error, *page.app.success]
    return "\n".join(box.value.replace("\\", "") for box in boxes)


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


# --- the short forms -------------------------------------------------------------------------


def test_a_sample_goes_its_way_from_taken_to_told() -> None:
    case = case_with(
        None,
        machine={"name": "My car"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        oil={"interval": 10_000, "element": [LEAD]},
    )
    log, [name] = log_of(case)
    page = Page(machine=name)
    fill(page, "taken", reading=99_000.0, date=TODAY, oil_age=5_000.0, bottle="B-7")
    fill(page, "sent", date=TODAY)
    assert log.machine(name).samples[0].stage == "sent"
    fill(page, "back", date=TODAY, **{"element.Pb": "lots"})
    assert log_page.NOT_WRITTEN in said(page)
    assert field(page, "back", "element.Pb").value == "lots"
    fill(page, "back", date=TODAY, **{"element.Pb": "<2"})
    fill(page, "told", date=TODAY)
    sample = log.machine(name).samples[0]
    assert (sample.stage, sample.taken.what.bottle) == ("told", "B-7")
    assert sample.elements["Pb"].below
    samples = export_case(log, name).samples
    assert samples is not None
    assert samples.rows[0].elements == sample.elements


def test_a_job_and_its_findings_become_a_life_record() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    fill(page, "job", done="replaced", reading=101_000.0, date=TODAY, price=2_300.0)
    assert "101,000 km on the meter" in page.text
    assert "taken out, not looked at at 101,000 km" in page.text
    fill(page, "finding", position="rod 1, upper", look="unworn")
    fill(page, "finding", position="rod 2, upper", look="worn", clearance=0.09)
    records = export_case(log, name).records
    assert records is not None
    assert (records.age.tolist(), records.outcome) == ([101_000.0], ("removed_worn",))
    assert "taken out worn at 101,000 km" in page.text
    assert page.app.session_state[state.GOOD].records == records
    assert page.app.dataframe[0].value.empty  # that table holds the records of others only
    for one in (page, Page(screen="workshop")):
        visible = re.sub(r"<[^>]*>", " ", one.text)
        assert not re.search(r"\b[a-z]+_[a-z]+\b", visible), "a name of the program's own"
        assert not NEVER.search(visible)


def test_a_failure_with_nothing_fitted_leaves_the_log_to_enter_what_was_fitted() -> None:
    _, [name] = log_of(exact_case())
    page = Page(machine=name)
    fill(page, "job", done="failed", reading=101_000.0, date=TODAY)
    assert log_page.NO_PART in page.text
    assert not page.part("verdict")
    assert log_page.NO_PART in Page(machine=name).text
    fill(page, "job", done="fitted", reading=101_000.0, date=TODAY)
    assert page.part("verdict")


def test_a_decision_is_kept_word_for_word_with_the_case_it_was_taken_on() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name, by="Ann")
    w = weigh(exact_case())
    fill(page, "decision", declined=True, chosen="", by="the owner", date=TODAY)
    held = log.machine(name).decisions[0].what
    assert (held.declined, held.chosen, held.by) == (True, "", "the owner")
    assert held.shown == forms.shown(w)
    assert case_of_decision(held) == exact_case()
    assert [said.ahead for said in held.said] == [told.ahead for told in w.risk]
    assert held.worn_told is not None
    page.type("Keep for, years", 9.0)
    kept_text = page.text.replace("&#x27;", "'")
    for line in held.shown.split("\n"):
        assert line.replace("\u00a0", " ").replace("&", "&amp;") in kept_text


def test_an_entry_is_undone_and_stays_in_the_history() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    fill(page, "quote", price="planned", low=5_000.0, high=6_000.0, by="A workshop", date=TODAY)
    assert export_case(log, name).cost.planned.high == 6_000
    which = next(box for box in page.app.selectbox if box.label == forms.UNDO_WHICH)
    which.set_value(log.last(name))
    page.run()
    press(page, forms.UNDO_DO)
    assert export_case(log, name) == exact_case()
    assert f"– {forms.UNDONE}" in page.text


def test_what_cannot_be_is_told_by_the_name_of_its_field() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    before = log.last(name)
    fill(page, "reading", reading=90_000.0, date=TODAY)
    assert log_page.NOT_WRITTEN in said(page)
    assert ">Meter</th>" in page.text
    fill(page, "oil", date=TODAY)
    assert log_page.A_NUMBER in page.text
    assert log.last(name) == before


def test_nothing_is_entered_while_a_figure_above_has_a_fault() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    page.type("Meter now, km", 10_000.0)
    fill(page, "oil", reading=100_500.0, date=TODAY)
    assert log_page.UNFINISHED in said(page)
    assert not log.machine(name).oil_changes
    page.type("Meter now, km", 100_000.0)
    page.type("Replacement in time, from", 50_000.0)  # above what stands in "to"
    press(page, forms.ENTER)
    assert log_page.UNFINISHED in said(page)
    page.type("Replacement in time, from", 1_500.0)
    press(page, forms.ENTER)
    assert log.machine(name).oil_changes[0].what.reading == 100_500


# --- a machine from a few figures, all machines, the file ------------------------------------


def test_all_machines_stand_with_symptoms_first_and_link_to_their_page() -> None:
    knocks = exact_case("Zebra car", symptoms=["knock"])
    log, names = log_of(exact_case("A car"), knocks, exact_case("B car"))
    page = Page(screen="workshop")
    order = [page.text.index(f'<a href="?machine={name}">') for name in names]
    assert order[1] < order[0] < order[2]
    assert "stop: not weighed" in page.text
    [standing] = rank([GivenCase("", export_case(log, names[0]))], today=TODAY).standings
    assert f">{workshop.waiting(standing)}</td>" in page.text
    assert f">{rank_words.why(standing)}</td>".replace("\u00a0", " ") in page.text
    assert rank_words.CAUTION in page.text
    box = next(box for box in page.app.text_input if box.label == workshop.FILTER)
    box.set_value("b car")
    page.run()
    assert "A car" not in page.text
    assert workshop.counted(1, 3) in page.text
    assert log.state().machines.keys() == set(names)


LAB_TABLE = b"""Unit;Sample date;Odometer;km on oil;Lead (Pb);Iron
my-car;03.11.2026;99000;5000;4,5;31
the other one;04.11.2026;88000;8000;<1;12
nobody's;05.11.2026;70000;4000;2;10
"""


def test_a_laboratorys_table_is_told_before_it_is_written_and_then_as_a_whole() -> None:
    case = case_with(
        None,
        machine={"name": "My car"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        oil={"interval": 10_000, "element": [LEAD, {**LEAD, "symbol": "Fe"}]},
    )
    log, [name, other] = log_of(case, case)
    page = Page(screen="workshop", by="Ann")
    page.app.session_state["lab"] = True
    page.run()
    page.app.text_input(key="lab.name").set_value("Laboratory A")
    page.app.file_uploader(key="lab.file#0").set_value([("june.csv", LAB_TABLE, "text/csv")])
    page.run()
    page.app.selectbox(key="lab.machine.the other one#0").set_value(other)
    page.run()
    assert "2 new samples." in page.text
    assert "1 row of machines that the log has not." in page.text
    assert not log.machine(name).samples
    press(page, workshop.LAB_WRITE)
    assert workshop.LAB_DONE in said(page)
    [mine], [theirs] = log.machine(name).samples, log.machine(other).samples
    assert (mine.elements["Pb"].value, mine.taken.what.date) == (4.5, "2026-11-03")
    assert theirs.elements["Pb"].below
    # What was put right is remembered, and the same table once more brings nothing.
    page.app.file_uploader(key="lab.file#1").set_value([("june.csv", LAB_TABLE, "text/csv")])
    page.run()
    assert "2 rows left out" in page.text
    assert button(page, workshop.LAB_WRITE).disabled


def test_what_was_said_is_held_against_what_was_seen() -> None:
    _, [name] = log_of(exact_case())
    page = Page(machine=name)
    fill(page, "decision", date=TODAY)
    fill(page, "job", done="failed", reading=102_000.0, date=TODAY)
    page = Page(screen="workshop")
    assert said_words.METHOD in page.text
    assert "1 failure seen" in page.text


def test_a_machine_taken_out_is_brought_back_with_all_its_entries() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    fill(page, "reading", reading=100_500.0, date=TODAY)
    which = next(box for box in page.app.selectbox if box.label == forms.UNDO_WHICH)
    which.set_value(1)
    page.run()
    press(page, forms.UNDO_DO)
    assert log_page.TAKEN_OUT in said(page)
    assert page.part("example")
    assert not log.state().machines
    page = Page(screen="workshop")
    press(page, workshop.BRING_BACK.format(name="My car"))
    assert log.machine(name).reading == 100_500
    assert f"?machine={name}" in page.text


def test_a_machine_that_somebody_else_took_out_is_still_shown_with_what_was_typed() -> None:
    log, [name] = log_of(exact_case())
    page = Page(machine=name)
    log.undo(1, author="Ann")
    page.type("Keep for, years", 6.0)
    assert log_page.NO_LONGER in page.text
    assert "6 years you keep it" in page.part("verdict")


@pytest.mark.parametrize(
    ("system", "names", "where"),
    [
        ("linux", {"XDG_DATA_HOME": "/d"}, "/d/riskmodel/log.sqlite"),
        ("linux", {"HOME": "/h"}, "/h/.local/share/riskmodel/log.sqlite"),
        ("darwin", {"HOME": "/h"}, "/h/Library/Application Support/riskmodel/log.sqlite"),
        ("win32", {"LOCALAPPDATA": "/a"}, "/a/riskmodel/log.sqlite"),
        ("linux", {"HOME": "/h", "RISKMODEL_LOG": "~/mine.sqlite"}, "/h/mine.sqlite"),
    ],
)
def test_the_log_lies_where_the_system_keeps_what_users_enter(
    system: str, names: dict[str, str], where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The XDG base directory specification; the other two by the custom of their systems.
    monkeypatch.setattr("sys.platform", system)
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA", "RISKMODEL_LOG"):
        monkeypatch.delenv(name, raising=False)
    for name, value in names.items():
        monkeypatch.setenv(name, value)
    assert log_file.place().as_posix() == where


def test_an_address_of_no_machine_is_told() -> None:
    page = Page(machine="nobody")
    assert log_page.GONE in said(page)
    assert page.part("verdict")


@pytest.mark.parametrize("broken", [b"", b"no log at all" * 100])
def test_a_file_that_is_no_log_is_refused_untouched_and_the_page_works_on(
    own_log: Path, broken: bytes
) -> None:
    own_log.parent.mkdir()
    own_log.write_bytes(broken)
    page = Page()
    assert log_page.NO_LOG in said(page)
    page.offer(("mine.zip", case_to_zip(exact_case())))
    assert "My car" in page.text
    assert log_page.NOT_TAKEN_IN in said(page)
    assert page.part("verdict")
    assert own_log.read_bytes() == broken


def test_a_file_that_is_no_backup_is_named_and_the_log_stays() -> None:
    log, [name] = log_of(exact_case())
    seal = log.seal
    page = Page(machine=name)
    page.app.session_state["log.files"] = True
    page.run()
    uploader = page.app.file_uploader(key="log.restore")
    uploader.set_value([("holiday.sqlite", b"\x89PNG\r\n" * 20, "application/octet-stream")])
    page.run()
    press(page, log_page_files.RESTORE_DO)
    assert log_page_files.NOT_RESTORED in [error.value for error in page.app.error]
    assert '<th scope="row">holiday.sqlite</th>' in page.text
    assert log_file.made().seal == seal


def test_copies_of_the_log_hold_everything_and_a_backup_is_put_back(tmp_path: Path) -> None:
    log, [name] = log_of(exact_case())
    folder = tmp_path / "texts"
    with zipfile.ZipFile(io.BytesIO(log_files._as_texts(log))) as archive:
        archive.extractall(folder)
    import_log(folder, tmp_path / "again.sqlite")
    with Log.open(tmp_path / "again.sqlite") as again:
        assert again.seal == log.seal
    backup = log_files._backup(log)
    page = Page(machine=name)
    page.type("Keep for, years", 6.0)
    page.app.session_state["log.files"] = True
    page.run()
    uploader = page.app.file_uploader(key="log.restore")
    uploader.set_value([("backup.sqlite", backup, "application/octet-stream")])
    page.run()
    press(page, log_page_files.RESTORE_DO)
    assert export_case(log_file.made(), name) == exact_case()
    assert "before-restore" in said(page)
    assert len(list(log_file.place().parent.glob("*before-restore*"))) == 1
