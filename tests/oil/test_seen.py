"""What samples would show, against closed forms, published rules and simulated lives."""

from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate
from scipy.special import ndtr

from riskmodel.oil.alarm import alarm, alarms
from riskmodel.oil.history import history
from riskmodel.oil.seen import (
    caught,
    detection,
    foresight,
    less_warning_than,
    onsets,
    rise_points,
)
from riskmodel.records.case import Element
from riskmodel.records.quantity import Z90, Quantity, exactly
from tests.oil.made import case_with_oil

PB = Element("Pb", Quantity(0.15, 0.90), 1.30, Quantity(4, 20), 0.8, True)
CU = Element("Cu", Quantity(0.25, 1.20), 1.30, Quantity(2, 10), 0.3, True)
FE = Element("Fe", Quantity(0.80, 3.00), 1.25, Quantity(3, 20), 0.5, False)
LEAD = Quantity(4_000, 30_000)
INTERVAL = 10_000.0
USED = {"Pb": 10.0, "Cu": 10.0}
CERTAIN = alarm([PB], INTERVAL, {}, 1.0)
"""Alarms at every sample, so that distress is seen at the first service after its onset."""


def lead_below(usage, lead=LEAD, factor=1.0):
    """P(H < usage) of the lognormal, written out."""
    middle = np.log(lead.low * lead.high) / 2 + np.log(factor)
    spread = np.log(lead.high / lead.low) / (2 * Z90)
    return ndtr((np.log(usage) - middle) / spread)


# --- the quadrature over the lead -----------------------------------------------------


def test_onsets_share_out_the_lead_between_the_breaks():
    failure, breaks = np.array([90_000.0, 100_400.0, 131_000.0]), np.array([100_000.0, 110_000.0])
    found = onsets(failure, breaks, LEAD, 1.5)
    for i, age in enumerate(failure):
        mine = found.row == i
        # leads beyond six standard deviations are left out: two in a thousand million
        assert found.weight[mine].sum() == pytest.approx(1, abs=2e-9)
        for mark in breaks[breaks < age]:
            before = found.weight[mine & (found.onset < mark)].sum()
            assert before == pytest.approx(1 - lead_below(age - mark, factor=1.5), abs=2e-9)
    # And the mean of min(H, T): the limited expected value of a lognormal, in closed form.
    middle, spread = np.log(1.5 * np.sqrt(1.2e8)), np.log(7.5) / (2 * Z90)
    z = (np.log(failure) - middle) / spread
    limited = np.exp(middle + spread**2 / 2) * ndtr(z - spread) + failure * ndtr(-z)
    mean = np.bincount(found.row, found.weight * (failure[found.row] - found.onset))
    np.testing.assert_allclose(mean, limited, rtol=1e-6)


def test_distress_longer_than_the_life_has_been_there_from_the_start():
    found = onsets([9_000.0], [], LEAD)
    assert found.weight[found.onset == 0].sum() == pytest.approx(1 - lead_below(9_000), abs=1e-12)


def test_the_rise_is_averaged_over():
    z, weight = rise_points([PB, FE, CU], 7)
    for power, moment in ((0, 1), (2, 1), (4, 3), (6, 15)):  # of the normal
        assert weight @ z**power == pytest.approx(moment)
    exact = Element("Pb", Quantity(1, 2), 1.3, exactly(9.0), 0.0, True)
    assert [v.tolist() for v in rise_points([exact, FE])] == [[0], [1]]


# --- detection ------------------------------------------------------------------------


def test_a_certain_alarm_sees_it_at_the_first_service_after_onset():
    services = 50_000 + INTERVAL * np.arange(4)
    failure = np.linspace(41_000, 99_000, 59)
    seen = detection(failure, services, INTERVAL, LEAD, [PB], CERTAIN, 1.0)
    gap = np.maximum(failure[:, None] - services, 0)
    longer = np.where(gap > 0, 1 - lead_below(np.where(gap > 0, gap, 1.0)), 0.0)
    expected = np.where(gap > 0, np.diff(longer, axis=1, prepend=0.0), 0.0)
    np.testing.assert_allclose(seen.first, expected, rtol=0, atol=1e-12)
    np.testing.assert_allclose(seen.mass, 1, rtol=1e-12)


def test_an_investigation_that_may_miss_gets_another_chance_at_the_next_service():
    services = np.array([50_000.0, 60_000.0, 70_000.0])
    seen = detection([75_000.0], services, INTERVAL, exactly(18_000.0), [PB], CERTAIN, 0.8)
    np.testing.assert_allclose(seen.first, [[0, 0.8, 0.16]], atol=1e-14)
    np.testing.assert_allclose(seen.alarms, [[1, 1, 0.2]], atol=1e-14)
    late = detection([60_000.0], services, INTERVAL, exactly(18_000.0), [PB], CERTAIN, 0.8)
    np.testing.assert_allclose(late.first, [[0.8, 0, 0]], atol=1e-14)  # no service at failure


