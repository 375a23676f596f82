"""Long files are worked by other means than short ones, and come out the same."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.life import maximum, terms
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.terms import Exposure, Powers
from tests.life.made import observed, records


@pytest.mark.parametrize("b", [0.01, 0.7, 2.5, 8.0, 10.0, 10.5, 300.0])
def test_sums_of_powers_held_as_moments(b: float) -> None:
    rng = np.random.default_rng(4)
    age = np.concatenate([180_000 * rng.weibull(2.0, 6_000), [1.0, 1e-6, 5e5]])
    weight = rng.integers(1, 5, len(age)).astype(float)
    x = np.log(age / 5e5)
    power = weight * np.exp(b * x)
    found = Powers(weight, age, 5e5)
    assert found.sums(np.array([b]))[0] == pytest.approx(power.sum(), rel=2e-12)
    wanted = (power.sum(), power @ x, power @ x**2)
    for got, exact in zip(found.slopes(b), wanted, strict=True):
        assert got == pytest.approx(exact, rel=1e-11)


def test_the_exposure_of_a_long_file_is_that_of_its_parts() -> None:
    rng = np.random.default_rng(5)
    age = 1000 * rng.weibull(2.0, 9_000)
    none, ones = np.zeros(9_000), np.ones(9_000)
    shapes = np.array([0.5, 3.0, 20.0])
    whole = Exposure(age, none, ones, 4000.0).log(shapes)
    parts = [
        Exposure(age[some], none[some], ones[some], 4000.0).log(shapes)
        for some in (slice(0, 3_000), slice(3_000, 6_000), slice(6_000, None))
    ]
    np.testing.assert_allclose(whole, np.logaddexp.reduce(parts), rtol=1e-12)


@pytest.mark.parametrize("between", [0.0, 0.5])
def test_a_long_file_has_the_maximum_of_a_short_one(
    between: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = observed(np.random.default_rng(6), 12_000, 2.2, 500.0, enter=0.4, between=between)
    long = fit(data)
    monkeypatch.setattr(maximum, "MANY", 10**9)
    monkeypatch.setattr(terms, "MANY", 10**9)
    short = fit(data)
    assert long.shape.estimate == pytest.approx(short.shape.estimate, rel=1e-7)
    assert long.loglik == pytest.approx(short.loglik, rel=1e-12)
    assert long.shape.low == pytest.approx(short.shape.low, rel=1e-6)


@pytest.mark.parametrize("enter", [0.0, 1.0])
def test_the_height_of_the_flattest_shape(enter: float) -> None:
    likelihood = Likelihood(
        observed(np.random.default_rng(7), 60, 1.1, 100.0, enter=enter, between=0.5)
    )
    nodes = np.linspace(-25, 6, 4_000)
    dense = likelihood.at(np.full(4_000, maximum.FLATTEST), nodes).max()
    found = maximum._edge(likelihood)
    assert found >= dense - 1e-9
    assert found == pytest.approx(dense, abs=1e-4)  # to the spacing of the grid


def test_equal_ages_in_a_long_file_are_still_one_age() -> None:
    assert fit(records(np.full(20_000, 70.0))).maximum is None
    assert fit(records(np.full(20_000, 70.0), age_from=60.0)).maximum is None
