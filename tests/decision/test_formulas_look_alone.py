"""An inspection where no oil is sampled: the plain case, once refused by a fault of the program."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.records.quantity import Quantity, exactly
from tests.decision.test_formulas_paid import case
from tests.decision.test_formulas_verdict import by_bayes


@pytest.mark.parametrize("factor", [exactly(1.0), Quantity(0.5, 2.0)])
def test_a_look_is_weighed_without_any_oil(factor: Quantity) -> None:
    """The same worth by Bayes as with oil that tells nothing."""
    of = case(
        {"planned": 1500.0, "discount_rate": 0},
        {"visible_lead": [8.5, 17.0], "lead": 5},
        {"interval": 31},
    )
    of = replace(of, machine=replace(of.machine, usage_per_year=40.0))
    of = replace(of, warning=replace(of.warning, lead_factor=factor))
    looked = replace(of.inspection, cost=exactly(100.0), sees=0.8, risk=0.0)
    told = weigh(replace(of, inspection=looked)).information
    assert told is not None
    assert told.inspection is not None
    seen, spared = by_bayes(1500.0, (8.5 * 17.0) ** 0.5, 0.8)
    assert told.inspection.if_seen.chance.value == pytest.approx(seen, rel=3e-3)
    assert told.inspection.worth == pytest.approx(spared, rel=0.01, abs=3)
