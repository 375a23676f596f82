"""Rates of other causes and quantiles over curves, against scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from riskmodel.life.other_causes import other_causes
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.life_table import read_records

ROWS = b"""age,outcome,entered_at,count,cause,age_from
50,failed,10,1,other,
80,failed,0,2,other,60
70,failed,20,1,wear,
90,running,40,3,,
60,removed_worn,0,1,,
"""


def test_the_rate_of_other_causes_is_failures_over_usage_watched() -> None:
    """By hand; interval of Jeffreys's prior, Gamma(r + 1/2, exposure) (Brown, Cai & DasGupta 2003).
    Survivors weigh the reporting ratio, r and exposure then count for as much as they are sure of:
    squares of scores d - rate x usage, so weighed, over those weighed twice. A failure between two
    ages ends half way."""
    for ratio in (1.0, 2.5):
        found = other_causes(read_records(ROWS), ratio)
        watched = (50 - 10) + 2 * 70 + (70 - 20) + ratio * 3 * (90 - 40) + 60
        assert found.failures == 3
        assert found.exposure == pytest.approx(watched)
        assert found.rate == pytest.approx(3 / watched)
        rate = 3 / watched
        ones = (1 - 40 * rate) ** 2 + 2 * (1 - 70 * rate) ** 2
        ones += (50 * rate) ** 2 + (60 * rate) ** 2  # failed of wear, found worn
        running = 3 * (50 * rate) ** 2
        sure = (ones + ratio * running) / (ones + ratio**2 * running)
        ends = stats.gamma(3 * sure + 0.5, scale=1 / watched / sure).ppf([0.05, 0.95])
        assert [found.low, found.high] == pytest.approx(ends, rel=1e-9)


def test_nothing_seen_has_no_lower_end() -> None:
    found = other_causes(read_records(b"age,outcome\n10,failed\n20,running\n"))
    assert (found.failures, found.rate, found.low) == (0, 0, 0)
    assert found.high == pytest.approx(stats.gamma(0.5, scale=1 / 30).ppf(0.95), rel=1e-9)


@pytest.mark.parametrize("nodes", [60, 400])
def test_quantiles_of_a_lognormal_laid_out_on_nodes(nodes: int) -> None:
    """Equal shares of a lognormal, each at its middle: the quantiles are those of scipy."""
    curve = stats.lognorm(0.6, scale=50)
    values = curve.ppf((np.arange(nodes) + 0.5) / nodes)
    weight = np.full(nodes, 3.0)
    wanted = np.array([0.1, 0.5, 0.9])
    found = weighted_quantile(values[::-1], weight, wanted)
    assert found == pytest.approx(curve.ppf(wanted), rel=5e-3)


def test_quantiles_of_uneven_weights_are_those_of_the_middle_of_each_share() -> None:
    """Weights of a normal density on an even grid: sums are off by step^2 / 12 (trapezoid)."""
    z = np.arange(-50, 51) / 10
    weight = np.exp(-(z**2) / 2)
    found = weighted_quantile(np.exp(z), weight, [0.05, 0.95])
    assert found == pytest.approx(np.exp([-1.6448536, 1.6448536]), rel=3e-3)
    assert math.isclose(float(weighted_quantile(z, weight, 0.5)), 0.0, abs_tol=1e-9)