def test_silent_parts_only_raise_false_alarms():
    services = 50_000 + INTERVAL * np.arange(3)
    rings = alarms([PB, CU], INTERVAL, USED, 0.03, 3)
    seen = detection([66_000.0, 90_000.0], services, INTERVAL, LEAD, [PB, CU], rings, 0.8)
    mixed = seen.mixed(0.25)
    np.testing.assert_allclose(mixed.first, 0.75 * seen.first)
    np.testing.assert_allclose(mixed.alarms, 0.75 * seen.alarms + 0.25 * seen.unheard)
    np.testing.assert_allclose(seen.unheard, [[0.03, 0.03, 0], [0.03, 0.03, 0.03]], atol=1e-12)
    silent = seen.mixed(1.0)
    assert not silent.first.any()
    np.testing.assert_allclose(silent.mass, 1)


def simulate(failure, services, rings, lead, elements, sees, lives, seed):
    """Play lives out sample by sample; the fill's mean rate by summing over the fill."""
    draw = np.random.default_rng(seed)
    spread = np.log(lead.high / lead.low) / (2 * Z90)
    onset = failure - np.sqrt(lead.low * lead.high) * np.exp(spread * draw.normal(size=lives))
    onset = np.maximum(onset, 0)
    tilt = draw.normal(size=lives)
    there = np.ones(lives, dtype=bool)
    first, alarmed = np.zeros(len(services)), np.zeros(len(services))
    steps = (np.arange(80) + 0.5) / 80
    for j, (service, ring) in enumerate(zip(services, rings, strict=True)):
        if service >= failure:
            break
        at = service - INTERVAL * steps
        way = np.clip((at - onset[:, None]) / (failure - onset[:, None]), 0, 1)
        score = np.zeros(lives)
        for e, element in enumerate(elements):
            spread = np.log(element.rise.high / element.rise.low) / (2 * Z90)
            rise = np.sqrt(element.rise.low * element.rise.high) * np.exp(spread * tilt)
            mean = (rise[:, None] ** way).mean(axis=1)
            reading = np.log(mean) + ring.scale[e] * draw.standard_t(4, size=lives)
            score += ring.weight[e] * reading / ring.scale[e]
        ringing = there & (score > ring.limit)
        alarmed[j] = ringing.sum()
        found = ringing & (onset < service) & (draw.random(lives) < sees)
        first[j] = found.sum()
        there &= ~found
    return first / lives, alarmed / lives


@pytest.mark.parametrize("failure", [52_500.0, 74_000.0, 95_000.0])
def test_against_simulated_lives(failure):
    services = np.array([50_000.0, 57_000.0, 67_000.0, 77_000.0])
    rings = alarms([PB, CU], INTERVAL, USED, 0.02, 4)
    lives = 60_000
    seen = detection([failure], services, INTERVAL, LEAD, [PB, FE, CU], rings, 0.8)
    first, alarmed = simulate(failure, services, rings, LEAD, [PB, CU], 0.8, lives, 7)
    for exact, simulated in ((seen.first[0], first), (seen.alarms[0], alarmed)):
        error = np.sqrt(exact * (1 - exact) / lives)
        assert (np.abs(exact - simulated) <= 4 * error + 1e-12).all()


def test_finer_quadrature_changes_nothing_that_matters(monkeypatch):
    services = 30_000 + INTERVAL * np.arange(5)
    rings = alarms([PB, CU], INTERVAL, {}, 0.02, 5)
    failure = np.linspace(31_000, 99_000, 97)
    coarse = detection(failure, services, INTERVAL, LEAD, [PB, CU], rings, 0.8)
    monkeypatch.setattr("riskmodel.oil.seen.NODES", ((1.0, 24), (np.inf, 80)))
    fine = detection(
        failure, services, INTERVAL, LEAD, [PB, CU], rings, 0.8, rises=rise_points([PB, CU], 25)
    )
    np.testing.assert_allclose(coarse.first, fine.first, rtol=0, atol=3e-4)
    np.testing.assert_allclose(coarse.alarms, fine.alarms, rtol=0, atol=3e-4)


def test_samples_in_hand_weigh_the_leads():
    services = np.array([50_000.0, 60_000.0])
    failure = np.array([64_000.0, 71_000.0])

    def no_distress_by_45(fails, lead):
        log = np.where(fails - lead >= 45_000, 0.0, -np.inf)
        return np.broadcast_to(log[:, None], (len(fails), 5))

    seen = detection(
        failure, services, INTERVAL, LEAD, [PB], CERTAIN, 1.0,
        log_likelihood=no_distress_by_45, breaks=[45_000.0],
    )  # fmt: skip
    np.testing.assert_allclose(seen.mass, lead_below(failure - 45_000), atol=1e-12)
    np.testing.assert_allclose(
        seen.first[:, 0], lead_below(failure - 45_000) - lead_below(failure - 50_000), atol=1e-12
    )
    half = seen.mixed(0.5)
    np.testing.assert_allclose(half.mass, 0.5 + 0.5 * seen.mass)


