"""The ranking of many machines in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from riskmodel.decision.rank import GivenCase, rank
from riskmodel.records.log.fold import LEAST_TO_CHANGE
from riskmodel.words import rank as words
from tests.risk.cases import case_with


def test_an_oil_change_that_is_due_is_called_so_and_no_usage_to_it_is_made_up() -> None:
    """A log holds one that is overdue as due in the least usage that a case can state."""
    case = case_with(
        None,
        machine={"name": "Car", "date": "2026-11-01"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        oil={"next_change_in": LEAST_TO_CHANGE},
    )
    [found] = rank([GivenCase("car", case)], today=date(2026, 11, 1), workers=1).standings
    assert "before the next oil change, which is due" in words.why(found)
    later = replace(found, until=4_000.0)
    assert "before the next oil change in 4,000\u00a0km" in words.why(later)


def test_the_usage_to_a_job_is_no_more_exact_than_it_is_elsewhere() -> None:
    case = case_with(
        None,
        machine={"name": "Car", "date": "2026-11-01"},
        life={"shape_prior": 3, "b50_prior": 180_000},
    )
    [found] = rank([GivenCase("car", case)], today=date(2026, 11, 1), workers=1).standings
    assert words.plan(replace(found, best_at=1101.98, due=None)) == "in 1,100\u00a0km"
