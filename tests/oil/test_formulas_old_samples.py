"""Samples older than any warning: they tell nothing of what is ahead, and that is an answer."""

from __future__ import annotations

import pytest

from riskmodel.decision.weigh import weigh
from tests.oil.made import case_with_oil


@pytest.mark.parametrize("lead", [5_000.0, [1_000.0, 1_200.0], [1_000.0, 2_000.0]])
def test_a_sample_of_long_ago_changes_nothing(lead: object) -> None:
    """At 60,000 of 100,000 km, with warnings of at most some thousands: a factor of 1."""
    case = case_with_oil(
        ["60000,10000,3,4"],
        warning={"lead": lead, "silent": 0.3},
        life={"b50_prior": [60_000, 400_000]},
    )
    for told in weigh(case).risk:
        assert told.without_oil is not None
        assert told.oil_factor == pytest.approx(1.0, rel=1e-9)
        assert told.chance.value == pytest.approx(told.without_oil.value, rel=1e-9)
