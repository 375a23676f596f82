"""What was said against what was seen: published intervals, a simulation, what is left out."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import poisson

from riskmodel.risk.said_and_seen import (
    FEWEST,
    Told,
    found_when_replaced,
    poisson_interval,
    said_and_seen,
)

# The 95 % limits of a Poisson mean by count, to two decimals, as tables of them give (Garwood
# 1936, Biometrika 28, 437-442; values from memory, and checked against the definition below).
LIMITS = {0: (0.0, 3.69), 1: (0.03, 5.57), 5: (1.62, 11.67), 10: (4.80, 18.39)}


@pytest.mark.parametrize(("count", "limits"), LIMITS.items())
def test_the_interval_of_a_count_is_the_tabled_one(count: int, limits: tuple[float, float]) -> None:
    assert poisson_interval(count, 0.95) == pytest.approx(limits, abs=0.006)


@pytest.mark.parametrize("count", [1, 3, 12, 40])
def test_the_interval_is_exact_by_its_definition(count: int) -> None:
    low, high = poisson_interval(count, 0.9)
    assert poisson.sf(count - 1, low) == pytest.approx(0.05)
    assert poisson.cdf(count, high) == pytest.approx(0.05)


def test_a_count_is_none_below_nought() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        poisson_interval(-1)


def told(*pairs: tuple[float, float]) -> Told:
    ahead, chance = zip(*pairs, strict=True)
    return Told(np.array(ahead, dtype=float), np.array(chance))


def test_only_the_usage_followed_is_expected() -> None:
    each = told((1000, 0.1), (4000, 0.4))
    assert each.expected(0) == 0
    assert each.expected(500) == pytest.approx(-np.log(0.9) / 2)
    assert each.expected(1000) == pytest.approx(-np.log(0.9))
    assert each.expected(4000) == each.expected(9000) == pytest.approx(-np.log(0.6))


@pytest.mark.parametrize(
    ("ahead", "chance"),
    [([], []), ([0.0], [0.1]), ([2.0, 1.0], [0.1, 0.2]), ([1.0], [1.2]), ([1.0, 2.0], [0.3, 0.2])],
)
def test_what_cannot_have_been_told_is_refused(ahead: list[float], chance: list[float]) -> None:
    with pytest.raises(ValueError, match=r"ahead|chances"):
        Told(np.array(ahead), np.array(chance))


def test_right_chances_come_out_right_whenever_the_following_ends() -> None:
    """Brute force: parts whose chances were told rightly, replaced at random and, as a workshop
    would, the sooner the likelier they are to fail."""
    rng = np.random.default_rng(3)
    count = 40_000
    ahead = np.linspace(0.1, 2.0, 20)
    scale = rng.uniform(1, 12, count)
    failure = scale * rng.weibull(2.5, count)
    replaced = rng.uniform(0, 1.5, count) * np.minimum(scale / 3, 1.5)
    every = [Told(ahead, -np.expm1(-((ahead / s) ** 2.5))) for s in scale]
    found = said_and_seen(every, np.minimum(failure, replaced), failure <= replaced)
    assert found.ratio is not None
    # within 3 standard errors; the chances are told at 20 points with straight lines between
    assert found.ratio.value == pytest.approx(1, abs=3 / np.sqrt(found.expected) + 0.01)
    assert not found.few


def test_the_interval_covers() -> None:
    """The 90 % interval of the ratio holds 1 in at least 90 of 100 workshops whose chances were
    right (an exact interval of a count covers at least its level)."""
    rng = np.random.default_rng(4)
    every = [told((1.0, 0.12))] * 120
    holds = 0
    for _ in range(400):
        failed = rng.random(120) < 0.12
        time = np.where(failed, -np.log1p(-rng.random(120) * 0.12) / -np.log(0.88), 1.0)
        holds += not said_and_seen(every, time, failed).differs
    assert holds >= 0.9 * 400 - 3 * np.sqrt(400 * 0.09)


def test_few_failures_are_too_few_to_judge() -> None:
    found = said_and_seen([told((1.0, 0.05))] * 20, np.ones(20), np.zeros(20, dtype=bool))
    assert found.few
    assert found.expected < FEWEST
    assert found.seen.value == 0


def test_a_failure_beyond_what_was_told_is_not_counted() -> None:
    found = said_and_seen([told((1.0, 0.5))], np.array([2.0]), np.array([True]))
    assert found.seen.value == 0


def test_nothing_told_is_no_ratio() -> None:
    found = said_and_seen([], np.array([]), np.array([], dtype=bool))
    assert (found.decisions, found.expected, found.ratio) == (0, 0.0, None)


def test_replaced_parts_are_counted_by_their_looks() -> None:
    found = found_when_replaced(
        np.array([True, False, True, False]),
        np.array([True, True, True, False]),
        np.array([0.5, 0.2, np.nan, 0.9]),
    )
    assert (found.worn, found.unworn, found.not_seen) == (2, 1, 1)
    assert (found.told, found.told_worn, found.expected) == (2, 1, pytest.approx(0.7))
