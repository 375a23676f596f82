"""Wear rates against the balance of mass solved numerically, and the records people keep."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from riskmodel.oil.mass_balance import (
    rate_interval,
    reading_after,
    wear_rate,
    wear_rates,
)
from riskmodel.records.case import Case
from riskmodel.records.tables import Reading
from tests.oil.made import case_with_oil


def solved(rate: float, carried: float, oil_age: float, top_up_rate: float) -> float:
    """The concentration at the end of the fill, by a numerical solution of dC/dx = r - l C."""
    found = solve_ivp(
        lambda _, c: rate / 1000 - top_up_rate * c,
        (0.0, oil_age),
        [carried],
        rtol=1e-11,
        atol=1e-12,
        method="DOP853",
    )
    return float(found.y[0, -1])


@pytest.mark.parametrize(
    ("rate", "carried", "oil_age", "top_up_rate"),
    [
        (0.4, 0.0, 10_000.0, 0.0),
        (0.4, 3.0, 10_000.0, 0.0),
        (0.4, 3.0, 10_000.0, 2e-5),
        (0.4, 3.0, 10_000.0, 1.2e-4),  # more than a whole sump topped up
        (0.0, 8.0, 10_000.0, 5e-5),  # the old oil alone, thinned
        (30.0, 0.7, 150.0, 5e-4),
    ],
)
def test_agrees_with_the_balance_solved_numerically(
    rate: float, carried: float, oil_age: float, top_up_rate: float
) -> None:
    end = solved(rate, carried, oil_age, top_up_rate)
    assert reading_after(rate, carried, oil_age, top_up_rate) == pytest.approx(end, rel=1e-9)
    assert wear_rate(end, carried, oil_age, top_up_rate) == pytest.approx(rate, abs=1e-8)


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 100), st.floats(0, 50), st.floats(0.1, 1e5), st.floats(0, 3), st.floats(0, 1))
@example(0.0, 0.0, 0.5, 5e-324, 0.0)  # as good as no top-up at all
def test_one_undoes_the_other(
    rate: float, carried: float, oil_age: float, sumps: float, power: float
) -> None:
    top_up_rate = sumps * 10 ** (-9 * power) / oil_age
    end = reading_after(rate, carried, oil_age, top_up_rate)
    slack = 1e-9 * (rate + 1000 * (carried + float(end)) / oil_age) + 1e-200
    assert wear_rate(end, carried, oil_age, top_up_rate) == pytest.approx(rate, abs=slack)


def test_top_up_correction() -> None:
    """x / (1 - e^-x) for a share x of the sump topped up: a closed form worked beforehand."""
    for x, factor in ((0.1, 1.051), (0.2, 1.103), (0.5, 1.271), (1.0, 1.582)):
        lifted = wear_rate(10.0, 0.0, 10_000.0, x / 10_000.0) / wear_rate(10.0, 0.0, 10_000.0)
        assert lifted == pytest.approx(factor, abs=5e-4)


def test_a_leak_clears_as_a_geometric_series() -> None:
    """100 ppm once, nothing after: a tenth of a tenth is left, and no wear is read from it."""
    rows = [f"{10_000 * i},10000,{100 * 0.1**i}" for i in range(1, 6)]
    rows[0] = "10000,10000,100"
    rows[1:] = [f"{10_000 * (i + 2)},10000,{10 * 0.1**i}" for i in range(4)]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.1))
    carried = [s.rates["Pb"].carried for s in found[1:]]
    assert carried == pytest.approx([10, 1, 0.1, 0.01])
    assert [s.rates["Pb"].point for s in found[1:]] == pytest.approx([0, 0, 0, 0], abs=1e-12)


def test_a_steady_engine_reads_its_own_rate() -> None:
    """Each drain leaves a fifth: readings settle at rate o / (1 - f), the rate does not move."""
    readings = [4.0]
    for _ in range(5):
        readings.append(0.2 * readings[-1] + 4.0)
    rows = [f"{10_000 * (i + 1)},10000,{r}" for i, r in enumerate(readings)]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.2))
    assert [s.rates["Pb"].point for s in found[1:]] == pytest.approx([0.4] * 5)
    assert readings[-1] == pytest.approx(4 / 0.8, rel=1e-3)


def only(case: Case, symbol: str = "Pb") -> list[tuple[float, float, float, float]]:
    """(carried, point, low, high) of each sample."""
    rates = [s.rates[symbol] for s in wear_rates(case)]
    return [(r.carried, r.point, r.low, r.high) for r in rates]


def test_the_first_reading_carries_a_share_of_itself() -> None:
    case = case_with_oil(["50000,10000,5"], "reading,oil_age,Pb", carry_over=0.1)
    carried, point, low, high = only(case)[0]
    assert (carried, point) == pytest.approx((0.5, 0.45))
    assert (low, high) == pytest.approx((0.40, 0.50))
    assert not wear_rates(case)[0].rates["Pb"].carried_known


def test_less_than() -> None:
    rows = ["50000,10000,<4", "60000,10000,<2"]
    first, second = only(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.1))
    assert first == pytest.approx((0.2, 0.18, 0.0, 0.38))
    assert second == pytest.approx((0.2, 0.08, 0.0, 0.18))


def test_resolution_and_rounding_down_to_nothing() -> None:
    rows = ["50000,10000,0", "60000,10000,10"]
    found = only(case_with_oil(rows, "reading,oil_age,Pb", resolution=2))
    assert found[0] == pytest.approx((0.0, 0.0, 0.0, 0.1))
    assert found[1] == pytest.approx((0.0, 1.0, 0.9, 1.1))


def test_a_clean_retest_after_a_surge_is_not_impossible() -> None:
    """30 ppm leaves 3 ppm behind; a retest that reads 1 lies below that: the point is negative,
    the interval what half a ppm above the carry-over could be."""
    rows = ["50000,10000,30", "60000,10000,1"]
    carried, point, low, high = only(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.1))[1]
    assert carried == pytest.approx(3.0)
    assert point == pytest.approx(-0.2)
    assert (low, high) == pytest.approx((0.0, 0.05))


def test_the_lift_counts_the_top_up() -> None:
    low, high = rate_interval(Reading(1.0), 3.0, 10_000.0, 5e-5, 1.0)
    left = 3.0 * math.exp(-0.5)
    assert low == 0.0
    assert solved(high, 3.0, 10_000.0, 5e-5) == pytest.approx(left + 0.5, rel=1e-9)


def test_a_second_sample_of_the_same_oil_has_the_same_start() -> None:
    rows = ["50000,10000,10", "55000,5000,3", "60000,10000,6", "70000,10000,5"]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.1))
    assert [s.same_oil for s in found] == [False, False, True, False]
    assert [s.rates["Pb"].carried for s in found] == pytest.approx([1.0, 1.0, 1.0, 0.6])
    assert [s.rates["Pb"].point for s in found[1:]] == pytest.approx([0.4, 0.5, 0.44])


def test_two_bottles_of_one_drain_are_of_the_same_oil() -> None:
    rows = ["50000,10000,10", "60000,10000,5", "60000,10000,6", "70000,10000,5"]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.1))
    assert [s.same_oil for s in found] == [False, False, True, False]
    assert [s.rates["Pb"].carried for s in found[2:]] == pytest.approx([1.0, 0.6])


def test_roughly_written_oil_ages_are_still_two_fills() -> None:
    """Drained at 50,000 by the sample, at 49,800 by the next one's oil age."""
    rows = ["50000,10000,10", "60000,10200,5"]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.1))
    assert not found[1].same_oil
    assert found[1].rates["Pb"].carried == pytest.approx(1.0)


