"""The Weibull functions against arbitrary-precision arithmetic, in the far corners too."""

from __future__ import annotations

import itertools

import mpmath as mp
import numpy as np
import pytest

from riskmodel.life import weibull

SHAPES = (0.05, 0.5, 1.0, 2.5, 50.0)
SCALES = (1e-3, 120.0, 1e9)
AGES = (1e-9, 1.0, 119.99, 5e4, 1e9)

# exp(b ln(t/n)) loses |b ln(t/n)| units of the last place: 50 * 55 at the very worst here
TIGHT = 1e-12


def close(found: float, wanted: mp.mpf, tolerance: float = TIGHT) -> bool:
    """Relative agreement, over- and underflow of doubles allowed for."""
    if abs(wanted) > mp.mpf(10) ** 307:
        return bool(abs(found) > 1e307)
    if abs(wanted) < mp.mpf(10) ** -307:
        return abs(found) < 1e-306
    return bool(abs(mp.mpf(found) / wanted - 1) < tolerance)


@pytest.mark.parametrize(("shape", "scale"), list(itertools.product(SHAPES, SCALES)))
def test_hazard_survival_and_density_to_the_last_digits(shape: float, scale: float) -> None:
    with mp.workdps(60):
        b, n = mp.mpf(shape), mp.mpf(scale)
        for age in AGES:
            t = mp.mpf(age)
            hazard = (t / n) ** b
            assert close(float(weibull.cumulative_hazard(age, shape, scale)), hazard)
            assert close(float(weibull.failure(age, shape, scale)), -mp.expm1(-hazard))
            # exp(-H) turns the relative error of H into one of H times as much
            slack = TIGHT * (1 + float(min(hazard, mp.mpf(800))))
            assert close(float(weibull.survival(age, shape, scale)), mp.exp(-hazard), slack)
            density = b / n * (t / n) ** (b - 1) * mp.exp(-hazard)
            assert close(float(weibull.density(age, shape, scale)), density, slack)
            assert close(float(weibull.hazard(age, shape, scale)), b / n * (t / n) ** (b - 1))


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("ahead", [1e-9, 1e-3, 1.0, 1e5])
@pytest.mark.parametrize("at", [0.0, 1e-6, 3.0, 1e5, 1e9])
def test_small_steps_ahead_are_not_lost_to_cancellation(
    shape: float, ahead: float, at: float
) -> None:
    scale = 1e5
    with mp.workdps(80):
        b, n = mp.mpf(shape), mp.mpf(scale)
        gain = ((mp.mpf(at) + mp.mpf(ahead)) / n) ** b - (mp.mpf(at) / n) ** b
        assert close(float(weibull.hazard_ahead(at, ahead, shape, scale)), gain)
        chance = -mp.expm1(-gain)
        assert close(float(weibull.conditional_failure(at, ahead, shape, scale)), chance)


@pytest.mark.parametrize("shape", SHAPES)
def test_quantiles_undo_probabilities(shape: float) -> None:
    share = np.array([1e-12, 1e-3, 0.1, 0.5, 0.632, 0.999])
    ages = weibull.quantile(share, shape, 120.0)
    np.testing.assert_allclose(weibull.failure(ages, shape, 120.0), share, rtol=1e-12)
    for at in (0.0, 1.0, 100.0, 500.0):
        ahead = weibull.remaining_quantile(share, at, shape, 120.0)
        back = weibull.conditional_failure(at, ahead, shape, 120.0)
        np.testing.assert_allclose(back, share, rtol=1e-10)


def test_remaining_life_of_a_part_far_younger_or_older_than_the_scale() -> None:
    # (H + y)^(1/b) - H^(1/b) by arbitrary precision; H = 1e-240 and 1e12 here
    for at, shape, scale in ((1e-6, 40.0, 1.0), (1e3, 4.0, 1.0)):
        with mp.workdps(400):
            hazard = (mp.mpf(at) / scale) ** shape
            wanted = scale * (
                (hazard + mp.log(2)) ** (1 / mp.mpf(shape)) - hazard ** (1 / mp.mpf(shape))
            )
            found = float(weibull.remaining_quantile(0.5, at, shape, scale))
            assert close(found, wanted, 1e-11)


def test_age_zero() -> None:
    shapes = np.array([0.5, 1.0, 2.0])
    assert np.array_equal(weibull.cumulative_hazard(0.0, shapes, 10.0), np.zeros(3))
    assert np.array_equal(weibull.survival(0.0, shapes, 10.0), np.ones(3))
    np.testing.assert_allclose(weibull.density(0.0, shapes, 10.0), [np.inf, 0.1, 0.0], rtol=1e-15)
    assert np.array_equal(weibull.conditional_failure(5.0, 0.0, shapes, 10.0), np.zeros(3))


def test_mean_is_the_gamma_function() -> None:
    for shape in (0.3, 1.0, 2.0, 3.5, 20.0):
        wanted = 120 * mp.gamma(1 + 1 / mp.mpf(shape))
        assert close(float(weibull.mean(shape, 120.0)), wanted)


def test_scale_of_a_known_life() -> None:
    scale = weibull.scale_of(163.0, 0.1, np.array([0.5, 2.0, 9.0]))
    np.testing.assert_allclose(weibull.failure(163.0, [0.5, 2.0, 9.0], scale), 0.1, rtol=1e-12)


def test_arguments_broadcast() -> None:
    chances = weibull.conditional_failure(
        np.zeros((4, 1, 1)), np.ones((3, 1)), np.full(2, 2.0), np.full(2, 5.0)
    )
    assert chances.shape == (4, 3, 2)


@pytest.mark.parametrize("shape", [0.3, 1.0, 3.6, 20.0, 50.0])
@pytest.mark.parametrize("at", [0.0, 1e-6, 0.5, 1.0, 1.3, 40.0])
def test_density_ahead_is_the_hazard_times_those_that_last(shape: float, at: float) -> None:
    """By the routines that take differences of hazards with care; far beyond any life too."""
    ahead = np.array([1e-9, 1e-3, 0.2, 1.0, 5.0])
    wanted = weibull.hazard(at + ahead, shape, 1.0) * weibull.conditional_survival(
        at, ahead, shape, 1.0
    )
    found = weibull.density_ahead(at, ahead, shape, 1.0)
    lasting = wanted > 1e-200
    assert found[lasting] == pytest.approx(wanted[lasting], rel=1e-9)
    assert (found[~lasting] >= 0).all()
    assert (found[~lasting] < 1e-190).all()


def test_density_ahead_of_a_constant_rate_is_the_exponential() -> None:
    found = weibull.density_ahead(7.0, np.array([0.0, 2.0, 30.0]), 1.0, 4.0)
    assert found == pytest.approx(np.exp(-np.array([0.0, 2.0, 30.0]) / 4.0) / 4.0, rel=1e-12)
