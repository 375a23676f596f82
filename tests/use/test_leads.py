"""Leads and past samples in usage from now on."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.records.quantity import Quantity
from riskmodel.use.effective_age import joined_use
from riskmodel.use.leads import in_usage_from_now, lead_ahead, lead_factor_ahead
from riskmodel.use.mix import UNKNOWN, Mix
from tests.use.made import TOWN, TRACK, kind

HARD = kind("hard", 2.0)
LEAD = Quantity(60.0, 500.0)


def test_samples_since_which_nothing_changed_stay_where_they_are() -> None:
    now = Mix({"track": 0.4})
    use = joined_use([TOWN, TRACK], [0, 400, 1000], [UNKNOWN, now], now)
    assert in_usage_from_now(use, [500, 900, 1000]) == pytest.approx([500, 900, 1000])


def test_usage_twice_as_hard_as_what_comes_lies_twice_as_far_back() -> None:
    use = joined_use([HARD], [0, 1000], [Mix({"hard": 1.0})], Mix())
    assert in_usage_from_now(use, [900, 1000]) == pytest.approx([800, 1000])
    harder = joined_use([HARD], [0, 1000], [Mix()], Mix({"hard": 1.0}))
    assert in_usage_from_now(harder, [900]) == pytest.approx([950])


def test_a_lead_shortens_as_the_use_ahead_is_harder() -> None:
    harder = joined_use([HARD], [0, 1000], [Mix()], Mix({"hard": 1.0}))
    told = lead_ahead(LEAD, harder)
    assert (told.low, told.high) == pytest.approx((30, 250))
    factor = Quantity(0.5, 2.0)
    same = lead_factor_ahead(factor, harder)  # nothing is unknown here
    assert (same.low, same.high) == pytest.approx((0.5, 2.0))
    zero = Quantity(0.0, 0.0)
    assert lead_ahead(zero, harder) == zero


def test_lead_and_factor_together_are_the_lead_over_the_ageing_ahead() -> None:
    """The product against draws of lead x factor / ahead, ahead lognormal by its nodes."""
    use = joined_use([kind("hard", 0.8, 2.0)], [0, 1000], [Mix()], Mix({"hard": 1.0}))
    random = np.random.default_rng(2)
    z = random.standard_normal((3, 400_000))
    factor = Quantity(0.5, 2.0)
    drawn = np.log(LEAD.quantile(z[0]) * factor.quantile(z[1]) / Quantity(0.8, 2.0).quantile(z[2]))
    lead, unsure = lead_ahead(LEAD, use), lead_factor_ahead(factor, use)
    assert np.log(lead.median) + np.log(unsure.median) == pytest.approx(drawn.mean(), abs=5e-3)
    assert np.hypot(lead.spread, unsure.spread) == pytest.approx(drawn.std(), rel=5e-3)
    assert unsure.spread > factor.spread
