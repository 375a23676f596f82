"""The posterior's nodes against dense grids, over many kinds of records and priors."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, observed, records, reference

LEAD = Quantity(100.0, 600.0)
LEVELS = [0.05, 0.5, 0.95]


@dataclass(frozen=True)
class Belief:
    shape: Quantity
    b50: Quantity | None
    survived: tuple[float, float] | None = None


def dense(
    likelihood: Likelihood | None, belief: Belief, count: int = 400
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """(shape, scale, weight) on an even grid of count x count in (ln shape, ln B50).

    The box is found by zooming in on where the density is within e^-30 of its height.
    """
    x0, x1 = (math.log(belief.shape.median) + s * 6.5 * belief.shape.spread for s in (-1, 1))
    x1 = max(x1, 3.0)  # records may contradict the prior
    centre, reach = math.log(1000.0), 12.0
    if belief.b50 is not None:
        centre, reach = math.log(belief.b50.median), max(6.5 * belief.b50.spread, 3.0)
    y0, y1 = centre - reach, centre + reach
    for zoom in range(5):
        points = count if zoom == 4 else 120
        x, y = np.linspace(x0, x1, points), np.linspace(y0, y1, points)
        shape = np.exp(x)[:, None]
        scale = np.exp(y) / math.log(2) ** (1 / shape)
        log = -(((x - math.log(belief.shape.median)) / belief.shape.spread) ** 2)[:, None] / 2
        log = log + np.zeros((points, points))
        if belief.b50 is not None:
            log -= ((y - math.log(belief.b50.median)) / belief.b50.spread) ** 2 / 2
        if likelihood is not None:
            log += likelihood.log(np.broadcast_to(shape, scale.shape), scale)
        if belief.survived is not None:
            entered, age = belief.survived
            with np.errstate(over="ignore"):
                log -= (age / scale) ** shape - (entered / scale) ** shape
        some = np.argwhere(log > log.max() - (60 if zoom < 2 else 30))
        step_x, step_y = x[1] - x[0], y[1] - y[0]
        if zoom < 4:
            (i0, j0), (i1, j1) = some.min(axis=0), some.max(axis=0)
            x0, x1, y0, y1 = x[i0] - step_x, x[i1] + step_x, y[j0] - step_y, y[j1] + step_y
    weight = np.exp(log - log.max())
    return (
        np.broadcast_to(shape, scale.shape).ravel(),
        scale.ravel(),
        (weight / weight.sum()).ravel(),
    )


def plain_quantile(values: NDArray[np.float64], weight: NDArray[np.float64]) -> NDArray[np.float64]:
    order = np.argsort(values)
    middle = np.cumsum(weight[order]) - weight[order] / 2
    return np.interp(LEVELS, middle, values[order])


def compare(
    data: LifeRecords | None, belief: Belief, quantiles: float = 0.01, count: int = 400
) -> Curves:
    likelihood = None if data is None else Likelihood(data, 0.1, LEAD)
    found = posterior(likelihood, belief.shape, belief.b50, belief.survived)
    shape, scale, weight = dense(likelihood, belief, count)
    for at, ahead in ((0.0, 300.0), (500.0, 150.0), (800.0, 600.0)):
        ours = weibull.conditional_failure(at, ahead, found.shape, found.scale)
        truth = weibull.conditional_failure(at, ahead, shape, scale)
        assert found.mean(ours) == pytest.approx(float(truth @ weight), rel=1e-4)
        np.testing.assert_allclose(
            weighted_quantile(ours, found.weight, LEVELS),
            plain_quantile(truth, weight),
            rtol=quantiles,
        )
    return found


USUAL = Belief(Quantity(1.2, 5.0), Quantity(400.0, 2500.0))
FLAT = Belief(Quantity(1.2, 5.0), None)
HERE = Belief(Quantity(1.2, 5.0), Quantity(400.0, 2500.0), (200.0, 700.0))


@pytest.mark.parametrize("belief", [USUAL, HERE])
def test_no_records_and_survivors_only(belief: Belief) -> None:
    # priors alone are wide: the chances' logarithms spread over several units, so that 1 %
    # of a standard deviation is up to 4 % of a quantile
    compare(None, belief, quantiles=0.04)
    compare(records([300.0, 500.0, 900.0], "running"), belief, quantiles=0.04)


@pytest.mark.parametrize("belief", [USUAL, FLAT, HERE])
@pytest.mark.parametrize(("n", "shape"), [(6, 2.0), (20, 3.5), (60, 1.0), (500, 2.5)])
def test_failures_and_survivors(belief: Belief, n: int, shape: float) -> None:
    data = observed(np.random.default_rng(n), n, shape, 1000.0)
    found = compare(data, belief, quantiles=0.02 if n < 20 else 0.01)
    assert 300 < len(found) < 520


@pytest.mark.parametrize("belief", [FLAT, HERE])
def test_late_entry_and_failures_between_ages(belief: Belief) -> None:
    rng = np.random.default_rng(9)
    compare(observed(rng, 40, 2.5, 1000.0, enter=1.0), belief)
    compare(observed(rng, 25, 2.5, 1000.0, between=1.0), belief)
    compare(observed(rng, 25, 3.5, 1000.0, enter=0.5, between=0.5), belief)


def test_looks_at_removed_parts() -> None:
    rng = np.random.default_rng(10)
    looks = records(
        rng.uniform(300.0, 1000.0, 8), rng.choice(["removed_worn", "removed_unworn"], 8).tolist()
    )
    compare(looks, USUAL, quantiles=0.04, count=250)
    compare(joined(observed(rng, 15, 2.5, 1000.0), looks), FLAT, count=250)


def test_records_that_contradict_the_prior() -> None:
    data = observed(np.random.default_rng(12), 80, 9.0, 1000.0)
    compare(data, Belief(Quantity(1.2, 3.0), Quantity(3000.0, 5000.0)))


def test_an_exact_shape_leaves_one_variable() -> None:
    """With b fixed and n flat in the log, scale^-b is exactly Gamma(r, exposure)."""
    from scipy import stats

    data = reference("shock_absorber")
    failed = np.array([o == "failed" for o in data.outcome])
    found = posterior(Likelihood(data), exactly(3.0), None)
    assert np.all(found.shape == pytest.approx(3.0))
    rate = stats.gamma(failed.sum(), scale=1 / float((data.age**3).sum()))
    np.testing.assert_allclose(found.mean(found.scale**-3.0), rate.mean(), rtol=1e-7)
    np.testing.assert_allclose(
        weighted_quantile(found.scale, found.weight, [0.05, 0.5, 0.95]),
        rate.ppf([0.95, 0.5, 0.05]) ** (-1 / 3),
        rtol=1e-3,
    )


def test_an_exact_b50_leaves_the_shape() -> None:
    data = observed(np.random.default_rng(3), 30, 2.0, 1000.0)
    prior = Quantity(1.2, 5.0)
    found = posterior(Likelihood(data), prior, exactly(900.0))
    np.testing.assert_allclose(weibull.failure(900.0, found.shape, found.scale), 0.5, rtol=1e-9)
    x = np.linspace(-1.0, 3.0, 4001)
    log = Likelihood(data).log(np.exp(x), weibull.scale_of(900.0, 0.5, np.exp(x)))
    log -= ((x - math.log(prior.median)) / prior.spread) ** 2 / 2
    weight = np.exp(log - log.max())
    assert found.mean(found.shape) == pytest.approx(np.exp(x) @ weight / weight.sum(), rel=1e-6)


def test_the_prior_alone_is_the_prior() -> None:
    shape, b50 = Quantity(1.2, 5.0), Quantity(400.0, 2500.0)
    found = posterior(None, shape, b50)
    median_life = weibull.quantile(0.5, found.shape, found.scale)
    for values, belief in ((found.shape, shape), (median_life, b50)):
        low, middle, high = weighted_quantile(values, found.weight, LEVELS)
        # rows and columns of the grid lie along these: the least favourable direction
        assert low == pytest.approx(belief.low, rel=0.015)
        assert middle == pytest.approx(belief.median, rel=0.005)
        assert high == pytest.approx(belief.high, rel=0.015)
        assert found.mean(np.log(values)) == pytest.approx(math.log(belief.median), abs=1e-7)


def test_this_engine_is_one_more_record() -> None:
    data = observed(np.random.default_rng(5), 15, 2.0, 1000.0)
    prior = Quantity(1.2, 5.0)
    apart = posterior(Likelihood(data), prior, None, (150.0, 900.0))
    among = posterior(
        Likelihood(joined(data, records(900.0, "running", entered_at=150.0))), prior, None
    )
    for at, ahead in ((0.0, 500.0), (900.0, 100.0)):
        chances = [
            c.mean(weibull.conditional_failure(at, ahead, c.shape, c.scale)) for c in (apart, among)
        ]
        assert chances[0] == pytest.approx(chances[1], rel=1e-6)


def test_moving_an_age_moves_everything_smoothly() -> None:
    """Fifty steps of 0.1 % of one failure's age: no kink in means, none seen in quantiles."""
    data = observed(np.random.default_rng(6), 12, 2.5, 1000.0)
    failed = next(i for i, o in enumerate(data.outcome) if o == "failed")
    means, ends = [], []
    for step in range(50):
        age = data.age.copy()
        age[failed] *= 1 + 0.001 * step
        moved = LifeRecords(**{**vars(data), "age": age})
        found = posterior(Likelihood(moved), Quantity(1.2, 5.0), None, (0.0, 600.0))
        chance = weibull.conditional_failure(600.0, 100.0, found.shape, found.scale)
        means.append(float(found.mean(chance)))
        ends.append(weighted_quantile(chance, found.weight, [0.05, 0.95]))
    slope = np.diff(means)
    bend = np.diff(slope)
    assert np.abs(slope).max() < 1e-3 * means[0]  # less than in proportion to the age
    # neighbouring steps differ by a smooth trend, and from that by rounding only
    assert np.abs(np.diff(bend)).max() < 1e-3 * np.abs(slope).mean()
    jumps = np.diff(np.log(ends), axis=0)
    assert np.abs(np.diff(jumps, axis=0)).max() < 5e-4


def test_neighbours_are_alike() -> None:
    found = posterior(Likelihood(reference("shock_absorber")), Quantity(1.2, 5.0), None)
    x = np.log(found.shape)
    y = np.log(weibull.quantile(0.5, found.shape, found.scale))
    sizes = [float(np.sqrt(found.mean(v**2) - found.mean(v) ** 2)) for v in (x, y)]
    far = np.hypot(np.diff(x) / sizes[0], np.diff(y) / sizes[1])
    assert np.median(far) < 1.0
    assert np.quantile(far, 0.95) < 3.0


def test_the_same_input_gives_the_same_nodes() -> None:
    data = reference("bearing_cage")
    first = posterior(Likelihood(data), Quantity(1.2, 5.0), None)
    second = posterior(Likelihood(data), Quantity(1.2, 5.0), None)
    assert np.array_equal(first.weight, second.weight)
    assert np.array_equal(first.scale, second.scale)
