"""The score of a sample: its noise, limit and weights, and the rise over a fill."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, t

from .sampled_oil import noise_cdf, rise_mean, watch
from .test_sampled import LEAD, TIN, build


def test_noise_of_the_score() -> None:
    """One element: Student t with 4 degrees of freedom, in closed form (scipy). Three: against
    drawing; its characteristic function squared has no closed tail."""
    x = np.linspace(-8, 8, 41)
    assert noise_cdf(np.array([1.0]), x) == pytest.approx(t.cdf(x, 4), abs=1e-9)
    assert noise_cdf(np.array([0.5]), x) == pytest.approx(t.cdf(x / 0.5, 4), abs=1e-9)
    weights = np.array([0.75, 0.55, 0.37])
    rng = np.random.default_rng(5)
    draws = weights @ t.rvs(4, size=(3, 400_000), random_state=rng)
    for y in (-1.0, 0.0, 1.5, 3.0):
        expected = float(np.mean(draws <= y))
        assert noise_cdf(weights, np.array([y]))[0] == pytest.approx(expected, abs=0.0032)


def test_limit() -> None:
    """The upper 2 % point of Student t with 4 degrees of freedom is 2.999 (any table)."""
    assert watch(build(), 0, history=True).limit == pytest.approx(2.999, abs=5e-4)
    two = watch(build(elements=[LEAD, TIN], false_alarm=0.05), 0, history=True)
    assert noise_cdf(two.weights, np.array([two.limit]))[0] == pytest.approx(0.95, abs=1e-9)


def test_weights_by_hand() -> None:
    """sigma' and w of two elements after two samples, written out. Usage 5: C = median typical
    x 5 / 1000."""
    elements = [{**LEAD, "typical": [300, 900]}, {**TIN, "typical": [100, 300]}]
    found = watch(build(elements=elements), 2, history=True)
    sigma, rise = [], [math.log(6), math.log(4)]
    for low, scatter, noise in ((300, 1.3, 0.4), (100, 1.5, 0.2)):
        s2 = (math.log(3) / (2 * norm.ppf(0.95))) ** 2
        own = math.log(scatter) ** 2
        usual = low * math.sqrt(3) * 5 / 1000
        sigma.append(math.sqrt(own + (noise / usual) ** 2 + s2 * own / (own + 2 * s2)))
    raw = [r / s for r, s in zip(rise, sigma, strict=True)]
    w = [a / math.hypot(*raw) for a in raw]
    assert found.weights == pytest.approx(w)
    assert found.slopes == pytest.approx([a / s for a, s in zip(w, sigma, strict=True)])


def test_rise_over_a_fill() -> None:
    """The mean of rise^c by adaptive quadrature, with and without top-up, onset before, within
    and after the fill."""
    life, rise, at, age = 100.0, 7.0, 90.0, 12.0
    for top_up in (0.0, 0.4):
        for onset in (0.0, 60.0, 83.0, 95.0):

            def weight(s: float, rate: float = top_up / age) -> float:
                return math.exp(-rate * (at - s))

            def risen(s: float, onset: float = onset, weight: Any = weight) -> float:
                c = min(max((s - onset) / (life - onset), 0.0), 1.0)
                return float(rise**c * weight(s))

            whole, _ = quad(weight, at - age, at)
            exact, _ = quad(risen, at - age, at, points=[onset] if onset == 83.0 else None)
            found = rise_mean(
                np.array([rise]), np.array([life]), np.array([onset]), at, age, top_up
            )
            assert found[0] == pytest.approx(exact / whole, rel=1e-9)
