"""What an independent reader of the report stumbled over, and may not come back."""

from __future__ import annotations

from dataclasses import asdict
from html import unescape

import pytest

from riskmodel import words
from riskmodel.decision.results import Weighing
from riskmodel.report import owner
from riskmodel.report.owner.document import Table
from riskmodel.words import report, report_entered, report_what_if, spent
from tests.report import made, printed
from tests.report.test_report import blocks
from tests.words.weighings import weighing


def test_the_answer_read_by_others_agrees_with_itself() -> None:
    """The kept answer: never is as likely to fail as the part left in, waiting lies on the line of
    the trade-off, what each plan costs adds up, and a plan fails more often the later it is."""
    w, changes, _ = made.told()
    left_in = next(chance for chance in w.risk if chance.what == "keep_until")
    assert w.plans[-1].present_failure.value == pytest.approx(left_in.chance.value, rel=1e-5)
    failures = [plan.failure.value for plan in w.plans]
    assert failures == sorted(failures)
    trade = w.trade_off
    assert trade is not None
    p = trade.chance.value
    line = (1 - p) * trade.if_lasts + p * trade.if_fails
    assert line == pytest.approx(trade.wait.value, rel=1e-5)
    for plan in w.plans:
        assert plan.spent is not None
        assert sum(asdict(plan.spent).values()) == pytest.approx(plan.cost.value, rel=1e-5)
    assert w.best is not None
    assert changes[0].cost == pytest.approx(w.best.cost.value, rel=1e-6)


def test_where_the_money_goes_adds_up_for_now_the_verdict_and_never() -> None:
    """As printed, each figure being rounded to tens: to the last one."""
    w, changes, free = made.told()
    table = money_table(w)
    assert table is not None
    assert table.columns == ("On average, in EUR", "Now", "Next oil change", "Never")
    assert table.rows[-1][0] == "In all"
    figures = [[float(cell.replace(",", "")) for cell in row[1:]] for row in table.rows]
    for column in zip(*figures, strict=True):
        assert sum(column[:-1]) == column[-1]
    assert figures[-1] == [5220, 5110, 5910]
    said = printed.plain(owner.report_html(w, changes, free))
    assert spent.HEADING in said


def test_without_what_a_cost_is_made_of_no_such_table_stands() -> None:
    assert money_table(weighing()) is None


def money_table(w: Weighing) -> Table | None:
    tables = [b for b in blocks(owner.owner_document(w)) if isinstance(b, Table)]
    return next((table for table in tables if table.columns[0].startswith("On average")), None)


def test_a_figure_doubled_or_halved_is_so_as_shown() -> None:
    """2,630 and 14,200 are what the page shows of the quote and of a failed engine."""
    w, changes, free = made.told()
    assert "about EUR 2,630" in printed.plain(report.at_stake(w))
    told = [printed.plain(row[0]) for row in report_what_if.rows(w, changes, free)]
    assert told[0].endswith("EUR 5,260")
    assert told[1].endswith("EUR 7,100")
    assert told[2].endswith("EUR 28,400")


def test_a_job_to_come_says_when_it_is_decided_again() -> None:
    w, changes, free = made.told()
    said = printed.plain(unescape(owner.report_html(w, changes, free)))
    assert report.DECIDE_THEN["next"] in said
    assert report.DECIDE_THEN["later"] not in said
    now = weighing(costs=(4000.0, 5000.0, 6000.0), failures=(0.04, 0.1, 0.3))
    assert report.decide_then(now) == ""
    later = weighing(costs=(6000.0, 5000.0, 4000.0, 7000.0), failures=(0.04, 0.1, 0.2, 0.3))
    assert report.decide_then(later) == report.DECIDE_THEN["later"]


def test_whether_the_job_waits_for_the_laboratory_is_said() -> None:
    """A sample drawn at the visit of the job itself changes nothing in the model
    (tests/simulation/sampled.py draws none there): so it is said, and only there."""
    w, changes, free = made.told()
    said = printed.plain(unescape(owner.report_html(w, changes, free)))
    assert "The job does not wait for a laboratory" in said
    later = weighing(costs=(6000.0, 5000.0, 4000.0, 7000.0), failures=(0.04, 0.1, 0.2, 0.3))
    assert "does not wait" not in " ".join(words.next_steps(later))


def test_the_verdict_tells_the_bad_case_and_the_limit_is_among_what_was_entered() -> None:
    w, *_ = made.told()
    assert "one owner in twenty pays more than EUR 16,700" in printed.plain(report.verdict(w)[0])
    entered = printed.plain(" ".join(text for _, text in report_entered.entered(w.case)))
    assert "your limit: failures, at most 15 of 100" in entered
