"""The ageing rate of a mix, against closed forms, published worked examples and draws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from riskmodel.use.mix import ALIKE, UNKNOWN, UNNAMED, Mix, ageing_rate, mix_rate

SHARES = arrays.arrays(float, 3, elements=st.floats(0, 1 / 3))
HARSH = arrays.arrays(float, 3, elements=st.floats(0.1, 10))
NAMES = ("a", "b", "c")
DRAWS = 200_000


def test_a_constant_mix_by_hand() -> None:
    # a quarter of the usage counts double; the population has a tenth of it: 1.25 / 1.1
    assert ageing_rate([0.25], [2.0], [0.1]) == pytest.approx(1.25 / 1.1, rel=1e-15)
    # (1 + 0.5 x 0.6 + 0.2 x 2) / (1 + 0.3 x 0.6 + 0.1 x 2)
    assert ageing_rate([0.5, 0.2], [1.6, 3.0], [0.3, 0.1]) == pytest.approx(1.7 / 1.38, rel=1e-15)


@given(SHARES, HARSH)
def test_the_populations_own_mix_ages_by_exactly_one(share: np.ndarray, harsh: np.ndarray) -> None:
    assert ageing_rate(share, harsh, share) == 1.0


@given(SHARES, SHARES)
def test_kinds_no_harsher_than_ordinary_use_change_nothing(
    share: np.ndarray, population: np.ndarray
) -> None:
    assert ageing_rate(share, np.ones(3), population) == 1.0


@given(SHARES, SHARES, HARSH, st.floats(0, 1))
def test_moving_usage_to_a_harsher_kind_never_lowers_the_rate(
    share: np.ndarray, population: np.ndarray, harsh: np.ndarray, part: float
) -> None:
    mild, hard = np.argmin(harsh), np.argmax(harsh)
    moved = share.copy()
    moved[mild] -= part * share[mild]
    moved[hard] += part * share[mild]
    before, after = (ageing_rate(s, harsh, population) for s in (share, moved))
    assert after >= before * (1 - 1e-14)


def test_linear_damage_of_a_bearing_under_three_loads() -> None:
    """Modarres, Amiri & Jackson 2017, Probabilistic Physics of Failure Approach to Reliability,
    pp. 33-37, as worked in the documentation of the open-source Python package "reliability"
    (page "Palmgren-Miner linear damage model"): ball bearings last 50,000, 6,500 and 1,000 hours
    at 1, 2 and 4 kN; each cycle (an hour) has 40, 15 and 5 minutes of these. Published: 7400.37951
    cycles, damage fractions 9.86717, 28.463 and 61.66983 %."""
    life = np.array([50_000.0, 6_500.0, 1_000.0])
    share = np.array([40.0, 15.0, 5.0]) / 60
    harsh = life[0] / life  # 1 kN counts as ordinary use
    rate = float(ageing_rate(share[1:], harsh[1:], np.zeros(2)))
    assert life[0] / rate == pytest.approx(7400.37951, abs=5e-6)
    assert 100 * share * harsh / rate == pytest.approx([9.86717, 28.463, 61.66983], abs=5e-6)


def test_mean_effective_load_of_a_ball_bearing() -> None:
    """Mott, Machine Elements in Mechanical Design, 4th ed., example problem 14-6, p. 626: 650 lb
    for 30 minutes, 750 lb for 10, 250 lb for 20, life by the cube of the load: as under a steady
    597 lb. A load's harshness against 650 lb is the cube of their ratio."""
    load, minutes = np.array([650.0, 750.0, 250.0]), np.array([30.0, 10.0, 20.0])
    rate = ageing_rate(minutes / 60, (load / 650) ** 3, np.zeros(3))
    assert 650 * rate ** (1 / 3) == pytest.approx(597, abs=0.5)


