"""The analyst's alarm, against closed forms, tables of Student's t, integration and simulation."""

from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import stdtr

from riskmodel.oil.alarm import alarm, alarms, shed, tail_of
from riskmodel.records.case import Element
from riskmodel.records.quantity import Quantity, exactly

LEAD = Element("Pb", Quantity(0.15, 0.90), 1.30, Quantity(4, 20), 0.8, True)
COPPER = Element("Cu", Quantity(0.25, 1.20), 1.30, Quantity(2, 10), 0.3, True)
TIN = Element("Sn", Quantity(0.06, 0.35), 1.35, Quantity(2, 8), 0.6, True)
IRON = Element("Fe", Quantity(0.80, 3.00), 1.25, Quantity(3, 20), 0.5, False)
INTERVAL = 10_000.0


def test_one_element_is_students_t():
    z = np.concatenate([np.linspace(-40, 40, 4001), [-1e4, -200.0, 63.9, 64.1, 200.0, 1e4]])
    np.testing.assert_allclose(tail_of((1.0,)).above(z), stats.t.sf(z, 4), rtol=0, atol=5e-9)


@pytest.mark.parametrize(
    ("chance", "limit"),
    [(0.1, 1.533), (0.05, 2.132), (0.025, 2.776), (0.01, 3.747), (0.001, 7.173)],
)
def test_limits_of_one_element_are_those_of_the_printed_table(chance, limit):
    # Percentage points of Student's t, 4 degrees of freedom, as every statistical table prints
    # them (from memory; scipy agrees).
    found = tail_of((1.0,)).limit(chance)
    assert found == pytest.approx(limit, abs=6e-4)
    assert found == pytest.approx(stats.t.isf(chance, 4), abs=1e-6)


@pytest.mark.parametrize("weights", [(0.6, 0.8), (np.sqrt(0.5), np.sqrt(0.5)), (0.995, 0.09987)])
def test_two_elements_against_integration(weights):
    one, other = weights
    tail = tail_of(weights)
    for z in (-3.0, 0.1, 1.0, 2.5, 4.0, 8.0, 20.0, 60.0):

        def joint(x, z=z):
            return 0.375 * (1 + x * x / 4) ** -2.5 * stdtr(4, (one * x - z) / other)

        cuts = np.unique(
            [-1e4, -100, -5, 0, 5, 100, 1e4, *(z / one + other * np.array([-9, 0, 9]))]
        )
        exact = sum(
            integrate.quad(joint, a, b, epsabs=1e-13, limit=200)[0] for a, b in pairwise(cuts)
        )
        assert float(tail.above(z)) == pytest.approx(exact, abs=1e-8)


@pytest.mark.parametrize(
    "weights", [(1.0,), (0.72, 0.62, 0.31), (0.999999, 0.0014), tuple([0.2] * 25), (0.8, -0.6)]
)
def test_the_tail_falls_all_the_way_and_is_symmetric(weights):
    tail = tail_of(weights)
    z = np.linspace(-150, 150, 60_001)
    above = tail.above(z)
    assert (np.diff(above) < 0).all()
    np.testing.assert_allclose(above + tail.above(-z), 1, rtol=0, atol=1e-14)
    assert float(tail.above(0.0)) == 0.5
    assert float(tail.above(1e12)) < 1e-40


@pytest.mark.parametrize("chance", [1e-12, 1e-7, 1e-4, 0.02, 0.3, 0.5, 0.7, 0.999])
def test_a_limit_is_passed_with_the_chance_it_was_set_for(chance):
    tail = tail_of((0.72, 0.62, 0.31))
    assert float(tail.above(tail.limit(chance))) == pytest.approx(chance, rel=1e-9)


def test_never_and_always():
    never = alarm([LEAD, COPPER], INTERVAL, {}, 0.0)
    always = alarm([LEAD, COPPER], INTERVAL, {}, 1.0)
    shifts = np.log([[1.0, 1.0], [20.0, 10.0]])
    assert never.chance(shifts).tolist() == [0, 0]
    assert always.chance(shifts).tolist() == [1, 1]
    with pytest.raises(ValueError, match="between 0 and 1, not"):
        tail_of((1.0,)).limit(1.5)


@pytest.mark.parametrize("false_alarm", [0.001, 0.02, 0.1])
@pytest.mark.parametrize("samples", [0, 1, 10])
def test_without_distress_it_alarms_as_often_as_asked(false_alarm, samples):
    used = dict.fromkeys(("Pb", "Cu", "Sn"), samples)
    ring = alarm([LEAD, COPPER, TIN], INTERVAL, used, false_alarm)
    assert float(ring.chance(np.zeros(3))) == pytest.approx(false_alarm, rel=1e-9)


def test_one_element_in_closed_form():
    ring = alarm([LEAD], INTERVAL, {"Pb": 8}, 0.02)
    # By hand: usual concentration sqrt(0.15 x 0.90) x 10 ppm, between-engine spread ln(6) / 3.29.
    within = np.log(1.3) ** 2
    between = (np.log(6) / (2 * 1.6448536269514722)) ** 2
    scale = np.sqrt(
        within + (0.8 / (10 * np.sqrt(0.135))) ** 2 + between * within / (within + 8 * between)
    )
    assert ring.scale == pytest.approx([scale], rel=1e-12)
    assert ring.weight == pytest.approx([1.0], rel=1e-15)
    lift = np.log([1.0, 1.5, 3.0, 8.0])
    expected = stats.t.sf(stats.t.isf(0.02, 4) - lift / scale, 4)
    np.testing.assert_allclose(ring.chance(lift[:, None]), expected, rtol=0, atol=1e-8)


