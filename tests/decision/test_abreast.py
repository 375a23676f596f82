"""Cases worked out side by side, and what samples tell on average: the same as one by one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.decision.abreast import Abreast, abreast
from riskmodel.decision.basis import unsampled
from riskmodel.decision.inspection import NothingSeen
from riskmodel.decision.prepared import (
    Grounds,
    Prepared,
    expected_costs,
    grounds,
    prepare,
    prepared,
    thinned,
)
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.swings import swings
from riskmodel.records.files import read_case

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture(scope="module", params=["road-car", "work-boat"])
def found(request: pytest.FixtureRequest) -> Grounds:
    return grounds(read_case(DATA / request.param))


@pytest.fixture(scope="module")
def few(found: Grounds) -> Prepared:
    return thinned(prepared(found))


def alone(few: Prepared, watch: Sampling) -> Prepared:
    return prepare(watch.case, few.curves, watch.history, watch, few.ages, coarse=True)


@pytest.mark.parametrize("sampled", [True, False])
def test_each_costs_what_it_costs_alone(found: Grounds, few: Prepared, sampled: bool) -> None:
    assert found.sampling is not None
    usual = found.sampling.roughly()
    usual = (usual if sampled else usual.unsampled()).on_average()
    shares = usual.case.warning.silent.quantile(np.array([-1.6, 0.0, 1.6])).tolist()
    watches = [usual, *(usual.settled(silent=share) for share in shares)]
    told = [expected_costs(each) for each in abreast(few, watches)]
    assert np.ptp([costs[-1] for _, costs, _ in told]) > 1  # they differ
    for found_so, watch in zip(told, watches, strict=True):
        for side_by_side, own in zip(found_so, expected_costs(alone(few, watch)), strict=True):
            np.testing.assert_allclose(side_by_side, own, rtol=1e-9)


def test_only_what_is_alike_goes_side_by_side(found: Grounds) -> None:
    assert found.sampling is not None
    usual = found.sampling.roughly()
    with pytest.raises(ValueError, match="one world each"):
        Abreast([usual, usual])
    with pytest.raises(ValueError, match="samples alike"):
        Abreast([usual.on_average(), usual.unsampled().on_average()])


def test_without_samples_to_come_the_mean_of_all_worlds_is_that_of_one(found: Grounds) -> None:
    assert found.sampling is not None
    case = unsampled(found.case)
    mean = replace(found, sampling=found.sampling.on_average())
    whole, one = prepared(found, case), prepared(mean, case)
    assert len(whole.present.worlds) > len(one.present.worlds) == 1
    for all_worlds, average in zip(expected_costs(whole), expected_costs(one), strict=True):
        np.testing.assert_allclose(average, all_worlds, rtol=1e-9)


def test_a_look_that_the_oil_has_no_part_in_only_weighs_failure_ages(found: Grounds) -> None:
    """The table that follows from the one without the look is the one worked out with it."""
    watch = found.sampling
    assert watch is not None
    look = NothingSeen(found.case.age, found.case.warning.visible_lead, 0.8)
    assert look.reach < watch.reach
    services = np.arange(1, 4) * found.case.interval
    quick = watch.knowing(look).table_of_present_part(services)
    plain = watch.knowing(look)
    plain._blind = None
    whole = plain.table_of_present_part(services)
    np.testing.assert_array_equal(quick.at, whole.at)
    for name in ("seen", "alarms", "tilt"):
        np.testing.assert_allclose(getattr(quick, name), getattr(whole, name), atol=1e-12)
    assert not np.allclose(whole.tilt, watch.table_of_present_part(services).tilt)


def test_what_is_told_of_more_samples_serves_for_fewer(found: Grounds) -> None:
    assert found.sampling is not None
    services = found.case.next_change_in + np.arange(5) * found.case.interval
    first, rough = found.sampling.roughly(), found.sampling.roughly()
    longest = rough.table_of_present_part(services)
    short, own = (
        rough.table_of_present_part(services[:2]),
        first.table_of_present_part(services[:2]),
    )
    assert short.seen.shape[1] == 2
    np.testing.assert_array_equal(short.seen, longest.seen[:, :2])
    middle = np.linspace(0, services[1], 50)
    for from_longest, alone_told in zip(
        (short.kernels(middle).seen, short.kernels(middle).tilt),
        (own.kernels(middle).seen, own.kernels(middle).tilt),
        strict=True,
    ):
        np.testing.assert_allclose(from_longest, alone_told, atol=1e-9)


def test_a_life_more_likely_to_end_costs_more_whatever_is_done(found: Grounds) -> None:
    """The row of the life curve is of those about a share of the belief: a single curve there
    could be of any shape, and cost anything."""
    row = next(each for each in swings(found) if each.key == "life.curve")
    assert list(row.at) == sorted(row.at)
    assert list(row.now) == sorted(row.now)
    assert list(row.later) == sorted(row.later)


def test_parts_to_come_side_by_side_are_those_of_each(found: Grounds, few: Prepared) -> None:
    """Worked out from nothing, with no rule at hand to try first."""
    assert found.sampling is not None
    mean = found.sampling.roughly().on_average()
    watches = [mean.settled(silent=0.05), mean.settled(silent=0.6)]
    both = prepare(found.case, few.curves, None, Abreast(watches), few.ages, coarse=True)
    both.present.new_part.follows(both.prices)
    for w, watch in enumerate(watches):
        new, own = both.present.of_world(w, watch).new_part, alone(few, watch).present.new_part
        new._like = new._today_like = None
        for told, expected in zip(new.follows(few.prices), own.follows(few.prices), strict=True):
            np.testing.assert_allclose(told.counts, expected.counts, atol=1e-12)
            np.testing.assert_allclose(told.lasts, expected.lasts, atol=1e-12)


def test_what_is_copied_from_a_part_looked_at_is_told_of_its_own_worlds_and_clock(
    found: Grounds,
) -> None:
    watch = found.sampling
    assert watch is not None
    looked = watch.knowing(NothingSeen(found.case.age, found.case.warning.visible_lead, 0.8))
    services = np.arange(1, 4) * found.case.interval
    whole, mean = (each.table_of_present_part(services) for each in (looked, looked.on_average()))
    np.testing.assert_allclose(mean.tilt[0], watch.weight @ whole.tilt, atol=1e-12)
    later = looked.later(found.case.interval)
    assert len(later.table_of_present_part(services).tilt) == len(watch.weight)
    plain = watch.later(found.case.interval).table_of_present_part(services)
    assert not np.allclose(later.table_of_present_part(services).tilt[:, 0], plain.tilt[:, 0])
