"""Cumulative exposure against Nelson's step-stress model.

Nelson 1980, Accelerated life testing: step-stress models and data analyses, IEEE Transactions on
Reliability R-29, 103-108: a part that has run to tau under the first stress goes on under the
second as if it had run to that age s under it at which as many fail, F2(s) = F1(tau); so for
Weibull lives of one shape s = tau scale2 / scale1. The formulas are Nelson's, the figures are
worked here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import weibull_min

from riskmodel.life.weibull import conditional_failure, failure
from riskmodel.use.effective_age import joined_use
from riskmodel.use.mix import Mix
from tests.use.made import kind

SHAPE, SCALES, CHANGES = 2.5, (200.0, 120.0, 50.0), (60.0, 100.0)


def nelson(at: float) -> float:
    """F(at) under the three stresses in turn, by equivalent ages alone."""
    start = 0.0
    steps = [(0.0, CHANGES[0]), (CHANGES[0], CHANGES[1]), (CHANGES[1], math.inf)]
    for i, (begin, end) in enumerate(steps):
        now = start + min(at, end) - begin
        if at <= end:
            return float(weibull_min.cdf(now, SHAPE, scale=SCALES[i]))
        start = now * SCALES[i + 1] / SCALES[i]
    raise AssertionError


KINDS = [kind("second", SCALES[0] / SCALES[1]), kind("third", SCALES[0] / SCALES[2])]
MIXES = [Mix(), Mix({"second": 1.0}), Mix({"third": 1.0})]


@pytest.mark.parametrize("at", [10.0, 60.0, 75.0, 100.0, 130.0])
def test_failures_by_any_age(at: float) -> None:
    edges = [0.0, *(c for c in CHANGES if c < at), at]
    use = joined_use(KINDS, edges, MIXES[: len(edges) - 1], Mix())
    assert failure(use.age[0], SHAPE, SCALES[0]) == pytest.approx(nelson(at), rel=1e-12)


def test_a_worked_case() -> None:
    # to 100: 60 at the first stress count 60; 40 at the second count 40 x 200 / 120 = 66.667;
    # together 126.667, F = 1 - exp(-(126.667 / 200)^2.5) = 0.27328
    use = joined_use(KINDS, [0, 60, 100], MIXES[:2], MIXES[2])
    assert use.age[0] == pytest.approx(126.6667, abs=1e-4)
    assert failure(use.age[0], SHAPE, 200.0) == pytest.approx(0.27328, abs=1e-5)


@pytest.mark.parametrize("ahead", [5.0, 30.0])
def test_failures_ahead_of_those_that_last(ahead: float) -> None:
    use = joined_use(KINDS, [0, 60, 100], MIXES[:2], MIXES[2])
    known = nelson(100.0)
    wanted = (nelson(100.0 + ahead) - known) / (1 - known)
    found = conditional_failure(use.age, use.ahead * ahead, SHAPE, SCALES[0])
    assert found[0] == pytest.approx(wanted, rel=1e-12)
    # the same told in usage from now: scale and age over the ageing ahead
    scale, age = SCALES[0] / use.ahead, use.age / use.ahead
    assert conditional_failure(age, ahead, SHAPE, scale)[0] == pytest.approx(wanted, rel=1e-12)


def test_mean_life_under_two_stresses_by_integration() -> None:
    at = np.linspace(0, 600, 200_001)
    edges = (0.0, 60.0)
    use = joined_use(KINDS, edges, [Mix()], Mix({"second": 1.0}))
    lasting = 1 - failure(use.effective_age(at)[0], SHAPE, SCALES[0])
    first = weibull_min.expect(
        lambda t: min(t, 60.0), (SHAPE,), scale=SCALES[0], limit=200
    )  # usage before the change
    begun = 60 * SCALES[1] / SCALES[0]
    later = np.trapezoid(
        weibull_min.sf(np.linspace(begun, begun + 600, 200_001), SHAPE, scale=SCALES[1]),
        dx=600 / 200_000,
    )
    assert np.trapezoid(lasting, at) == pytest.approx(first + later, rel=1e-6)
