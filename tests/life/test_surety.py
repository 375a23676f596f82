"""Records that stand for more parts than themselves are no surer than what was seen.

Closed forms where the shape is known; the score of every kind of record against differences of
its own likelihood; and whether 90 % intervals hold the truth where survivors are reported a tenth
as readily as failures. Studies: `tests.studies.misfits records`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import chdtrc

from riskmodel.life.covariates import fit_covariates, harshness_from
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.other_causes import other_causes
from riskmodel.life.posterior import posterior, surety_of
from riskmodel.life.profile import HALF_CHI2, Shape, _profile
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.rows import rows_of
from riskmodel.life.summary import summarise
from riskmodel.life.surety import surety
from riskmodel.life.weibayes import weibayes
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import LifeRecords
from tests.life.made import records

Floats = NDArray[np.float64]
LEAD = Quantity(5.0, 40.0)
KINDS = ["failed", "failed", "running", "removed", "removed_worn", "removed_unworn", "failed"]
EVERY = records(
    [50.0, 65.0, 60.0, 70.0, 75.0, 80.0, 40.0],
    KINDS,
    age_from=[np.nan, 45.0, *[np.nan] * 5],
    entered_at=[0.0, 50.0, 10.0, 0.0, 5.0, 0.0, 0.0],
    count=[1.0, 2.0, 3.0, 1.0, 2.0, 4.0, 1.0],
    cause=["wear"] * 6 + ["other"],
)


def test_by_hand_where_lives_are_exponential() -> None:
    """Failed at 2 and 5, running at 4 and 7 (each standing for 3), life 10: scores d - H are
    0.8, 0.5, -0.4, -0.7, so (0.64 + 0.25 + 3 (0.16 + 0.49)) / (0.89 + 9 x 0.65)."""
    data = records([2.0, 5.0, 4.0, 7.0], ["failed", "failed", "running", "running"])
    likelihood = Likelihood(data, reporting_ratio=3.0)
    assert likelihood.reference == 7
    assert likelihood.surety(1.0, math.log(0.7)) == pytest.approx(2.84 / 6.74, rel=1e-12)


def test_exactly_as_before_where_each_stands_for_itself() -> None:
    likelihood = Likelihood(EVERY, 0.1, LEAD, 1.0)
    assert not likelihood.weighed
    assert likelihood.surety(2.0, -0.3) == 1.0
    assert surety_of(likelihood, Quantity(1.2, 5), None) == 1.0
    assert surety(np.array([2.0, 3.0]), np.ones(2), np.array([0.4, -0.9])) == 1.0
    # where nothing but failures is told, a ratio changes nothing
    failed = records([40.0, 50.0, 70.0])
    prior = Quantity(1.2, 5), Quantity(30, 90)
    one, three = (posterior(Likelihood(failed, reporting_ratio=k), *prior) for k in (1.0, 3.0))
    np.testing.assert_array_equal(one.weight, three.weight)


@pytest.mark.parametrize("lead", [LEAD, Quantity(20.0, 20.0), Quantity(0.5, 400.0)])
@pytest.mark.parametrize(("b", "mu"), [(2.0, 0.1), (0.8, -1.0), (6.0, 0.5)])
def test_every_kind_of_record(lead: Quantity, b: float, mu: float) -> None:
    """Scores by differences of each record's own likelihood; counts are so many parts alike."""
    ratio, step = 4.0, 1e-4
    whole = Likelihood(EVERY, 0.1, lead, ratio)
    rows, above, below = rows_of(EVERY, ratio), 0.0, 0.0
    for i in range(len(EVERY)):
        one = Likelihood(rows_of(EVERY).keep(np.arange(len(EVERY)) == i), 0.1, lead)
        at = mu + b * math.log(one.reference / whole.reference)
        low, high = (float(one.at(np.array([b]), np.array([at + k]))[0]) for k in (-step, step))
        score = (high - low) / (2 * step) / EVERY.count[i]
        stands = ratio if KINDS[i] in ("running", "removed", "removed_unworn") else 1.0
        above += EVERY.count[i] * stands * score**2
        below += EVERY.count[i] * stands**2 * score**2
    assert whole.surety(b, mu) == pytest.approx(above / below, rel=1e-5)
    assert 1 / ratio < above / below < 1
    merged = Likelihood(rows.merged(), 0.1, lead)
    assert merged.surety(b, mu) == pytest.approx(above / below, rel=1e-5)