def test_a_drain_without_a_sample_leaves_the_last_reading() -> None:
    """Sampled at 50,000; drained unsampled at 60,000; sampled at 70,000."""
    rows = ["50000,10000,10", "70000,10000,5"]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb", carry_over=0.1))
    assert found[1].rates["Pb"].carried == pytest.approx(1.0)


def test_an_element_not_measured_takes_its_last_reading() -> None:
    rows = ["50000,10000,10,4", "60000,10000,,4", "70000,10000,5,4"]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb,Cu", carry_over=0.1))
    assert "Pb" not in found[1].rates
    assert found[2].rates["Pb"].carried == pytest.approx(1.0)


def test_age_or_meter() -> None:
    by_meter = case_with_oil(["80000,10000,5"], "reading,oil_age,Pb", fitted_at=30_000)
    by_age = case_with_oil(["50000,10000,5"], "age,oil_age,Pb", fitted_at=30_000)
    assert wear_rates(by_meter)[0].age == wear_rates(by_age)[0].age == 50_000


def test_the_break_in_is_not_used() -> None:
    """3,000 of break-in: what was drawn within it, or later from oil mostly used within it."""
    rows = [f"{at},{o},5" for at, o in ((42_000, 2_000), (46_000, 6_000), (52_000, 6_000))]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,Pb", fitted_at=40_000, break_in=3_000))
    assert [s.why_not for s in found] == ["break_in", "break_in", ""]
    assert [s.used for s in found] == [False, False, True]
    for rows, break_in in ((["50000,10000,5"], 3_000), (["50000,10000,5"], 0)):
        case = case_with_oil(rows, "reading,oil_age,Pb", fitted_at=40_000, break_in=break_in)
        assert wear_rates(case)[0].used


def test_a_change_of_laboratory_is_noted() -> None:
    rows = ["50000,10000,A,5", "60000,10000,A,5", "70000,10000,B,5"]
    found = wear_rates(case_with_oil(rows, "reading,oil_age,lab,Pb"))
    assert [s.new_lab for s in found] == [False, False, True]


def test_no_samples() -> None:
    assert wear_rates(case_with_oil(None)) == ()


def test_many_at_once() -> None:
    rates = wear_rate(np.array([5.0, 6.0]), 0.5, np.array([[10_000.0], [5_000.0]]), 0.0)
    assert rates == pytest.approx(np.array([[0.45, 0.55], [0.9, 1.1]]))
