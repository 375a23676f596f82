"""What the page works out once is found again by all that it hangs on, and by nothing else."""

from __future__ import annotations

import pytest

from riskmodel.page.answer import digest, digest_of_chances
from riskmodel.page.examples import example
from riskmodel.records.files import changed
from riskmodel.risk.chance_parts import parts_of_chance
from riskmodel.risk.oil_look import oil_look

PRICES = {
    "cost.planned": [2_000, 9_000],
    "cost.failure": 20_000,
    "cost.discount_rate": 0.08,
    "plan.most_risk": 0.2,
    "plan.after_failure": "stop",
    "machine.value": 9_000,
    "machine.name": "Another name",
}
CHANCES = {
    "machine.reading": 124_500,
    "machine.usage_per_year": 9_000,
    "plan.keep_years": 4,
    "oil.next_change_in": 3_000,
    "warning.visible_lead": [9_000, 30_000],
    "life.reporting_ratio": 2,
    "part.entered_at": 0,
}


@pytest.mark.parametrize("key", PRICES)
def test_no_price_enters_what_is_worked_out_of_chances(key: str) -> None:
    case = example("road-car")
    other = changed(case, {key: PRICES[key]})
    assert digest(other) != digest(case)
    assert digest_of_chances(other) == digest_of_chances(case)


@pytest.mark.parametrize("key", CHANCES)
def test_what_a_chance_hangs_on_is_worked_out_anew(key: str) -> None:
    case = example("road-car")
    assert digest_of_chances(changed(case, {key: CHANCES[key]})) != digest_of_chances(case)


def test_what_is_found_again_is_what_would_be_worked_out() -> None:
    case = example("road-car")
    other = changed(case, PRICES)
    assert parts_of_chance(other) == parts_of_chance(case)
    ours, theirs = oil_look(case), oil_look(other)
    assert ours.factor.tolist() == theirs.factor.tolist()
    assert ours.rows == theirs.rows
    assert repr((ours.limits, ours.foresight)) == repr((theirs.limits, theirs.foresight))