def test_weights_follow_the_signal_to_noise_of_each_element():
    ring = alarm([LEAD, COPPER, TIN], INTERVAL, {"Pb": 3, "Cu": 3, "Sn": 2}, 0.02)
    pull = np.log([np.sqrt(80), np.sqrt(20), 4]) / ring.scale
    np.testing.assert_allclose(ring.weight, pull / np.sqrt((pull**2).sum()), rtol=1e-12)
    assert (ring.weight**2).sum() == pytest.approx(1)
    # No other weights of the same length shift the score further at the median rise.
    rises = np.log([np.sqrt(80), np.sqrt(20), 4])
    best = rises @ ring.slope
    for other in np.random.default_rng(4).normal(size=(200, 3)):
        assert rises @ (other / np.linalg.norm(other) / ring.scale) <= best


def test_chance_against_simulated_samples():
    ring = alarm([LEAD, COPPER, TIN], INTERVAL, {"Pb": 10, "Cu": 10, "Sn": 9}, 0.02)
    noise = np.random.default_rng(20).standard_t(4, size=(400_000, 3))
    for means in ([1, 1, 1], [1.5, 1.2, 1.1], [3, 2, 2], [9, 4, 4]):
        # readings, scored as the analyst would
        excess = np.log(means) + ring.scale * noise
        score = (ring.weight * excess / ring.scale).sum(axis=1)
        simulated = (score > ring.limit).mean()
        chance = float(ring.chance(np.log(means)))
        assert abs(simulated - chance) < 4 * np.sqrt(chance * (1 - chance) / len(noise))


def test_any_shape_of_shifts():
    ring = alarm([LEAD, COPPER, TIN], INTERVAL, {}, 0.02)
    shifts = np.random.default_rng(1).random((4, 5, 3))
    found = ring.chance(shifts)
    assert found.shape == (4, 5)
    assert found[2, 3] == pytest.approx(float(ring.chance(shifts[2, 3])))


def test_knowing_the_engines_level_sharpens_the_alarm():
    lift = np.log([3.0, 2.0, 2.0])
    chances = [
        float(ring.chance(lift)) for ring in alarms([LEAD, COPPER, TIN], INTERVAL, {}, 0.02, 8)
    ]
    assert (np.diff(chances) > 0).all()
    known = [
        Element(e.symbol, exactly(e.typical.median), e.scatter, e.rise, e.noise, True)
        for e in (LEAD, COPPER, TIN)
    ]
    settled = float(alarm(known, INTERVAL, {}, 0.02).chance(lift))
    many = dict.fromkeys(("Pb", "Cu", "Sn"), 1e9)
    assert float(alarm([LEAD, COPPER, TIN], INTERVAL, many, 0.02).chance(lift)) == pytest.approx(
        settled
    )
    assert settled > chances[-1]


def test_later_services_count_those_before_them():
    used = {"Pb": 4, "Cu": 4, "Sn": 3}
    rings = alarms([LEAD, COPPER, TIN, IRON], INTERVAL, used, 0.02, 3)
    then = alarm([LEAD, COPPER, TIN], INTERVAL, {"Pb": 6, "Cu": 6, "Sn": 5}, 0.02)
    assert len(rings) == 3
    np.testing.assert_allclose(rings[2].scale, then.scale)
    assert rings[2].limit == then.limit


def test_a_shorter_interval_reads_noisier():
    lift = np.log([3.0, 2.0, 2.0])
    short, long = (alarm([LEAD, COPPER, TIN], i, {}, 0.02) for i in (2_500.0, 10_000.0))
    assert (short.scale > long.scale).all()
    assert float(short.chance(lift)) < float(long.chance(lift))


def test_elements_of_other_parts_are_no_evidence():
    assert [e.symbol for e in shed([IRON, LEAD, COPPER])] == ["Pb", "Cu"]
    ring = alarm([IRON, LEAD, COPPER], INTERVAL, {"Fe": 9}, 0.02)
    assert ring.symbols == ("Pb", "Cu")
    assert ring.limit == alarm([LEAD, COPPER], INTERVAL, {}, 0.02).limit


@pytest.mark.parametrize(
    ("elements", "interval", "used", "message"),
    [
        ([IRON], INTERVAL, {}, "at least one element"),
        ([LEAD], 0.0, {}, "interval must be above 0, not 0"),
        ([LEAD], INTERVAL, {"Pb": -1}, "can't be below 0"),
        (
            [Element("Pb", Quantity(1, 2), 1.3, exactly(1.0), 0.0, True)],
            INTERVAL,
            {},
            "no element rises",
        ),
        (
            [Element("Pb", exactly(1.0), 1.0, exactly(3.0), 0.0, True)],
            INTERVAL,
            {},
            "scatter must be",
        ),
    ],
)
def test_what_makes_no_alarm_is_refused(elements, interval, used, message):
    with pytest.raises(ValueError, match=message):
        alarm(elements, interval, used, 0.02)
