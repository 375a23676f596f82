"""Likelihood-ratio intervals against a profile worked out in the plainest way."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy import optimize, stats

from riskmodel.life import weibull
from riskmodel.life.fit import Fit, fit
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import REFERENCES, joined, observed, records, reference
from tests.life.test_likelihood import by_scipy

HALF_CHI2 = float(stats.chi2.ppf(0.95, 1)) / 2

SETS: dict[str, Callable[[], LifeRecords]] = {
    **{name: lambda name=name: reference(name) for name in REFERENCES if name != "bearing_cage"},
    "late entry": lambda: observed(np.random.default_rng(1), 30, 2.0, 1000.0, enter=0.6),
    "between ages": lambda: observed(np.random.default_rng(2), 25, 2.5, 1000.0, between=1.0),
    "mixed": lambda: observed(np.random.default_rng(3), 30, 1.2, 1000.0, enter=0.4, between=0.5),
    "three failures": lambda: records([300.0, 500.0, 800.0] + [900.0] * 20,
                                      ["failed"] * 3 + ["running"] * 20),
}  # fmt: skip


def profile(data: LifeRecords, scale_at: Callable[[float], float], guess: float) -> float:
    """The greatest log-likelihood by scipy's Weibull along curves (b, scale_at(b))."""

    def misfit(log_b: float) -> float:
        with np.errstate(all="ignore"):
            value = by_scipy(data, math.exp(log_b), scale_at(math.exp(log_b)))
        return -value if math.isfinite(value) else 1e9

    centre = math.log(guess)
    tried = centre + np.linspace(-2, 1.5, 29)
    best = int(np.argmin([misfit(x) for x in tried]))
    around = optimize.minimize_scalar(
        misfit,
        bounds=(tried[max(best - 1, 0)], tried[min(best + 1, 28)]),
        method="bounded",
        options={"xatol": 1e-9},
    )
    return -float(around.fun)


@pytest.mark.parametrize("name", SETS)
def test_ends_lie_where_the_profile_has_fallen_by_half_the_quantile(name: str) -> None:
    """Scale, B10 and a chance ahead; that of the shape is held to scipy in test_published."""
    data = SETS[name]()
    found = fit(data)
    assert found.loglik is not None
    assert found.shape.estimate is not None
    at, ahead = 0.4 * float(data.age.max()), 0.3 * float(data.age.max())
    conditional = found.conditional(at, ahead)
    lines: list[tuple[float | None, Callable[[float], Callable[[float], float]]]] = []

    def fixed_life(share: float) -> Callable[[float], Callable[[float], float]]:
        return lambda life: lambda b: float(weibull.scale_of(life, share, b))

    def fixed_chance(chance: float) -> Callable[[float], float]:
        gain = -math.log1p(-chance)
        return lambda b: (((at + ahead) ** b - at**b) / gain) ** (1 / b)

    for end in (found.scale.low, found.scale.high):
        lines.append((end, fixed_life(-math.expm1(-1))))
    for end in (found.b10.low, found.b10.high):
        lines.append((end, fixed_life(0.1)))
    for end in (conditional.low, conditional.high):
        lines.append((end, fixed_chance))
    for end, line in lines:
        assert end is not None
        fallen = found.loglik - profile(data, line(end), found.shape.estimate)
        assert fallen == pytest.approx(HALF_CHI2, abs=2e-6)


@pytest.mark.parametrize("name", SETS)
def test_the_interval_of_the_shape(name: str) -> None:
    data = SETS[name]()
    found = fit(data)
    for shape in (found.shape.low, found.shape.high):
        assert shape is not None
        best = optimize.minimize_scalar(
            lambda s, shape=shape: -by_scipy(data, shape, math.exp(s)),
            bounds=(math.log(found.scale.low or 1) - 2, math.log(found.scale.high or 1) + 2),
            method="bounded",
            options={"xatol": 1e-9},
        )
        assert found.loglik is not None
        assert found.loglik + best.fun == pytest.approx(HALF_CHI2, abs=2e-6)


def test_looks_take_part_in_intervals() -> None:
    """Against a profile over a dense grid of the same likelihood."""
    data = joined(
        observed(np.random.default_rng(5), 12, 2.5, 1000.0),
        records([500.0, 700.0, 800.0], ["removed_worn", "removed_unworn", "removed_worn"]),
    )
    found = fit(data, 0.1, Quantity(50.0, 400.0))
    shape, scale = np.geomspace(0.6, 8.0, 500), np.geomspace(600.0, 2400.0, 500)
    heights = found.likelihood.log(shape[:, None], scale)
    profile_shape, profile_scale = heights.max(axis=1), heights.max(axis=0)
    assert found.loglik is not None
    for grid, values, ends in (
        (shape, profile_shape, found.shape),
        (scale, profile_scale, found.scale),
    ):
        inside = grid[values > found.loglik - HALF_CHI2]
        step = grid[1] / grid[0] - 1
        assert ends.low == pytest.approx(inside[0], rel=1.05 * step)
        assert ends.high == pytest.approx(inside[-1], rel=1.05 * step)
        assert grid[0] < inside[0] < inside[-1] < grid[-1]


def test_where_every_curve_fits_alike_the_ends_are_missing() -> None:
    """Two inspections that fit any shape above a limit: no upper end of the shape."""
    data = joined(records([400.0, 410.0], age_from=[300.0, 300.0]), records(500.0, age_from=390.0))
    found = fit(data)
    assert found.shape.estimate is None or found.shape.high is None


def covered(fits: list[Fit], truth: float, which: str) -> float:
    hits = 0
    for found in fits:
        interval = getattr(found, which)
        low = 0.0 if interval.low is None else interval.low
        high = math.inf if interval.high is None else interval.high
        hits += low <= truth <= high
    return hits / len(fits)


def test_the_intervals_hold_the_truth_about_95_times_of_100() -> None:
    """600 samples of 20 parts, about half of them failed. The likelihood ratio is only
    asymptotically chi-squared: 93 to 96 % is what so few failures give (Meeker & Escobar
    1998, section 8.3.1, say as much); the standard error here is 0.9 %."""
    rng = np.random.default_rng(77)
    fits = []
    while len(fits) < 600:
        found = fit(observed(rng, 20, 2.0, 1000.0))
        if found.maximum is not None:
            fits.append(found)
    b10 = float(weibull.quantile(0.1, 2.0, 1000.0))
    for which, truth in (("shape", 2.0), ("scale", 1000.0), ("b10", b10)):
        assert 0.915 < covered(fits, truth, which) < 0.975
