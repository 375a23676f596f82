"""The value of information against published examples, and what must hold of it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.decision.value import blind, perfect, sampled


def test_drilling_with_a_seismic_test() -> None:
    """Samuelson & Marks, Managerial Economics, chapter 13: success 0.4, gain 600,000, loss
    200,000; a test says "good" half the time, and then success is 0.6, else 0.2."""
    cost, belief = [[-600.0, 200.0], [0.0, 0.0]], [0.4, 0.6]
    good = np.array([0.5 * 0.6 / 0.4, 0.5 * 0.4 / 0.6])
    assert blind(cost, belief) == pytest.approx(-120)
    assert perfect(cost, belief) == pytest.approx(120)
    assert sampled(cost, belief, [good, 1 - good]) == pytest.approx(20)


def test_drill_or_sell() -> None:
    """Hillier & Lieberman's oil example (the figures also in Ragsdale, chapter 15): oil 0.25, drill
    700 or -100, sell 90; survey favourable with 0.6 if oil, unfavourable with 0.8 if dry."""
    cost, belief = [[-700.0, 100.0], [-90.0, -90.0]], [0.25, 0.75]
    survey = np.array([[0.6, 0.2], [0.4, 0.8]])
    assert (survey @ belief)[0] == pytest.approx(0.3)
    assert blind(cost, belief) == pytest.approx(-100)
    assert perfect(cost, belief) == pytest.approx(142.5)
    worth = sampled(cost, belief, survey)
    assert worth == pytest.approx(53)
    assert worth - 30 == pytest.approx(23)


def test_a_sample_of_oil_before_a_wager() -> None:
    """Worked beforehand, no source: bad bearing 0.10, engine 12,000, planned job 2,500; the sample
    alarms with 0.8 if bad, with 0.05 if not."""
    cost, belief = [[12_000.0, 0.0], [2_500.0, 2_500.0]], [0.1, 0.9]
    oil = [[0.8, 0.05], [0.2, 0.95]]
    assert perfect(cost, belief) == pytest.approx(950)
    assert sampled(cost, belief, oil) == pytest.approx(647.5)


costs = st.lists(st.lists(st.floats(0, 1e5), min_size=3, max_size=3), min_size=2, max_size=4)
shares = st.lists(st.floats(0.01, 1), min_size=3, max_size=3)


@settings(max_examples=60, deadline=None)
@given(cost=costs, belief=shares, chance=st.lists(st.floats(0, 1), min_size=3, max_size=3))
def test_never_below_nothing_and_never_above_perfect(
    cost: list[list[float]], belief: list[float], chance: list[float]
) -> None:
    weight = np.array(belief) / np.sum(belief)
    one = np.array(chance)
    worth = sampled(cost, weight, [one, 1 - one])
    assert 0 <= worth <= perfect(cost, weight) + 1e-6


def test_outcomes_that_do_not_add_up_are_refused() -> None:
    with pytest.raises(ValueError, match="sum to 1"):
        sampled([[1.0, 0.0], [0.5, 0.5]], [0.5, 0.5], [[0.5, 0.5], [0.4, 0.5]])
