"""Data that break fits: an answer or a plain reason, never a warning of the machinery."""

from __future__ import annotations

import math

import numpy as np
import pytest

from riskmodel.life.fit import Fit, fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import FLAT, FLAT_LATE, NO_FAILURE, NOTHING_LIVED, ONE_AGE, ONE_FAILURE
from riskmodel.life.maximum import STEP as ONE_STEP
from riskmodel.life.posterior import posterior
from riskmodel.life.summary import summarise
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, observed, records, reference

PRIOR = Quantity(1.2, 5.0)


def is_silent(found: Fit, reason: str) -> None:
    assert found.warnings == (reason,)
    figures = (found.shape, found.scale, found.b10, found.conditional(10.0, 5.0))
    assert all(
        value is None
        for figure in figures
        for value in (getattr(figure, "estimate", None), figure.low, figure.high)
    )
    assert found.loglik is None


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (records([40.0, 60.0, 80.0], "running"), NO_FAILURE),
        (records([40.0, 60.0], cause="other"), NO_FAILURE),
        (records([70.0], "failed"), ONE_FAILURE),
        (records([40.0, 60.0, 70.0], ["running", "running", "failed"]), ONE_FAILURE),
        (records([50.0] * 5), ONE_AGE),
        (records([50.0, 50.0, 30.0], ["failed", "failed", "running"]), ONE_AGE),
        (records([50.0, 60.0], age_from=[0.0, 0.0]), NOTHING_LIVED),
        # current status: seen failed late, seen running early
        (
            records([40.0, 60.0, 90.0, 95.0], ["running", "running", "failed", "failed"],
                    age_from=[np.nan, np.nan, 0.0, 0.0]),
            ONE_STEP,
        ),
        # current status the other way about: seen failed early, seen running late
        (
            records([10.0, 12.0, 500.0, 900.0], ["failed", "failed", "running", "running"],
                    age_from=[0.0, 0.0, np.nan, np.nan]),
            FLAT,
        ),
        # met late, and failing sooner after that than later
        (
            records([101.0, 103.0, 210.0, 400.0], ["failed", "failed", "failed", "running"],
                    entered_at=[100.0, 102.0, 200.0, 200.0]),
            FLAT_LATE,
        ),
    ],
)  # fmt: skip
def test_where_no_curve_is_best_the_reason_is_said(data: LifeRecords, reason: str) -> None:
    is_silent(fit(data), reason)
    # the whole summary holds together too
    assert reason in summarise(data, [(10.0, 5.0)]).warnings


def test_late_entry_without_a_maximum_really_has_none() -> None:
    """The profile over the shape, by brute force, keeps rising towards shape 0."""
    data = records([101.0, 103.0, 210.0, 400.0], ["failed", "failed", "failed", "running"],
                   entered_at=[100.0, 102.0, 200.0, 200.0])  # fmt: skip
    likelihood = Likelihood(data)
    shapes = np.geomspace(0.02, 20.0, 60)
    profile = [likelihood.at(np.full(4000, b), np.linspace(-15, 15, 4000)).max() for b in shapes]
    assert np.all(np.diff(profile) < 0)
    # and the prior resolves it
    assert len(posterior(likelihood, PRIOR, None)) > 100


@pytest.mark.parametrize("seed", range(40))
def test_nothing_found_is_worse_than_a_dense_grid(seed: int) -> None:
    """Small samples of every kind; a grid of 80 x 400 over (b, mu) never beats the maximum."""
    rng = np.random.default_rng(seed)
    data = observed(
        rng,
        int(rng.choice([3, 5, 9, 20])),
        float(rng.choice([0.5, 1.0, 2.5, 8.0])),
        1000.0,
        censor=float(rng.choice([0.4, 1.0, 2.0])),
        enter=float(rng.choice([0.0, 0.5, 1.0])),
        between=float(rng.choice([0.0, 0.5, 1.0])),
    )
    found = fit(data)
    likelihood = found.likelihood
    b, mu = np.meshgrid(np.geomspace(0.011, 300.0, 80), np.linspace(-60.0, 60.0, 1200))
    heights = likelihood.at(b.ravel(), mu.ravel()).reshape(b.shape)
    if found.maximum is None:
        # nothing failed, or no curve between beats those at the edges of the grid, to its step
        edges = heights[:, [0, 79]].max(), heights[[0, 1199]].max()
        assert found.failures == 0 or heights.max() <= max(edges) + 0.02
        return
    top = found.maximum
    assert top.jet.value >= heights.max() - 1e-9
    # flat and curved down: each step of a thousandth costs
    for db, dmu in ((1e-3, 0.0), (-1e-3, 0.0), (0.0, 1e-3), (0.0, -1e-3)):
        there = likelihood.at(np.array([top.b * (1 + db)]), np.array([top.mu + dmu]))[0]
        assert there <= top.jet.value + 1e-12 * abs(top.jet.value)


