"""The published data sets to the last digits that doubles can hold, and the NIST page's AIC."""

from __future__ import annotations

import mpmath as mp
import pytest

from riskmodel.life.fit import fit
from riskmodel.life.summary import summarise
from tests.life.made import REFERENCES, reference


def test_log_likelihood_and_aic_of_the_nist_example() -> None:
    """NIST/SEMATECH e-Handbook 8.2.2.1 and 8.4.1.3 (read): -75.135; AIC 154.27 and 154.39."""
    result = summarise(reference("nist_weibull"))
    assert result.loglik == pytest.approx(-75.135, abs=5e-4)
    aic = {c.distribution: c.aic for c in result.comparison}
    assert aic["weibull"] == pytest.approx(154.27, abs=5e-3)
    assert aic["lognormal"] == pytest.approx(154.39, abs=5e-3)


@pytest.mark.parametrize("name", REFERENCES)
def test_estimates_agree_with_arbitrary_precision(name: str) -> None:
    """The score equation of the shape solved with 40 digits."""
    data = reference(name)
    rows = [
        (mp.mpf(str(age)), outcome == "failed", mp.mpf(str(count)))
        for age, outcome, count in zip(data.age, data.outcome, data.count, strict=True)
    ]
    with mp.workdps(40):
        failures = sum(count for _, failed, count in rows if failed)
        mean_log = sum(c * mp.log(t) for t, failed, c in rows if failed) / failures

        def score(b: mp.mpf) -> mp.mpf:
            powers = [(t, c * t**b) for t, _, c in rows]
            return (
                1 / b + mean_log - sum(p * mp.log(t) for t, p in powers) / sum(p for _, p in powers)
            )

        shape = mp.findroot(score, 2)
        lived = sum(c * t**shape for t, _, c in rows)
        scale = (lived / failures) ** (1 / shape)
        loglik = failures * (mp.log(shape) - shape * mp.log(scale) - 1)
        loglik += (shape - 1) * failures * mean_log
    found = fit(data)
    assert found.n == pytest.approx(float(data.count.sum()), abs=0)
    # the score is flat to 1e-16 of its terms, which moves its root by about 1e-14
    assert found.shape.estimate == pytest.approx(float(shape), rel=1e-12)
    assert found.scale.estimate == pytest.approx(float(scale), rel=1e-11)
    assert found.loglik == pytest.approx(float(loglik), rel=1e-12)
