"""Where the uncertainty comes from, against published indices and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.case import KindOfUse
from riskmodel.records.quantity import Quantity
from riskmodel.use.aged import aged_curves, chance_ahead
from riskmodel.use.effective_age import joined_use
from riskmodel.use.mix import UNKNOWN, Mix
from riskmodel.use.parts_of_spread import (
    HARSHNESS,
    HISTORY,
    RECORDS,
    chance_parts,
    chance_table,
    parts_of_spread,
)
from tests.use.made import TOWN, TRACK, kind


def test_the_ishigami_function() -> None:
    """sin x + 7 sin^2 y + 0.1 z^4 sin x, evenly over (-pi, pi): Ishigami & Homma 1990; the indices
    0.3139, 0.4424 and 0 are those of Saltelli, Chan & Scott 2000, Sensitivity Analysis (from
    memory), and follow from the variances of the terms."""
    a, b = 7.0, 0.1
    node, weight = np.polynomial.legendre.leggauss(24)
    x, w = math.pi * node, weight / 2
    one, two, three = np.meshgrid(x, x, x, indexing="ij")
    values = np.sin(one) + a * np.sin(two) ** 2 + b * three**4 * np.sin(one)
    found = parts_of_spread(values, np.einsum("i,j,k->ijk", w, w, w), ("x", "y", "z"))
    first = (1 + b * math.pi**4 / 5) ** 2 / 2
    second = a**2 / 8
    whole = second + b * math.pi**4 / 5 + b**2 * math.pi**8 / 18 + 0.5
    assert found.shares == pytest.approx((first / whole, second / whole, 0.0), abs=1e-9)
    assert found.shares == pytest.approx((0.3139, 0.4424, 0.0), abs=5e-5)
    assert found.together == pytest.approx(1 - (first + second) / whole)
    assert found.deviation == pytest.approx(math.sqrt(whole))


def test_what_adds_up_shares_its_variance_out() -> None:
    x = np.array([-1.0, 1.0])
    values = 3 * x[:, None] + 4 * x
    found = parts_of_spread(values, np.full((2, 2), 0.25), ("three", "four"))
    assert found.shares == pytest.approx((9 / 25, 16 / 25))
    assert found.together == pytest.approx(0, abs=1e-12)
    assert found.deviation == pytest.approx(5)


def test_two_that_act_only_together() -> None:
    x = np.array([-1.0, 1.0])
    found = parts_of_spread(np.outer(x, x), np.full((2, 2), 0.25), ("a", "b"))
    assert found.shares == pytest.approx((0, 0), abs=1e-12)
    assert found.together == pytest.approx(1)


def test_two_that_say_the_same_share_the_whole() -> None:
    x = np.array([-1.0, 1.0])
    found = parts_of_spread(x[:, None] + x, np.diag([0.5, 0.5]), ("a", "b"))
    assert found.shares == pytest.approx((0.5, 0.5))
    assert found.together == 0


def test_what_does_not_vary_has_no_parts() -> None:
    found = parts_of_spread(np.full((2, 3), 0.3), np.full((2, 3), 1 / 6), ("a", "b"))
    assert (found.shares, found.together, found.deviation) == ((0.0, 0.0), 0.0, 0.0)
    with pytest.raises(ValueError, match="names"):
        parts_of_spread(np.zeros((2, 3)), np.ones((2, 3)), ("a",))


@given(
    arrays.arrays(float, (3, 2, 4), elements=st.floats(0, 1)),
    arrays.arrays(float, (3, 2, 4), elements=st.floats(0.01, 1)),
)
def test_shares_are_shares(values: np.ndarray, weight: np.ndarray) -> None:
    found = parts_of_spread(values, weight, ("a", "b", "c"))
    assert all(0 <= share <= 1 for share in found.shares)
    total = sum(found.shares) + found.together
    assert total == pytest.approx(1 if found.deviation > 0 else 0)


CURVES = posterior(None, Quantity(2.0, 4.0), Quantity(1200.0, 2500.0), (0.0, 1000.0))
ONE = Curves(np.array([2.5]), np.array([1800.0]), np.ones(1))
KNOWN = (0.0, 1000.0)


def test_each_source_alone_explains_everything() -> None:
    known = joined_use([kind("hard", 2.0)], [0, 1000], [Mix({"hard": 0.4})], Mix())
    harsh = joined_use([TRACK], [0, 1000], [Mix({"track": 0.4})], Mix({"track": 0.4}))
    untold = joined_use([kind("hard", 2.0, population_share=0.2)], [0, 1000], [UNKNOWN], Mix())
    for curves, use, name in (
        (CURVES, known, RECORDS),
        (ONE, harsh, HARSHNESS),
        (ONE, untold, HISTORY),
    ):
        found = chance_parts(curves, use, 300.0, KNOWN)
        told = dict(zip(found.names, found.shares, strict=True))
        assert told[name] == pytest.approx(1)


def test_the_deviation_is_that_of_the_chance_ahead() -> None:
    use = joined_use([TOWN, TRACK], [0, 400, 1000], [UNKNOWN, Mix({"track": 0.3})], Mix())
    found = chance_parts(CURVES, use, 300.0, KNOWN)
    assert min(found.shares) > 0.005
    aged = aged_curves(CURVES, use, KNOWN, None)  # at all nodes, not the coarse ones
    chance = conditional_failure(aged.age, 300.0, aged.shape, aged.scale)
    mean = chance @ aged.weight
    assert mean == pytest.approx(chance_ahead(aged, 300.0)[0][0])
    assert found.deviation == pytest.approx(np.sqrt(aged.weight @ (chance - mean) ** 2), rel=0.01)


def test_a_share_is_what_knowing_a_thing_would_take_away() -> None:
    """1 less the mean variance at known harshness over the whole: worked out node by node."""
    use = joined_use([TRACK], [0, 1000], [Mix({"track": 0.6})], Mix({"track": 0.6}))
    names = (RECORDS, HARSHNESS, HISTORY)
    found = parts_of_spread(*chance_table(CURVES, use, 300.0, KNOWN), names)
    aged = aged_curves(CURVES, use, KNOWN, None)
    chance = conditional_failure(aged.age, 300.0, aged.shape, aged.scale)
    left = 0.0
    for node in range(len(use.weight)):
        here = aged.node == node
        weight = aged.weight[here]
        if weight.sum() > 0:
            about = chance[here] - np.average(chance[here], weights=weight)
            left += weight @ about**2
    told = dict(zip(found.names, found.shares, strict=True))
    assert told[HARSHNESS] == pytest.approx(1 - left / found.deviation**2)


@pytest.mark.parametrize("kinds", [[TRACK], [TOWN, TRACK], [TOWN, TRACK, kind("c", 0.8, 2.0, 0.2)]])
def test_coarse_nodes_are_enough_for_the_split(kinds: list[KindOfUse]) -> None:
    use = joined_use(kinds, [0, 400, 1000], [UNKNOWN, Mix({"track": 0.6})], Mix({"track": 0.6}))
    some = chance_parts(CURVES, use, 300.0, KNOWN)
    every = parts_of_spread(*chance_table(CURVES, use, 300.0, KNOWN), some.names)
    assert some.shares == pytest.approx(every.shares, abs=0.02)