def test_rows_that_meet_keep_what_they_stand_for() -> None:
    """A failure of another cause and a survivor of the same age: alike but for that."""
    data = records([50.0, 50.0, 40.0], ["failed", "running", "failed"], cause=["other", "", "wear"])
    rows = rows_of(data, 3.0)
    apart, met = Likelihood(rows), Likelihood(rows.merged())
    assert len(met.rows.age) == 2
    assert met.surety(2.0, 0.2) == pytest.approx(apart.surety(2.0, 0.2), rel=1e-12)


def test_without_a_failure_each_survivor_counts_once() -> None:
    data = records([50.0, 60.0, 90.0], "running")
    prior = Quantity(1.2, 5), Quantity(30, 90)
    once = posterior(Likelihood(data), *prior)
    told = posterior(Likelihood(data, reporting_ratio=5.0), *prior)
    np.testing.assert_allclose(told.weight, once.weight, rtol=1e-9)
    bound = [weibayes(Likelihood(data, reporting_ratio=k), 2.5).lower for k in (1.0, 5.0)]
    assert bound[0] == pytest.approx(bound[1], rel=1e-12)


def test_the_posterior_is_that_of_a_blunter_likelihood() -> None:
    """Two exact axes but for the scale: prior times likelihood^c on a fine grid, c by hand."""
    data = records([40.0, 55.0, 70.0, 60.0, 80.0], ["failed"] * 3 + ["running"] * 2)
    likelihood, b = Likelihood(data, reporting_ratio=4.0), 3.0
    y = np.linspace(math.log(20), math.log(20_000), 40_001)
    scale = np.exp(y) / math.log(2) ** (1 / b)
    level = likelihood.log(b, scale)

    def moments(log: Floats) -> tuple[float, float]:
        weight = np.exp(log - log.max())
        weight /= weight.sum()
        mean = float(weight @ np.log(scale))
        return mean, float(weight @ (np.log(scale) - mean) ** 2) ** 0.5

    middle = math.exp(moments(level)[0])
    lived, failed = (data.age / middle) ** b, np.array([1.0, 1, 1, 0, 0])
    weight = np.where(failed == 1, 1.0, 4.0)
    squared = weight * (failed - lived) ** 2
    c = squared.sum() / (weight * squared).sum()
    told = posterior(likelihood, exactly(b), None)
    mean = float(told.mean(np.log(told.scale)))
    spread = float(told.mean((np.log(told.scale) - mean) ** 2)) ** 0.5
    assert (mean, spread) == pytest.approx(moments(c * level), rel=1e-4)
    assert c < 0.6


def held(sets: int, ratio: float, blunted: bool) -> float:
    """Share of 90 % intervals of B50 that hold the truth, survivors being reported 1 / ratio as
    readily as failures and the fit told so; the shape is known, 60 records."""
    rng, b, inside = np.random.default_rng(20_261_140), 2.5, 0
    for _ in range(sets):
        b50 = float(Quantity(80, 250).quantile(rng.standard_normal()))
        life = b50 / math.log(2) ** (1 / b) * rng.weibull(b, 3_000)
        end = rng.uniform(20, 200, 3_000)
        told = (life <= end) | (rng.uniform(size=3_000) < 1 / ratio)
        age, failed = np.minimum(life, end)[told][:60], (life <= end)[told][:60]
        data = records(age, np.where(failed, "failed", "running").tolist())
        likelihood = Likelihood(data, reporting_ratio=ratio)
        if not blunted:
            likelihood = likelihood.blunted(1.0)
        curves = posterior(likelihood, exactly(b), Quantity(80, 250))
        half = curves.scale * math.log(2) ** (1 / b)
        low, high = weighted_quantile(half, curves.weight, [0.05, 0.95])
        inside += low <= b50 <= high
    return inside / sets


def test_intervals_hold_as_often_as_they_say() -> None:
    """Of 300, nine in ten with a standard error of 1.7 %; three of them below is 84.8 %. As sure as
    if every survivor had been seen ten times they hold far less often."""
    assert 0.848 < held(300, 10.0, True) < 0.96
    assert held(300, 10.0, False) < 0.75