def test_six_failures_among_seventeen_hundred() -> None:
    """Symmetric intervals on the natural scale leave the valid range here (1.1 to 3.4 and
    -2,600 to 26,200 by lifelines); these do not."""
    found = fit(reference("bearing_cage"))
    assert found.scale.low is not None
    assert found.scale.high is not None
    assert 1510 < found.scale.low < 11792 < found.scale.high
    assert any("Only 6 parts failed" in warning for warning in found.warnings)


def test_one_failure_among_survivors_has_a_fit_and_a_caution() -> None:
    found = fit(records([500.0] + [700.0] * 9, ["failed"] + ["running"] * 9))
    # one failure at t, m survivors at T: b and scale solve 1/b + ln t = sum t^b ln t / sum t^b
    b = found.shape.estimate
    assert b is not None
    powers = np.array([500.0] + [700.0] * 9) ** b
    logs = np.log([500.0] + [700.0] * 9)
    assert 1 / b + math.log(500.0) == pytest.approx(float(powers @ logs / powers.sum()), rel=1e-9)
    assert any("Only 1 part failed" in warning for warning in found.warnings)


def test_failures_only() -> None:
    found = fit(records([110.0, 150.0, 165.0, 190.0, 240.0]))
    assert found.n == found.failures == 5
    assert found.shape.low is not None
    assert found.shape.high is not None


def test_ages_from_1_to_ten_million() -> None:
    data = records([1.0, 30.0, 1e3, 2e4, 8e5, 1e7], ["failed"] * 5 + ["running"])
    found = fit(data)
    assert found.shape.estimate is not None
    assert found.shape.estimate < 0.5
    assert any("below 1" in warning for warning in found.warnings)
    larger = fit(records(1e6 * data.age, data.outcome))
    assert larger.shape.estimate == pytest.approx(found.shape.estimate, rel=1e-9)


@pytest.mark.parametrize("shape", [0.2, 0.4, 25.0, 60.0])
def test_shapes_above_20_and_below_a_half_are_found(shape: float) -> None:
    """Twenty samples of 400: the mean of ln shape within four standard errors."""
    rng = np.random.default_rng(8)
    fits = [fit(observed(rng, 400, shape, 1000.0)) for _ in range(20)]
    logs = np.log([found.shape.estimate or 0 for found in fits]) - math.log(shape)
    # the bias of ln shape is about 1 / (number of failures), here half a per cent
    assert abs(logs.mean()) < 4 * logs.std() / math.sqrt(20) + 0.005
    for found in fits:
        assert found.shape.low is not None
        assert found.shape.high is not None
    said = " ".join(fits[0].warnings)
    assert ("below 1" in said) == (shape < 1)
    assert ("closer together" in said) == (shape > 20)


def test_nearly_equal_ages() -> None:
    found = fit(records([1000.0, 1000.0001, 1000.0002]))
    assert found.shape.estimate is not None
    assert found.shape.estimate > 1e5
    assert found.scale.estimate == pytest.approx(1000.0001, abs=2e-4)


def test_inspection_data_that_touch_at_one_age() -> None:
    """(100, 200] and (200, 300]: a step at 200 explains them best of all."""
    found = fit(records([200.0, 300.0], age_from=[100.0, 200.0]))
    assert found.maximum is None


