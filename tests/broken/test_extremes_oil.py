"""Oil, use and chances at figures far from any engine's: numbers, or a refusal in words."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.life.posterior import Curves
from riskmodel.oil.alarm import alarm, alarms
from riskmodel.oil.history import history
from riskmodel.oil.limits import own_limit
from riskmodel.oil.mass_balance import rate_interval, reading_after, wear_rate
from riskmodel.oil.retest import retest_alarm
from riskmodel.oil.rise import distress, log_fill_mean
from riskmodel.oil.seen import caught
from riskmodel.oil.shared import widened
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import Reading
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.life_curves import life_curves
from riskmodel.risk.with_oil import chance_with_oil
from riskmodel.use.effective_age import joined_use
from riskmodel.use.mix import UNKNOWN, Mix, ageing_rate
from tests.oil.made import case_with_oil, element

QUICK = settings(max_examples=150, deadline=None)
PPM = st.sampled_from([0.0, 1e-6, 1.0, 1e6]) | st.floats(0, 1e6)
USAGE = st.sampled_from([1e-3, 1.0, 1e9]) | st.floats(1e-3, 1e9)


@QUICK
@given(PPM, PPM, USAGE, st.sampled_from([0.0, 1e-15, 1e-3, 1.0]))
def test_rates_are_numbers_and_undo_their_readings(
    reading: float, carried: float, age: float, top_up: float
) -> None:
    rate = float(wear_rate(reading, carried, age, top_up))
    assert math.isfinite(rate)
    back = float(reading_after(rate, carried, age, top_up))
    assert back == pytest.approx(reading, rel=1e-6, abs=1e-6 * (1 + carried))
    for below in (False, True):
        if reading == 0 and below:
            continue
        low, high = rate_interval(Reading(reading, below), carried, age, top_up, 1.0)
        assert 0 <= low <= high < math.inf
        assert high > 0


@QUICK
@given(
    st.floats(0, 1e9), st.floats(0, 1e9), st.floats(0, 1e9), USAGE,
    st.sampled_from([0.0, 1e-12, 1.0, math.log(1e3)]), st.sampled_from([0.0, 1e-9, 1e-3]),
)  # fmt: skip
def test_a_fills_rise_lies_between_none_and_the_whole(
    onset: float, lead: float, at: float, age: float, log_rise: float, top_up: float
) -> None:
    failure = onset + lead
    assert 0 <= float(distress(at, onset, failure)) <= 1
    found = float(log_fill_mean(onset, failure, at, age, log_rise, top_up))
    slack = 1e-9 + 1e-14 * at / age  # of a fill that is a millionth of the age
    assert -slack <= found <= log_rise + slack


@settings(QUICK, max_examples=60)
@given(
    st.sampled_from([1.0001, 1.3, 20.0]), st.sampled_from([1.0001, 4.0, 1e3]),
    st.sampled_from([0.0, 1.0, 1e6]), st.sampled_from([1e-3, 1e4, 1e9]),
    st.sampled_from([1e-9, 0.02, 0.999]), st.sampled_from([0, 1, 10**6]),
    st.sampled_from([0.0, 0.5, 1.0]),
)  # fmt: skip
def test_alarms_are_chances_and_a_higher_rate_never_alarms_less(
    scatter: float, rise: float, noise: float, interval: float, false: float, used: int,
    shared: float,
) -> None:  # fmt: skip
    elements = case_with_oil(
        None,
        elements=[
            element("Pb", scatter=scatter, rise=rise, noise=noise),
            element("Cu", scatter=1.2, rise=3.0),
        ],
    ).oil.element
    seen = {"Pb": float(used), "Cu": float(used)}
    for ring in (
        alarm(elements, interval, seen, false, shared),
        retest_alarm(elements, interval, 1.0, seen, false, shared),
    ):
        lifted = np.array([[0.0, 0.0], [0.5, 0.5], [5.0, 5.0], [50.0, 50.0]])
        chances = np.asarray(ring.chance(lifted))
        assert np.isfinite(chances).all()
        assert ((chances >= 0) & (chances <= 1)).all()
        assert (np.diff(chances) >= -1e-7).all()
        assert chances[0] == pytest.approx(false, abs=2e-6)
    assert len(alarms(elements, interval, seen, false, 3, shared)) == 3
    by = widened(np.log([scatter, 1.2]), np.full((2, 2), 0.4), np.log([rise, 3.0]), shared)
    assert (by >= 1).all()
    assert np.isfinite(by).all()


@pytest.mark.parametrize("lead", [1e-3, 5e3, 1e9])
@pytest.mark.parametrize("interval", [1.0, 1e4, 1e8])
def test_the_share_caught_is_a_share(lead: float, interval: float) -> None:
    elements = case_with_oil(None, elements=[element("Pb")]).oil.element
    ring = alarm(elements, interval, {}, 0.02)
    for of in (exactly(lead), Quantity(lead, 3 * lead)):
        found = caught(of, elements, ring, interval, min(500.0, interval / 2), 0.8)
        assert 0 <= found <= 1


ROWS = {
    "nothing ever": ["60000,10000,0,0", "70000,10000,0,0"],
    "less than": ["60000,10000,<1,<1"],
    "a million ppm": ["60000,10000,1000000,1000000"],
    "an instant of oil": ["60000,0.001,5,5"],
    "oil as old as the part": ["60000,60000,5,5"],
    "all at one reading": ["60000,10000,3,4"] * 6,
    "forty": [f"{30000 + 1000 * i},1000,{i % 4},{i % 3}" for i in range(40)],
}


@pytest.mark.parametrize("name", ROWS)
@pytest.mark.parametrize("lead", [[1_000.0, 6_000.0], [900_000.0, 9e6], [2.0, 1e6]])
@pytest.mark.parametrize("silent", [0.0, 1.0, 0.3])
def test_samples_give_a_factor_and_chances(name: str, lead: object, silent: float) -> None:
    case = case_with_oil(
        ROWS[name],
        warning={"lead": lead, "silent": silent, "lead_factor": [0.5, 2.0]},
        life={"b50_prior": [60_000, 400_000]},
    )
    found = history(case)
    assert found is not None
    ages = np.array([100_001.0, 120_000.0, 1e9])
    factor = found.factor(ages)
    assert np.isfinite(factor).all()
    assert (factor >= 0).all()
    if silent == 1:
        assert factor == pytest.approx(1.0)
    told = chance_with_oil(case, life_curves(case), [0.0, 1e-3, 1e4, 1e5, 1e8]).with_oil
    for values in (told.value, told.low, told.high):
        assert np.isfinite(values).all()
        assert ((values >= 0) & (values <= 1 + 1e-12)).all()
    assert (np.diff(told.value) >= -1e-9).all()
    assert (told.low <= told.high + 1e-12).all()


@pytest.mark.parametrize("rates", [[1e-9, 1e-9, 1e-9], [1e9, 1.0, 1e-9], [1.0] * 3, [math.nan] * 4])
def test_limits_of_odd_rates(rates: list[float]) -> None:
    found = own_limit(rates)
    assert found is None or found.limit >= found.level > 0


@QUICK
@given(
    st.lists(st.floats(0, 1), min_size=2, max_size=2), st.floats(1e-3, 1e3), st.floats(1e-3, 1e3),
    st.floats(0, 1),
)  # fmt: skip
def test_any_mix_ages_a_part_at_a_positive_rate(
    shares: list[float], one: float, other: float, usual: float
) -> None:
    whole = max(sum(shares), 1.0)
    found = float(ageing_rate([s / whole for s in shares], [one, other], [usual / 2, usual / 2]))
    assert 0 < found < math.inf


@pytest.mark.parametrize("age", [1e-6, 1e9])
def test_use_of_an_instant_and_of_ages(age: float) -> None:
    for mix in (UNKNOWN, Mix()):
        use = joined_use((), [0.0, age], [mix], mix, 0.0)
        assert np.isfinite(use.age).all()
        assert (use.ahead > 0).all()
        assert float(use.weight @ use.age) == pytest.approx(age, rel=0.02)


@QUICK
@given(
    st.floats(0.1, 50), st.floats(1e-3, 1e9), st.floats(0, 1e9), st.lists(USAGE, min_size=2),
)  # fmt: skip
def test_chances_ahead_of_any_curve(
    shape: float, scale: float, age: float, ahead: list[float]
) -> None:
    curves = Curves(np.array([shape, shape * 2]), np.full(2, scale), np.array([0.3, 0.7]))
    value, low, high = chance_ahead(curves, age, np.sort(ahead))
    assert ((value >= 0) & (value <= 1)).all()
    assert (np.diff(value) >= 0).all()
    assert (low <= high).all()
