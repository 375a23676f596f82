"""Weibayes bounds, priors from answers, and the rate of other causes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from riskmodel.life import weibull
from riskmodel.life.answers import prior_from_answers
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.other_causes import other_causes
from riskmodel.life.weibayes import weibayes
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from tests.life.made import records

FIVE = [40.0, 60.0, 75.0, 90.0, 110.0]


@pytest.mark.parametrize(
    ("confidence", "wanted"), [(-math.expm1(-1.0), 140.30), (0.5, 158.54), (0.95, 97.33)]
)
def test_the_bound_without_failures(confidence: float, wanted: float) -> None:
    """Sum of age^3 over -ln alpha, to the power 1/3: arithmetic on five ages.

    The habit of counting one failure when there was none is the 63.2 % bound.
    """
    found = weibayes(Likelihood(records(FIVE, "running")), 3.0, confidence)
    assert found.scale is None
    assert found.lower == pytest.approx(wanted, abs=5e-3)
    total = sum(age**3 for age in FIVE)
    assert found.lower == pytest.approx((total / -math.log1p(-confidence)) ** (1 / 3), rel=1e-12)


def test_the_bound_with_two_failures() -> None:
    """Estimate (sum / r)^(1/b) and bound by chi-squared with 2 r + 2 degrees of freedom."""
    data = records(FIVE, ["running", "failed", "running", "failed", "running"])
    found = weibayes(Likelihood(data), 3.0)
    assert found.scale == pytest.approx(111.36, abs=5e-3)
    assert found.lower == pytest.approx(75.98, abs=5e-3)
    total = sum(age**3 for age in FIVE)
    chi2 = float(stats.chi2.ppf(0.95, 6))
    assert found.lower == pytest.approx((2 * total / chi2) ** (1 / 3), rel=1e-12)


def test_the_bound_counts_only_usage_that_was_watched() -> None:
    found = weibayes(Likelihood(records([80.0, 120.0], "running", entered_at=[50.0, 0.0])), 2.0)
    total = 80.0**2 - 50.0**2 + 120.0**2
    assert found.lower == pytest.approx(math.sqrt(total / -math.log(0.05)), rel=1e-12)


def test_the_bound_without_failures_holds_as_often_as_it_says() -> None:
    """Were the true scale at the bound, no failure would be seen 5 times of 100: exactly."""
    found = weibayes(Likelihood(records(FIVE, "running")), 3.0)
    log = Likelihood(records(FIVE, "running")).log(3.0, found.lower)
    assert math.exp(float(log)) == pytest.approx(0.05, rel=1e-12)


def test_what_the_bound_cannot_take_is_refused() -> None:
    between = Likelihood(records([60.0], age_from=40.0))
    looked = Likelihood(records([60.0], "removed_worn"), 0.1, Quantity(5.0, 50.0))
    unwatched = Likelihood(records([60.0], "running", entered_at=60.0))
    for likelihood in (between, looked, unwatched):
        with pytest.raises(CannotAnswer):
            weibayes(likelihood, 3.0)


@pytest.mark.parametrize(
    ("answers", "shape", "scale"),
    [((0.1, 80.0, 0.5, 160.0), 2.7178, 183.10), ((0.25, 120.0, 0.75, 220.0), 2.5944, 193.97)],
)
def test_a_curve_through_two_answers(
    answers: tuple[float, float, float, float], shape: float, scale: float
) -> None:
    """Two equations in two unknowns, solved by hand to the digits given."""
    found = prior_from_answers(*answers)
    assert found.shape == pytest.approx(shape, abs=5e-5)
    assert found.scale == pytest.approx(scale, abs=5e-3)
    share1, age1, share2, age2 = answers
    curve = stats.weibull_min(found.shape, scale=found.scale)
    assert curve.cdf([age1, age2]) == pytest.approx([share1, share2], rel=1e-12)
    assert found.shape_prior.median == pytest.approx(found.shape)
    assert found.b50_prior.median == pytest.approx(found.age_by(0.5))
    assert found.age_by(share2) == pytest.approx(age2)


def test_ranges_are_carried_through_and_widened() -> None:
    """Against a million pairs of answers drawn from ranges 1.3 times as wide."""
    first, second = Quantity(70.0, 90.0), Quantity(130.0, 200.0)
    found = prior_from_answers(0.1, first, 0.5, second)
    rng = np.random.default_rng(1)
    log1, log2 = (
        math.log(q.median) + 1.3 * q.spread * rng.standard_normal(1_000_000)
        for q in (first, second)
    )
    assert found.b50_prior.spread == pytest.approx(1.3 * second.spread)  # b50 was asked itself
    some = log2 - log1 > 0.1
    log_shape = np.log(math.log(math.log(2) / -math.log(0.9)) / (log2 - log1)[some])
    # the spread of ln shape is that of the linear term: the true one is skewed and wider
    assert found.shape_prior.spread == pytest.approx(float(log_shape.std()), rel=0.12)
    assert not prior_from_answers(0.1, 80.0, 0.5, 160.0).shape_prior.exact


@pytest.mark.parametrize(
    "answers", [(0.5, 80.0, 0.1, 160.0), (0.1, 160.0, 0.5, 80.0), (0.0, 80.0, 0.5, 160.0)]
)
def test_answers_that_do_not_rise_are_refused(answers: tuple[float, float, float, float]) -> None:
    with pytest.raises(CannotAnswer):
        prior_from_answers(*answers)


def test_a_third_answer_shows_the_misfit() -> None:
    found = prior_from_answers(0.1, 80.0, 0.5, 160.0)
    wanted = weibull.quantile(0.9, found.shape, found.scale)
    assert found.age_by(0.9) == pytest.approx(float(wanted))


def test_the_rate_of_other_causes() -> None:
    data = records(
        [100.0, 50.0, 80.0, 60.0],
        ["running", "failed", "failed", "failed"],
        entered_at=[20.0, 0.0, 0.0, 0.0],
        age_from=[np.nan, np.nan, np.nan, 40.0],
        count=[3.0, 1.0, 2.0, 1.0],
        cause=["wear", "wear", "other", "unknown"],
    )
    found = other_causes(data)
    exposure = 3 * 80.0 + 50.0 + 2 * 80.0 + 50.0
    assert found.exposure == pytest.approx(exposure)
    assert found.failures == 2
    assert found.rate == pytest.approx(2 / exposure)
    # Jeffreys: Gamma(r + 1/2, exposure)
    posterior = stats.gamma(2.5, scale=1 / exposure)
    assert (found.low, found.high) == pytest.approx((posterior.ppf(0.05), posterior.ppf(0.95)))
    assert other_causes(data, unknown_as="other").failures == 3
    assert other_causes(data, 2.0).exposure == pytest.approx(exposure + 3 * 80.0)


def test_no_failure_of_another_cause_has_a_rate_of_zero_with_an_upper_end() -> None:
    found = other_causes(records([100.0, 50.0], ["running", "failed"]))
    assert (found.rate, found.low) == (0.0, 0.0)
    # Gamma(1/2, E): half a chi-squared with one degree of freedom
    assert found.high == pytest.approx(float(stats.chi2.ppf(0.95, 1)) / 2 / 150.0)


def test_the_interval_of_the_rate_holds_the_truth() -> None:
    """Coverage summed over Poisson counts, averaged over true means of 1 to 15.

    At single means it swings by several per cent about its level, as counts are whole
    (Brown, Cai & DasGupta 2003); on average it keeps it.
    """
    means = np.linspace(1.0, 15.0, 281)
    coverage = np.zeros(means.shape)
    for failures in range(60):
        part = records([1.0, 1.0], ["failed", "running"], cause=["other", "wear"],
                       count=[failures, 1000.0 - failures])  # fmt: skip
        found = other_causes(part)
        holds = (found.low <= means / 1000.0) & (means / 1000.0 <= found.high)
        coverage += holds * stats.poisson.pmf(failures, means)
    assert coverage.mean() == pytest.approx(0.9, abs=0.006)
    assert coverage.min() > 0.8


def test_nothing_watched_has_no_rate() -> None:
    with pytest.raises(CannotAnswer):
        other_causes(records([50.0], "running", entered_at=50.0))
