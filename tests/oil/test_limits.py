"""Limits drawn for people, against closed forms, known sample sizes and simulation."""

import numpy as np
import pytest

from riskmodel.oil.limits import (
    above,
    deviations_for,
    false_alarm_chance,
    fleet_limits,
    own_limit,
    own_limits,
)
from riskmodel.oil.mass_balance import wear_rates
from tests.oil.made import case_with_oil


@pytest.mark.parametrize(
    ("samples", "two", "three", "k_2_5", "k_1"),
    [
        (3, 11.3, 6.1, 4.97, 8.04),
        (5, 7.1, 2.6, 3.04, 4.10),
        (8, 5.1, 1.3, 2.51, 3.18),
        (10, 4.4, 0.9, 2.37, 2.96),
        (20, 3.3, 0.4, 2.14, 2.60),
        (30, 2.9, 0.3, 2.08, 2.50),
    ],
)
def test_false_alarms_of_mean_plus_k_deviations(samples, two, three, k_2_5, k_1):
    # Worked beforehand with tables of Student's t: P(t_{n-1} > k / sqrt(1 + 1/n)).
    assert 100 * false_alarm_chance([2, 3], samples) == pytest.approx([two, three], abs=0.05)
    assert deviations_for([0.025, 0.01], samples) == pytest.approx([k_2_5, k_1], abs=0.005)


def test_with_many_samples_they_are_those_of_the_normal():
    assert false_alarm_chance([2, 3], 1e7) == pytest.approx([0.022750, 0.0013499], rel=1e-4)
    assert deviations_for(false_alarm_chance(2.7, 6), 6) == pytest.approx(2.7)


def test_a_limit_of_ones_own_by_hand():
    rates = np.array([0.4, 0.5, 0.6, 0.5])
    found = own_limit(rates, false_alarm=0.05)
    log = np.log(rates)
    # t_3 at 5 %: 2.3534 (printed tables)
    limit = np.exp(log.mean() + 2.3534 * np.sqrt(1.25) * log.std(ddof=1))
    assert found.limit == pytest.approx(limit, rel=1e-5)
    assert found.level == pytest.approx(np.exp(log.mean()))
    assert found.scatter == pytest.approx(np.exp(log.std(ddof=1)))
    assert (found.samples, found.above, found.false_alarm) == (4, (), 0.05)
    # each against the other three; t_2 at 5 %: 2.9200
    others = log[1:]
    first = np.exp(others.mean() + 2.9200 * np.sqrt(4 / 3) * others.std(ddof=1))
    assert found.against[0] == pytest.approx(first, rel=1e-4)


@pytest.mark.parametrize("samples", [4, 6, 12])
def test_a_steady_engine_passes_its_limit_as_seldom_as_asked(samples):
    rates = np.exp(np.random.default_rng(samples).normal(0.3, 0.4, (1_500, samples)))
    found = [own_limit(row, false_alarm=0.05) for row in rates]
    share = np.mean([len(limit.above) for limit in found]) / samples
    next_ones = np.exp(np.random.default_rng(1).normal(0.3, 0.4, 1_500))
    passed = np.mean([one > limit.limit for one, limit in zip(next_ones, found, strict=True)])
    assert share == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 1_500))
    assert passed == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 1_500))


def test_a_surge_does_not_raise_the_limit_it_is_held_against():
    found = own_limit([0.5, 0.45, 0.55, 0.5, 0.52, 3.0], false_alarm=0.02)
    assert found.above == (5,)
    assert found.against[5] < 1.0 < found.limit


def test_unused_and_missing_samples():
    rates = [9.0, 0.5, np.nan, 0.55, 0.45, 0.5]
    used = [False, True, True, True, True, True]
    found = own_limit(rates, used, 0.02)
    assert found.samples == 4
    assert found.above == (0,)
    assert np.isnan(found.against[2])
    assert own_limit([0.5, 0.6], None, 0.02) is None
    assert own_limit([0.5, 0.6, np.nan], None, 0.02) is None
    few = own_limit([0.5, 0.6, 0.7], None, 0.02)
    assert np.isnan(few.against).all()


def test_equal_readings_still_scatter_by_their_rounding():
    flat = own_limit([0.3] * 6, None, 0.02)
    assert flat.limit == pytest.approx(0.3)
    rounded = own_limit([0.3] * 6, None, 0.02, least_spread=0.1)
    assert rounded.limit == pytest.approx(0.3 * np.exp(0.1 * deviations_for(0.02, 6)))