def test_samples_in_hand_weigh_as_the_history_of_the_engine_does():
    case = case_with_oil(["80000,10000,3,5", "90000,10000,4,4", "99000,9000,9,8"])
    told = history(case)
    assert told is not None
    failure = np.linspace(99_500, 131_000, 12)
    begun = told.ages - np.array([10_000, 10_000, 9_000])
    seen = detection(
        failure, [105_000.0], INTERVAL, told.lead, case.oil.element,
        alarm(case.oil.element, INTERVAL, {"Pb": 3, "Cu": 3}, 0.02), 0.8, lead_factor=1.3,
        rises=told.rise_points, log_likelihood=told.log_likelihood,
        breaks=np.concatenate([told.ages, begun]),
    )  # fmt: skip
    np.testing.assert_allclose(seen.mass, told.likelihood(failure, [1.3])[0], rtol=1e-3)


def test_what_does_not_fit_is_refused():
    with pytest.raises(ValueError, match="2 services need as many alarms, not 1"):
        detection([9e4], [5e4, 6e4], INTERVAL, LEAD, [PB], [CERTAIN], 0.8)
    with pytest.raises(ValueError, match="ascending order"):
        detection([9e4], [6e4, 5e4], INTERVAL, LEAD, [PB], CERTAIN, 0.8)
    with pytest.raises(ValueError, match="turnaround not below 0"):
        caught(LEAD, [PB], CERTAIN, INTERVAL, -1.0, 0.8)


# --- what would have been seen --------------------------------------------------------


@pytest.mark.parametrize("turnaround", [0.0, 500.0, 4_000.0])
def test_share_caught_by_a_certain_alarm(turnaround):
    # The lead less the turnaround must outlast the usage from the last service that helps.
    def outlasts(place):
        return 1 - lead_below(place + turnaround)

    exact = integrate.quad(outlasts, 0, INTERVAL)[0] / INTERVAL
    assert caught(LEAD, [PB], CERTAIN, INTERVAL, turnaround, 1.0) == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize(
    ("intervals", "sees", "missed"),
    [
        (0.5, 1.0, 0.2131), (1.0, 1.0, 0.3679), (4.0, 1.0, 0.7546),
        (0.5, 0.9, 0.2460), (1.0, 0.7, 0.5026), (2.0, 0.5, 0.7681),
    ],
)  # fmt: skip
def test_missed_share_of_an_exponential_lead(intervals, sees, missed):
    """Delay-time model of Christer & Waller 1984, defects at a constant rate and an exponential
    delay of mean 1: the missed share at inspections every x is 1 - (1 - e^-x) / x where each is
    perfect, and 1 - r (1 - e^-x) / (x (1 - (1 - r) e^-x)) where it sees with chance r (derived
    for these tests, figures checked by simulation)."""
    x, total = intervals, 0.0
    place, weight = np.polynomial.legendre.leggauss(2 if x < 1 else 5)
    for start, end in pairwise(np.arange(0, 14, x)):  # the share caught bends at whole intervals
        for p, w in zip(place, weight, strict=True):
            lead = start + (end - start) * (p + 1) / 2
            share = caught(exactly(lead * INTERVAL), [PB], CERTAIN, x * INTERVAL, 0.0, sees)
            total += w * (end - start) / 2 * np.exp(-lead) * share
        rest = np.exp(-end)
    total += rest  # longer leads are caught, all but a few
    formula = 1 - sees * (1 - np.exp(-x)) / (x * (1 - (1 - sees) * np.exp(-x)))
    assert formula == pytest.approx(missed, abs=6e-5)
    assert 1 - total == pytest.approx(formula, abs=5e-5)


@pytest.mark.parametrize(("sees", "inspections"), [(0.5, 4), (0.8, 2), (0.9, 1), (0.7, 3)])
def test_whole_inspections_within_a_known_lead(sees, inspections):
    """The rule n = ln(accepted miss) / ln(1 - theta) for on-condition tasks (US Navy RCM guide
    NAVAIR 00-25-403): n inspections in the P-F interval miss with chance (1 - theta)^n."""
    lead = exactly(12_000.0)
    share = caught(lead, [PB], CERTAIN, 12_000 / inspections, 0.0, sees)
    assert 1 - share == pytest.approx((1 - sees) ** inspections, abs=1e-12)