def test_likelihood_ratio_intervals_reach_as_far_as_they_are_sure() -> None:
    """The profile has fallen by half chi-squared over the surety at both ends, not before."""
    data = records([40.0, 55.0, 70.0, 60.0, 80.0, 90.0], ["failed"] * 4 + ["running"] * 2)
    found = fit(data, reporting_ratio=3.0)
    top, plain = found.maximum, fit(found.likelihood.blunted(1.0))
    assert top is not None
    c = found.likelihood.surety(top.b, top.mu)
    assert 1 / 3 < c < 0.9
    for end, told in ((found.shape.low, plain.shape.low), (found.shape.high, plain.shape.high)):
        assert end is not None
        assert told is not None
        height = _profile(found.likelihood, top, Shape(), math.log(end))
        assert top.jet.value - height == pytest.approx(HALF_CHI2 / c, rel=1e-4)
        assert abs(math.log(end / top.b)) > abs(math.log(told / top.b))
    assert (found.loglik, found.shape.estimate) == (plain.loglik, plain.shape.estimate)
    chance, narrow = found.conditional(50, 20), plain.conditional(50, 20)
    assert chance.probability == narrow.probability
    assert chance.low is not None
    assert narrow.low is not None
    assert chance.low < narrow.low


def two_kinds() -> LifeRecords:
    rng = np.random.default_rng(5)
    hard = rng.uniform(size=80) < 0.5
    life, end = 100 / np.where(hard, 1.4, 1.0) * rng.weibull(3, 80), rng.uniform(30, 150, 80)
    data = records(np.minimum(life, end), np.where(life <= end, "failed", "running").tolist())
    return replace(data, covariates={"use": tuple(np.where(hard, "hard", "soft").tolist())})


def test_effects_of_columns_are_no_surer_either() -> None:
    """p values from the likelihood ratio times the surety; harshness from wider intervals."""
    data = two_kinds()
    found, plain = fit_covariates(data, reporting_ratio=3.0), fit_covariates(data)
    assert plain.surety == 1.0
    assert found.top is not None
    assert found.loglik_without is not None
    ratio = 2 * (found.top.value - found.loglik_without)
    assert found.columns[0].p == pytest.approx(chdtrc(1, found.surety * ratio), rel=1e-6)
    assert found.terms[0].p == pytest.approx(found.columns[0].p, rel=1e-4)
    level = str(found.terms[0].level)
    wide = harshness_from(found, "use", level)
    narrow = harshness_from(replace(found, surety=1.0), "use", level)
    assert wide.spread == pytest.approx(narrow.spread / found.surety**0.5, rel=0.05)


def test_other_causes_by_hand() -> None:
    """Two failures of another cause at 20 and 50, two survivors of 80 standing for 3: rate 2 / 550,
    scores d - rate x usage."""
    data = records([20.0, 50.0, 80.0, 80.0], ["failed", "failed", "running", "running"])
    data = replace(data, cause=("other", "other", "", ""))
    found = other_causes(data, 3.0)
    rate = 2 / 550
    one, two, lived = (1 - 20 * rate) ** 2, (1 - 50 * rate) ** 2, (80 * rate) ** 2
    c = (one + two + 6 * lived) / (one + two + 18 * lived)
    assert (found.failures, found.rate) == (2, pytest.approx(rate))
    assert found.surety == pytest.approx(c, rel=1e-12)
    assert float(found.quantile(0.05)) == pytest.approx(found.low)
    assert found.high > other_causes(replace(data, count=np.array([1, 1, 3, 3.0]))).high


def test_distributions_are_as_sure_as_the_fit() -> None:
    data = two_kinds()
    ahead = [(50.0, 20.0)]
    told = summarise(data, ahead, reporting_ratio=3.0).choices[0].fits
    seen = records(
        data.age, list(data.outcome), count=[1.0 if o == "failed" else 3.0 for o in data.outcome]
    )
    plain = summarise(seen, ahead).choices[0].fits
    for one, other in zip(told, plain, strict=True):
        assert one.probability == pytest.approx(other.probability, rel=1e-6)
        assert one.low is not None
        assert other.low is not None
        assert one.low < other.low
