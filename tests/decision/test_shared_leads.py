"""Leads that several factors share, and outcomes that follow from one another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from riskmodel.decision.leads import LEAD_END, shared_leads
from riskmodel.decision.sampling import Retested, Sampling
from riskmodel.oil.alarm import shed
from riskmodel.oil.history import history
from riskmodel.oil.retest import retest_alarm
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from tests.decision.sampled_case import sampled_case

Floats = NDArray[np.float64]

MIDDLES = np.log([0.5, 1.0, 2.0])


@pytest.fixture(scope="module")
def case() -> Case:
    return sampled_case("road_car_hint")


@pytest.fixture(scope="module")
def sampling(case: Case) -> Sampling:
    return Sampling(case, history(case), lasting=400_000.0)


@pytest.mark.parametrize("spread", [0.05, 0.3, 0.6, 1.2])
def test_at_each_factor_the_leads_are_normal_about_their_middle(spread: float) -> None:
    away, weight = shared_leads(MIDDLES, spread)
    np.testing.assert_allclose(weight.sum(axis=1), 1)
    mean = weight @ away
    np.testing.assert_allclose(mean, MIDDLES, atol=2e-3 * spread)
    second = ((away - mean[:, None]) ** 2 * weight).sum(axis=1)
    np.testing.assert_allclose(np.sqrt(second), spread, rtol=5e-3)
    # a smooth chance: E[exp(-exp(x))] by many points
    z = np.linspace(-9, 9, 20_001)
    density = np.exp(-(z**2) / 2) / np.exp(-(z**2) / 2).sum()
    true = [density @ np.exp(-np.exp(middle + spread * z)) for middle in MIDDLES]
    np.testing.assert_allclose(weight @ np.exp(-np.exp(away)), true, rtol=3e-4)


def test_leads_that_overlap_are_shared_and_others_are_not() -> None:
    apart = shared_leads(MIDDLES, 0.99 * np.log(2) / (2 * LEAD_END))[0]
    alone = shared_leads(np.zeros(1), 1.0)[0]
    assert len(apart) == 3 * len(alone)
    assert len(shared_leads(MIDDLES, 0.6)[0]) < 2 * len(alone)
    known, each = shared_leads(MIDDLES, 0.0)
    np.testing.assert_array_equal(known, MIDDLES)
    np.testing.assert_array_equal(each, np.eye(3))
    assert len(shared_leads(MIDDLES, 1e-12)[0]) == 3 * len(alone)


def outcome_of(case: Case, surge: bool) -> Retested:
    alarm = retest_alarm(shed(case.oil.element), 4_000.0, case.oil.resolution, {}, 0.1)
    return Retested(alarm, surge, 500.0)


@pytest.mark.parametrize("surge", [True, False])
def test_the_other_outcome_is_what_following_it_gives(
    case: Case, sampling: Sampling, surge: bool
) -> None:
    outcome, services = outcome_of(case, surge), np.array([6_000.0, 16_000.0, 26_000.0])
    later = sampling.later(1_000.0)
    told, opposite = later.either(outcome)
    for found, followed in ((told, outcome), (opposite, outcome.opposite)):
        own = found.table_of_present_part(services)
        alone = later.knowing(followed).table_of_present_part(services)
        for name in ("at", "seen", "alarms", "tilt"):
            np.testing.assert_allclose(
                getattr(own, name), getattr(alone, name), rtol=1e-9, atol=1e-12, err_msg=name
            )
    assert told.table_of_present_part(services).tilt.max() > 0.5 or not surge


def test_what_is_settled_is_what_following_it_alone_gives(case: Case) -> None:
    services, known = np.array([6_000.0, 16_000.0]), history(case)
    both = Sampling(case, known, lasting=400_000.0, beside=(0.7, 1.4))
    for factor, silent in ((0.7, 0.4), (1.4, None)):
        warning = replace(case.warning, lead_factor=exactly(factor))
        if silent is not None:
            warning = replace(warning, silent=exactly(silent, share=True))
        alone = Sampling(replace(case, warning=warning), known, lasting=400_000.0)
        told = both.settled(factor, silent)
        for name in ("factor", "silent", "weight"):
            assert getattr(told.worlds, name).tolist() == getattr(alone.worlds, name).tolist()
        ages = np.array([2_000.0, 9_000.0, 15_000.0, 40_000.0])
        for part in ("of_present_part", "of_new_part"):
            own, other = (getattr(each, part)(services, ages) for each in (told, alone))
            for name in ("seen", "alarms", "tilt"):
                near = {"rtol": 0.02, "atol": 2e-3}  # other leads are averaged over
                np.testing.assert_allclose(getattr(own, name), getattr(other, name), **near)
    with pytest.raises(ValueError, match="not laid out"):
        both.settled(0.9)


def test_a_clock_that_starts_later_weighs_no_sample_anew(
    case: Case, sampling: Sampling, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And tells the same of the same failures."""
    services = np.array([6_000.0, 16_000.0, 26_000.0])
    now = sampling.table_of_present_part(services)
    asked: list[int] = []
    of = history(case)
    assert of is not None
    real = type(of).log_likelihood

    def counted(self: object, failure: Floats, lead: Floats) -> Floats:
        asked.append(len(failure))
        return real(self, failure, lead)  # type: ignore[arg-type]

    monkeypatch.setattr(type(of), "log_likelihood", counted)
    then = sampling.later(1_000.0).table_of_present_part(services - 1_000.0)
    assert sum(asked) <= 3 < len(then.at)
    alike = np.isclose(then.at[:, None] + 1_000.0, now.at, rtol=0, atol=1e-6)
    mine, theirs = np.nonzero(alike)
    assert len(mine) > len(then.at) - 4
    np.testing.assert_allclose(then.tilt[:, mine], now.tilt[:, theirs], rtol=1e-9, atol=1e-12)