def test_that_rule_does_not_hold_for_parts_of_an_inspection():
    # A lead of 10 and an interval of 15 at 0.9: two failures in three see one inspection, the
    # others none; by the rule 0.1^(10/15) = 0.22 would be missed.
    missed = 1 - caught(exactly(10_000.0), [PB], CERTAIN, 15_000, 0.0, 0.9)
    assert missed == pytest.approx(1 / 3 + 2 / 3 * 0.1, abs=1e-12)


def test_share_caught_against_simulated_failures():
    ring, lives, turnaround = alarm([PB, CU], INTERVAL, USED, 0.02), 40_000, 500.0
    found = caught(LEAD, [PB, CU], ring, INTERVAL, turnaround, 0.8)
    total = 0.0
    services = INTERVAL * np.arange(1.0, 14.0)
    for place in range(20):  # of the failure between two services; the first comes too late
        failure = services[-1] + INTERVAL * (place + 0.5) / 20
        first, _ = simulate(
            failure, services, [ring] * 13, LEAD, [PB, CU], 0.8, lives // 20, 100 + place
        )
        total += first[failure - services > turnaround].sum() / 20
    assert total == pytest.approx(found, abs=4 * np.sqrt(found * (1 - found) / lives))


def test_forewarning_of_the_three_kinds():
    elements, silent = [PB, CU], exactly(0.2, share=True)
    found = foresight(LEAD, exactly(1.5), silent, elements, INTERVAL, USED, 0.02, 500.0, 0.8)
    ring = alarm(elements, INTERVAL, USED, 0.02)
    half = alarm(elements, INTERVAL / 2, USED, 0.02)
    share = caught(LEAD, elements, ring, INTERVAL, 500.0, 0.8, 1.5)
    at_half = caught(LEAD, elements, half, INTERVAL / 2, 500.0, 0.8, 1.5)
    for got, wanted in (
        (found.caught, 0.8 * share),
        (found.caught_at_half, 0.8 * at_half),
        (found.short_warning, 0.2 + 0.8 * lead_below(INTERVAL, factor=1.5)),
    ):
        assert (got.low, got.mean, got.high) == pytest.approx((wanted,) * 3, abs=1e-12)
    assert found.interval == INTERVAL
    assert found.caught.mean < found.caught_at_half.mean < 1 - 0.2


def test_what_is_not_known_is_in_the_interval():
    factor, silent = Quantity(0.5, 2.0), Quantity(0.1, 0.5, share=True)
    found = foresight(LEAD, factor, silent, [PB, CU], INTERVAL, USED, 0.02, 500.0, 0.8)
    ring = alarm([PB, CU], INTERVAL, USED, 0.02)
    values, weights = factor.points(15)
    heard = sum(
        w * caught(LEAD, [PB, CU], ring, INTERVAL, 500.0, 0.8, float(v))
        for v, w in zip(values, weights, strict=True)
    )
    assert found.caught.mean == pytest.approx(heard * (1 - silent.mean), abs=2e-3)
    short = sum(w * lead_below(INTERVAL, factor=v) for v, w in zip(values, weights, strict=True))
    expected = silent.mean + (1 - silent.mean) * short
    assert found.short_warning.mean == pytest.approx(expected, abs=2e-3)
    for share in (found.caught, found.caught_at_half, found.short_warning):
        assert 0 < share.low < share.mean < share.high < 1
    known = foresight(LEAD, exactly(1.0), exactly(0.25, share=True), [PB, CU], INTERVAL, USED,
                      0.02, 500.0, 0.8)  # fmt: skip
    assert found.caught.low < known.caught.mean < found.caught.high


def test_the_interval_against_drawn_beliefs():
    factor, silent = Quantity(0.5, 2.0), Quantity(0.1, 0.5, share=True)
    found = foresight(LEAD, factor, silent, [PB], INTERVAL, {}, 0.02, 500.0, 0.8)
    z = np.random.default_rng(8).normal(size=(2, 400_000))
    short = lead_below(INTERVAL, factor=factor.quantile(z[0]))
    quiet = silent.quantile(z[1])
    low, high = np.quantile(quiet + (1 - quiet) * short, [0.05, 0.95])
    assert found.short_warning.low == pytest.approx(low, abs=0.005)
    assert found.short_warning.high == pytest.approx(high, abs=0.005)


def test_no_failure_is_caught_where_all_are_silent_or_an_exact_lead_is_too_short():
    all_silent = foresight(
        LEAD, exactly(1.0), exactly(1.0, share=True), [PB], INTERVAL, {}, 0.02, 500.0, 0.8
    )
    assert all_silent.caught.high == 0
    assert all_silent.short_warning.low == 1
    assert caught(exactly(400.0), [PB], CERTAIN, INTERVAL, 500.0, 1.0) == pytest.approx(
        0, abs=1e-12
    )
    assert less_warning_than(500.0, exactly(400.0)) == 1
    assert less_warning_than(500.0, exactly(400.0), 2.0) == 0
