"""All machines: their order, a laboratory's table, what was said and seen, one brought back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.rank import GivenCase, Ranking, Unread, rank
from riskmodel.page import kept
from riskmodel.records.log.bridge import export_case
from riskmodel.records.quantity import exactly
from riskmodel.words import log_page
from riskmodel.words import log_page_forms as forms
from riskmodel.words import log_page_workshop as workshop
from riskmodel.words import rank as rank_words
from riskmodel.words import said_and_seen as said_words
from tests.page.conftest import Page
from tests.page.log_made import LEAD, TODAY, button, exact_case, fill, log_of, press, said
from tests.risk.cases import case_with


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: TODAY.isoformat())


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
    assert f">{rank_words.advice(standing).capitalize()}</td>".replace("\u00a0", " ") in page.text
    assert rank_words.CAUTION in page.text
    box = next(box for box in page.app.text_input if box.label == workshop.FILTER)
    box.set_value("b car")
    page.run()
    assert "A car" not in page.text
    assert workshop.counted(1, 3) in page.text
    assert log.state().machines.keys() == set(names)


def test_the_first_few_can_be_weighed_in_full_and_then_tell_the_verdicts_own_advice() -> None:
    plain = exact_case("A car")
    look = replace(plain, inspection=replace(plain.inspection, cost=exactly(5.0)))
    log_of(look, exact_case("B car"))
    page = Page(screen="workshop")
    assert "A look first may be worth it: weigh this one in full." in page.text
    assert "Look at the part first, then decide *" not in page.text
    press(page, workshop.in_full(2))
    assert "Look at the part first, then decide *" in page.text
    assert "A look first may be worth it" not in page.text
    assert not [one for one in page.app.button if "in full" in one.label]


def find(page: Page, typed: str) -> list[str]:
    """Types into the search, and gives the labels of what weighs in full."""
    box = next(box for box in page.app.text_input if box.label == workshop.FILTER)
    box.set_value(typed)
    page.run()
    return [one.label for one in page.app.button if "in full" in one.label]


def test_only_machines_shown_are_offered_to_be_weighed_in_full() -> None:
    """Counted without those to stop; none where the search finds none, or what it finds has nothing
    that only weighing in full tells."""
    plain = exact_case("A car")
    look = replace(plain.inspection, cost=exactly(5.0))
    named = [replace(plain.machine, name=f"{name} car") for name in "BCD"]
    looks = [replace(plain, machine=each, inspection=look) for each in named]
    stop = replace(looks[2], machine=replace(named[2], symptoms=("knock",)))
    log_of(plain, looks[0], looks[1], stop)
    page = Page(screen="workshop")
    assert find(page, "") == [workshop.in_full(3)]
    assert find(page, "no such car") == []
    assert workshop.counted(0, 4) in page.text
    assert find(page, "a car") == []
    assert find(page, "d car") == []
    assert find(page, "b car") == [workshop.in_full(1)]
    press(page, workshop.in_full(1))
    assert "1 machine weighed fully" in page.text
    assert find(page, "b car") == []
    assert find(page, "c car") == [workshop.in_full(1)]
    press(page, workshop.in_full(1))
    assert find(page, "") == []
    assert "2 machines weighed fully" in page.text


def test_a_machine_that_cannot_be_weighed_is_called_by_its_name() -> None:
    log, [name] = log_of(exact_case("A car"))
    found = Ranking((), (Unread(name, ("no records.", "no belief.")),))
    told = workshop.unread(found, log.state().machines)
    assert (name, told) == ("a-car", ["A car: no records. no belief."])
    assert rank_words.ALONE in Page(screen="workshop").text


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
