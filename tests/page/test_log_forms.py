"""The short forms below the answer: what happened becomes entries of the log, and is undone."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from riskmodel.decision.prepared import grounds
from riskmodel.decision.weigh import weigh
from riskmodel.page import kept, state
from riskmodel.records.files import read_case
from riskmodel.records.log.bridge import case_of_decision, export_case
from riskmodel.records.quantity import exactly
from riskmodel.risk.distress import distress_today
from riskmodel.risk.life_curves import life_curves
from riskmodel.words import log_page
from riskmodel.words import log_page_forms as forms
from riskmodel.words.plan_names import INSPECTION_NAME
from tests.page.conftest import Page
from tests.page.log_made import LEAD, TODAY, exact_case, field, fill, log_of, press, said
from tests.risk.cases import case_with
from tests.words.test_wording import NEVER

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: TODAY.isoformat())


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


def test_wear_is_told_as_the_answer_has_it_by_use_and_samples() -> None:
    case = read_case(DATA / "road-car")
    log, [name] = log_of(case)
    page = Page(machine=name)
    fill(page, "decision", date=TODAY)
    told = log.machine(name).decisions[0].what.worn_told
    held = export_case(log, name)
    assert told == pytest.approx(grounds(held).worn_today, rel=1e-9)
    plain = distress_today(held, life_curves(held))
    assert told != pytest.approx(plain, rel=0.01), "without its samples and use it is another"


def test_a_look_advised_first_is_kept_and_may_be_what_is_decided() -> None:
    plain = exact_case()
    look = replace(plain, inspection=replace(plain.inspection, cost=exactly(5.0)))
    log, [name] = log_of(look)
    page = Page(machine=name, by="Ann")
    fill(page, "decision", date=TODAY)
    fill(page, "decision", chosen="0", date=TODAY)
    first, other = (each.what for each in log.machine(name).decisions)
    assert first.advised == first.chosen == other.advised == INSPECTION_NAME
    assert (first.advised_at, first.chosen_at) == (None, None)
    assert (other.chosen, other.chosen_at) == ("Replace now", 0.0)


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