def test_what_can_not_be_a_rate_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        own_limit([0.5, 0.0, 0.4], None, 0.02)
    with pytest.raises(ValueError, match="between 0 and 1, not 1"):
        own_limit([0.5, 0.3, 0.4], None, 1.0)
    with pytest.raises(ValueError, match="above 0"):
        fleet_limits([0.5, -0.1, 0.4], ["a", "b", "c"])
    with pytest.raises(ValueError, match="3 rates but 2 engines"):
        fleet_limits([0.5, 0.1, 0.4], ["a", "b"])
    with pytest.raises(ValueError, match="at least 3 samples, not 2"):
        fleet_limits([0.5, 0.1], ["a", "b"])


def test_the_limits_of_a_case():
    case = case_with_oil(
        ["60000,10000,3,5", "70000,10000,4,4", "80000,10000,3,5", "90000,10000,4,6",
         "99000,9000,30,<1"]
    )  # fmt: skip
    found = own_limits(wear_rates(case), 0.02)
    assert list(found) == ["Pb", "Cu"]
    assert found["Pb"].above == (4,)
    assert found["Cu"].above == ()
    # Readings of about 4, rounded to 1: a scatter of 1 / (4 sqrt(12)) at the least.
    assert np.log(found["Cu"].scatter) > 1 / (6 * np.sqrt(12))
    assert own_limits((), 0.02) == {}


@pytest.mark.parametrize(
    ("fraction", "samples"), [(0, 29), (1, 59), (2, 149)]
)  # of FRACTIONS: 0.90, 0.95, 0.98
def test_samples_needed_for_a_percentile_with_confidence(fraction, samples):
    """Wilks 1941: with 95 % confidence the largest of n lies above the p-th percentile from
    n = ln 0.05 / ln p on: 29, 59 (the well known one) and 149."""
    rates = np.exp(np.random.default_rng(2).normal(size=samples))
    names = [str(i) for i in range(samples)]
    assert fleet_limits(rates, names).percentile[fraction].at_most == rates.max()
    assert fleet_limits(rates[1:], names[1:]).percentile[fraction].at_most is None


def test_percentages_of_the_sorted_samples():
    found = fleet_limits(np.arange(1.0, 100), [str(i) for i in range(99)])
    assert [p.fraction for p in found.percentile] == [0.90, 0.95, 0.98]
    assert [p.limit for p in found.percentile] == pytest.approx([90, 95, 98])
    few = fleet_limits(np.arange(1.0, 11), ["a", "b"] * 5)
    assert [p.limit is None for p in few.percentile] == [False, True, True]
    assert (few.samples, few.engines) == (10, 2)


def test_the_confidence_limit_lies_above_the_true_percentile():
    draw = np.random.default_rng(11)
    names = [str(i) for i in range(80)]
    held = np.mean(
        [fleet_limits(np.exp(draw.normal(size=80)), names).percentile[0].at_most
         > np.exp(1.2815515655446004) for _ in range(500)]
    )  # fmt: skip
    # exactly: P(Binomial(80, 0.9) <= 76) = 0.9647 for the 77th of 80
    assert held == pytest.approx(0.9647, abs=4 * np.sqrt(0.9647 * 0.0353 / 500))


def test_control_limits_only_for_many_samples_that_look_normal():
    draw = np.random.default_rng(5)
    names = [str(i) for i in range(60)]
    normal = np.exp(draw.normal(0.2, 0.3, 60))
    found = fleet_limits(normal, names)
    assert found.parametric
    log = np.log(normal)
    assert found.control[1].limit == pytest.approx(np.exp(log.mean() + 3 * log.std(ddof=1)))
    assert found.control[0].false_alarm == pytest.approx(float(false_alarm_chance(2, 60)))
    assert not fleet_limits(normal[:29], names[:29]).parametric
    two_kinds = np.concatenate([normal[:30], 20 * normal[30:]])
    assert not fleet_limits(two_kinds, names).parametric
    flat = fleet_limits([0.5] * 40, names[:40])
    assert flat.looks_normal is None
    assert not flat.parametric


def test_skewed_samples_would_alarm_too_often_on_the_plain_scale():
    """Why the log scale: mean + 3 sd of a lognormal is passed by 1.0, 1.5 and 1.9 in 100 at a
    coefficient of variation of 0.3, 0.5 and 1.0, not by 0.13 (closed form)."""
    from scipy.special import ndtr

    for cv, percent in ((0.3, 1.0), (0.5, 1.5), (1.0, 1.9)):
        spread = np.sqrt(np.log(1 + cv**2))
        mean = np.exp(spread**2 / 2)
        assert 100 * ndtr(-np.log(mean * (1 + 3 * cv)) / spread) == pytest.approx(percent, abs=0.06)


def test_which_lie_above():
    assert above([0.2, np.nan, 0.9, 0.5], 0.4) == (2, 3)
    assert above([0.2, 0.9], None) == ()
