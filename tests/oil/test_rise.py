"""The fill's mean against numerical integration, and its limits."""

from __future__ import annotations

import math
from functools import partial
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from riskmodel.oil.rise import distress, log_fill_mean, onset_age


def wear(
    a: float, b: float, at_a: float, at_b: float, at: float, rate: float, v: float, power: float
) -> float:
    """The weighted wear at the share v of the way from a to b, times the width."""
    return (b - a) * math.exp(power * (at_a + (at_b - at_a) * v) - rate * (at - a - (b - a) * v))


def by_quadrature(
    onset: float, failure: float, at: float, oil_age: float, log_rise: float, rate: float
) -> float:
    """The same by scipy's adaptive quadrature, broken at the kinks."""

    def share(s: float) -> float:
        if s <= onset:
            return 0.0
        return 1.0 if s >= failure else (s - onset) / (failure - onset)

    ends = sorted({at - oil_age, at, *(v for v in (onset, failure) if at - oil_age < v < at)})
    total = weight = 0.0
    for a, b in pairwise(ends):
        from_share = 1.0 if a >= failure else share(a)
        to_share = from_share if a >= failure or b <= onset else share(b)
        piece = partial(wear, a, b, from_share, to_share, at, rate)
        options = {"epsabs": 0.0, "epsrel": 1e-11, "limit": 200}
        total += quad(piece, 0.0, 1.0, (log_rise,), **options)[0]
        weight += quad(piece, 0.0, 1.0, (0.0,), **options)[0]
    return math.log(total / weight)


CASES = [
    # onset, failure, at, oil_age, log_rise, top_up_rate
    (92.0, 110.0, 100.0, 10.0, math.log(8.0), 0.0),  # began within the fill
    (92.0, 110.0, 100.0, 10.0, math.log(8.0), 0.05),
    (80.0, 110.0, 100.0, 10.0, math.log(8.0), 0.02),  # before the fill
    (0.0, 101.0, 100.0, 10.0, math.log(20.0), 0.3),  # with the part itself
    (99.999, 100.001, 100.0, 10.0, math.log(20.0), 0.01),  # just before the sample
    (93.0, 97.0, 100.0, 10.0, math.log(20.0), 0.1),  # failed within the fill
    (95.0, 95.0, 100.0, 10.0, math.log(20.0), 0.1),  # no lead at all, within the fill
    (85.0, 88.0, 100.0, 10.0, math.log(20.0), 0.1),  # failed before the fill
    (120.0, 130.0, 100.0, 10.0, math.log(20.0), 0.1),  # not yet begun
    (95.0, 95.0 + 1e-9, 100.0, 10.0, math.log(20.0), 0.0),
    (92.0, 110.0, 100.0, 10.0, 1e-12, 0.05),
    (92.0, 110.0, 100.0, 10.0, math.log(8.0), 1e-13),
    (92.0, 110.0, 100.0, 10.0, math.log(8.0), 3.0),  # three sumps topped up per usage
    (92.0, 110.0, 100.0, 10.0, math.log(0.5), 0.05),  # a fall instead of a rise
    (92.0, 110.0, 100.0, 10.0, -0.9, 0.05),  # where the two exponents nearly cancel
    (50_000.0, 62_000.0, 60_000.0, 15_000.0, math.log(12.0), 1.5e-5),
]


@pytest.mark.parametrize("case", CASES)
def test_agrees_with_quadrature(case: tuple[float, ...]) -> None:
    assert log_fill_mean(*case) == pytest.approx(by_quadrature(*case), abs=1e-9)


def test_agrees_with_quadrature_anywhere() -> None:
    rng = np.random.default_rng(1)
    for _ in range(300):
        onset = rng.uniform(70, 105)
        case = (
            onset,
            onset + 10 ** rng.uniform(-6, 2),
            100.0,
            10 ** rng.uniform(-1, 1.9),
            rng.uniform(0, 4),
            rng.choice([0.0, 10 ** rng.uniform(-9, 0)]),
        )
        assert log_fill_mean(*case) == pytest.approx(by_quadrature(*case), abs=1e-9)


def test_broadcasts() -> None:
    onset = np.array([[90.0], [95.0], [120.0]])
    failure = np.array([110.0, 130.0])
    got = log_fill_mean(onset, failure, 100.0, 10.0, 2.0, 0.01)
    assert got.shape == (3, 2)
    assert got[1, 0] == pytest.approx(by_quadrature(95.0, 110.0, 100.0, 10.0, 2.0, 0.01))
    assert np.all(got[2] == 0)


def test_is_nothing_before_the_onset_and_all_of_the_rise_after_failure() -> None:
    assert log_fill_mean(100.0, 110.0, 100.0, 10.0, 2.0, 0.1) == pytest.approx(0.0, abs=1e-15)
    assert log_fill_mean(80.0, 90.0, 100.0, 10.0, 2.0, 0.1) == pytest.approx(2.0, abs=1e-15)


def test_half_of_a_distress_is_hidden_by_the_oil_from_before_it() -> None:
    """A leap by a factor of 9 at half the fill: the average is (1 + 9) / 2 times the usual."""
    assert np.exp(log_fill_mean(95.0, 95.0, 100.0, 10.0, math.log(9.0))) == pytest.approx(5.0)


def test_distress_and_onset() -> None:
    assert distress([0.0, 10.0, 15.0, 20.0, 30.0], 10.0, 20.0).tolist() == [0, 0, 0.5, 1, 1]
    assert distress([9.0, 10.0, 11.0], 10.0, 10.0).tolist() == [0, 0, 1]
    assert onset_age([30.0, 5.0], 10.0).tolist() == [20.0, 0.0]