def test_current_status_data_with_a_maximum_agree_with_brute_force() -> None:
    """Every part looked at once: failed before then or not (scipy's fit returns nonsense)."""
    rng = np.random.default_rng(3)
    life, look = 1000 * rng.weibull(3.0, 300), rng.uniform(300, 1600, 300)
    data = records(look, np.where(life < look, "failed", "running").tolist(),
                   age_from=np.where(life < look, 0.0, np.nan))  # fmt: skip
    found = fit(data)
    assert found.shape.estimate is not None
    assert found.scale.estimate is not None
    shape = found.shape.estimate * np.linspace(0.9, 1.1, 201)
    scale = found.scale.estimate * np.linspace(0.9, 1.1, 201)
    heights = found.likelihood.log(shape[:, None], scale)
    best = np.unravel_index(np.argmax(heights), heights.shape)
    assert (int(best[0]), int(best[1])) == (100, 100)
    assert found.shape.low is not None
    assert found.shape.high is not None
    assert found.shape.low < 3.0 < found.shape.high


@pytest.mark.parametrize(
    "data",
    [
        records([40.0, 60.0], "running"),
        records([0.0, 0.0], "running"),
        records([50.0] * 6),
        records([50.0]),
        records([50.0, 60.0], age_from=[0.0, 0.0]),
        records([101.0, 103.0], entered_at=[100.0, 102.0]),
        records([1.0, 1e9], ["failed", "running"]),
        records([1e-6, 1e9]),
        observed(np.random.default_rng(1), 60, 40.0, 1000.0),
        observed(np.random.default_rng(1), 60, 0.3, 1000.0),
        observed(np.random.default_rng(1), 40, 5.0, 1000.0, enter=1.0, between=1.0),
    ],
)
def test_with_both_priors_every_file_has_a_posterior(data: LifeRecords) -> None:
    b50 = Quantity(float(data.age.max()) or 1.0, 10 * (float(data.age.max()) or 1.0))
    found = posterior(Likelihood(data), PRIOR, b50, (0.0, 30.0))
    assert np.isfinite(found.shape).all()
    assert np.isfinite(found.scale).all()
    assert (found.scale > 0).all()
    assert found.weight.sum() == pytest.approx(1.0)
    assert len(found) < 1200


def test_what_a_flat_prior_cannot_bear_is_refused() -> None:
    lead = Quantity(10.0, 80.0)
    worn = records([50.0, 70.0], "removed_worn")
    for likelihood, said in (
        (None, "no records"),
        (Likelihood(records([40.0, 60.0], "running")), "upper limit"),
        (Likelihood(records([40.0, 60.0], cause="other")), "upper limit"),
        (Likelihood(records([40.0, 60.0], age_from=0.0)), "lower limit"),
        # as life grows without limit such a record keeps the chance of a wrong look
        (Likelihood(worn, 0.1, lead), "a look can be wrong"),
    ):
        with pytest.raises(CannotAnswer, match=said) as refusal:
            posterior(likelihood, PRIOR, None)
        assert "life.b50_prior" in str(refusal.value)
    assert len(posterior(Likelihood(worn, 0.0, lead), PRIOR, None)) > 100


def test_a_failure_at_the_moment_of_entry_needs_some_usage_beside_it() -> None:
    """The likelihood is the hazard there, which a steep enough curve makes as large as liked."""
    data = records([100.0, 100.0], entered_at=[100.0, 100.0])
    is_silent(fit(data), NOTHING_LIVED)
    b50 = Quantity(100.0, 1000.0)
    with pytest.raises(CannotAnswer, match="first watched"):
        posterior(Likelihood(data), PRIOR, b50)
    assert len(posterior(Likelihood(data), PRIOR, b50, (0.0, 130.0))) > 100


def test_a_worn_part_does_bound_life_when_a_failure_does() -> None:
    data = joined(records(50.0, "removed_worn"), records(70.0))
    assert len(posterior(Likelihood(data, 0.1, Quantity(10.0, 80.0)), PRIOR, None)) > 100
