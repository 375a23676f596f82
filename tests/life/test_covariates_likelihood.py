"""The likelihood of records with covariates, its slopes and its intervals: against brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize

from riskmodel.life.covariate_design import design
from riskmodel.life.covariate_likelihood import Accelerated
from riskmodel.life.covariates import fit_covariates, harshness_from
from tests.life.covariates_made import LEAD, Floats, looked_at, parts_of, term, two_levels
from tests.studies import covariates_reference as brute


@pytest.mark.parametrize("ratio", [1.0, 3.0])
def test_every_kind_of_record_enters(ratio: float) -> None:
    """The likelihood itself, looks of removed parts included, against a plain sum."""
    plain = looked_at()
    model = Accelerated(design(plain, 0.1, LEAD, ratio))
    parts = parts_of(plain, visible_lead=LEAD, reporting_ratio=ratio)
    rng = np.random.default_rng(2)
    for _ in range(4):
        b, log_scale, g = rng.uniform(1.5, 4), math.log(rng.uniform(900, 3000)), rng.normal() / 2
        theta = np.array([b, b * (math.log(model.reference) - log_scale), -b * g])
        plain_sum = brute.log_likelihood(
            parts, np.array([b]), log_scale + g * parts.terms.T, (LEAD.low, LEAD.high)
        )
        # averaging over 400 equally likely leads is good to about 1e-4
        assert model.at(theta).value == pytest.approx(plain_sum[0], abs=1e-3)


def test_derivatives() -> None:
    model = Accelerated(design(looked_at(), 0.1, LEAD))
    theta = np.array([2.3, -1.0, 0.4])
    here, h = model.at(theta), 1e-4
    for i, step in enumerate(h * np.eye(3)):
        up, down = model.at(theta + step), model.at(theta - step)
        assert here.gradient[i] == pytest.approx((up.value - down.value) / (2 * h), rel=1e-5)
        np.testing.assert_allclose(
            here.hessian[i], (up.gradient - down.gradient) / (2 * h), rtol=1e-3, atol=1e-3
        )


def test_intervals_against_a_searched_profile() -> None:
    """The ends are where the highest likelihood at a given factor has fallen by 1.9207."""
    plain = two_levels()
    fitted = fit_covariates(plain)
    parts = parts_of(plain)

    assert fitted.loglik is not None

    def profile(g: float) -> float:
        def minus(theta: Floats) -> float:
            b = np.exp(theta[:1])
            return -float(brute.log_likelihood(parts, b, theta[1] + g * parts.terms.T)[0])

        return -float(optimize.minimize(minus, [0.9, 7.5], method="Nelder-Mead", tol=1e-9).fun)

    factor = term(fitted, "use", "hard").factor
    assert factor.estimate is not None
    assert factor.low is not None
    assert factor.high is not None
    assert fitted.loglik == pytest.approx(profile(math.log(factor.estimate)), abs=1e-6)
    for end in (factor.low, factor.high):
        assert fitted.loglik - profile(math.log(end)) == pytest.approx(1.920729, abs=1e-4)
    harsh = harshness_from(fitted, "use", "hard")  # of 90 %: half of chi-squared is 1.3528
    for end in (1 / harsh.low, 1 / harsh.high):
        assert fitted.loglik - profile(math.log(end)) == pytest.approx(1.352772, abs=1e-4)
    without = profile(0.0)
    assert fitted.loglik_without == pytest.approx(without, abs=1e-6)
    # one term in one column: both tests are the same, p from chi-squared with 1 degree
    p = math.erfc(math.sqrt(fitted.loglik - without))
    assert term(fitted, "use", "hard").p == pytest.approx(p, abs=1e-6)
    assert fitted.columns[0].p == pytest.approx(p, abs=1e-6)
    assert fitted.aic == pytest.approx(6 - 2 * fitted.loglik)
    assert fitted.aic_without == pytest.approx(4 - 2 * without, abs=1e-5)