def drawn_rates(
    harsh: np.ndarray, population: np.ndarray, known: dict[int, float], seed: int
) -> np.ndarray:
    """Ageing rates of many engines whose shares, given the known ones, are those of a
    Dirichlet about the population's mix, times what no kind names."""
    random = np.random.default_rng(seed)
    whole = np.append(population, 1 - population.sum())
    rest = [i for i in range(len(whole)) if i not in known]
    drawn = random.dirichlet(ALIKE * whole[rest], DRAWS)
    unnamed = np.exp(UNNAMED.spread * random.standard_normal(len(drawn)) - UNNAMED.spread**2 / 2)
    left = 1 - sum(known.values())
    told = sum(share * harsh[i] for i, share in known.items())
    every = np.append(harsh, 1.0)
    own = told + left * (drawn @ every[rest]) * unnamed
    return np.asarray(own / (whole @ every))


@pytest.mark.parametrize("known", [{}, {0: 0.6}, {0: 0.1, 2: 0.0}])
def test_an_untold_mix_has_the_mean_and_spread_of_drawn_shares(known: dict[int, float]) -> None:
    harsh, population = np.array([2.5, 1.4, 0.7]), np.array([0.1, 0.3, 0.2])
    draws = drawn_rates(harsh, population, known, 1)
    z = np.linspace(-8, 8, 4001)
    weight = np.exp(-(z**2) / 2)
    weight /= weight.sum()
    mix = Mix({NAMES[i]: share for i, share in known.items()}, unknown=True)
    rate = mix_rate(mix, NAMES, harsh[None], population, z)[0]
    mean = weight @ rate
    assert mean == pytest.approx(draws.mean(), abs=4 * draws.std() / DRAWS**0.5)
    deviation = np.sqrt(weight @ (rate - mean) ** 2)
    assert deviation == pytest.approx(draws.std(), rel=1e-2)
    # its form is taken as lognormal: the ends of the central 90 % are near those of the draws
    low, high = np.quantile(draws, [0.05, 0.95])
    found = np.interp([0.05, 0.95], np.cumsum(weight), rate)
    assert found == pytest.approx([low, high], abs=0.15 * (high - low))


@given(HARSH, SHARES)
def test_an_untold_mix_ages_as_the_population_on_average_whatever_the_harshness(
    harsh: np.ndarray, population: np.ndarray
) -> None:
    z = np.linspace(-8, 8, 801)
    weight = np.exp(-(z**2) / 2)
    rate = mix_rate(UNKNOWN, NAMES, harsh[None], population, z)[0]
    assert rate @ weight / weight.sum() == pytest.approx(1, abs=1e-9)
    assert rate.max() / rate.min() > 1.5  # it varies, even where no kind is common
    assert np.all(np.diff(rate) > 0)


def test_shares_that_fill_the_whole_leave_nothing_untold() -> None:
    harsh, population = np.array([[2.0, 1.5]]), np.array([0.2, 0.3])
    whole = Mix({"a": 0.4, "b": 0.6}, unknown=True)
    rate = mix_rate(whole, ("a", "b"), harsh, population, np.array([-2.0, 0.0, 2.0]))
    assert rate[0] == pytest.approx(np.full(3, 1.7 / 1.35))


def test_what_is_given_up_becomes_ordinary_where_it_was_known() -> None:
    mix = Mix({"a": 0.3, "b": 0.2})
    assert mix.without(["a"]) == Mix({"b": 0.2})
    part = Mix({"a": 0.3}, unknown=True)
    assert part.without(["a"]) == Mix({"a": 0.0}, True, 0.3)
    assert part.without(["a"]).left == pytest.approx(part.left)
    assert UNKNOWN.without(["a"]).left == 1.0


@given(HARSH, SHARES)
def test_giving_up_the_harshest_kind_never_raises_the_rate(
    harsh: np.ndarray, population: np.ndarray
) -> None:
    harsh = np.maximum(harsh, 1.0)
    worst = NAMES[int(np.argmax(harsh))]
    z = np.linspace(-8, 8, 801)
    weight = np.exp(-(z**2) / 2) / np.exp(-(z**2) / 2).sum()
    for mix in (UNKNOWN, Mix({worst: 0.4}, True), Mix({worst: 0.4, NAMES[0]: 0.1})):
        before, after = (
            mix_rate(each, NAMES, harsh[None], population, z)[0] @ weight
            for each in (mix, mix.without([worst]))
        )
        assert after <= before * (1 + 1e-9)
