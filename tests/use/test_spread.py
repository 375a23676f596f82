"""Fixed point sets."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.use.spread import even_grid, normal_points, spread_points


def test_in_one_dimension_they_are_multiples_of_the_golden_ratio() -> None:
    golden = (5**0.5 - 1) / 2  # the additive recurrence with the smallest discrepancy constant
    expected = (0.5 + np.arange(1, 9) * golden) % 1
    assert spread_points(8, 1)[:, 0] == pytest.approx(expected, abs=1e-12)


def test_in_two_dimensions_they_step_by_powers_of_the_plastic_number() -> None:
    plastic = 1.324717957244746  # the real root of x^3 = x + 1
    assert plastic**3 == pytest.approx(plastic + 1, rel=1e-15)
    steps = np.array([1 / plastic, 1 / plastic**2])
    expected = (0.5 + np.arange(1, 9)[:, None] * steps) % 1
    assert spread_points(8, 2) == pytest.approx(expected, abs=1e-12)


def test_points_fill_every_part_of_the_square_alike() -> None:
    at = spread_points(4096, 2)
    counts, *_ = np.histogram2d(*at.T, bins=8, range=[[0, 1], [0, 1]])
    assert np.abs(counts - 64).max() <= 4


def test_normal_points_have_the_moments_of_a_normal() -> None:
    z = normal_points(256, 4)
    assert z.mean(axis=0) == pytest.approx(np.zeros(4), abs=1e-12)
    assert z.T @ z / len(z) == pytest.approx(np.eye(4), abs=1e-12)
    assert (z**4).mean(axis=0) == pytest.approx(np.full(4, 3), abs=0.5)


def test_an_even_grid_is_exact_for_a_lognormal_mean() -> None:
    z, weight = even_grid(1.0, 5.0)
    for spread in (0.1, 0.3, 0.5):
        assert weight @ np.exp(spread * z - spread**2 / 2) == pytest.approx(1, abs=2e-5)
    assert weight @ z**2 == pytest.approx(1, abs=5e-5)
