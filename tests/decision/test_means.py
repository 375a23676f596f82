"""Means worked out at once are the means of what is worked out node by node."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.lives import join
from riskmodel.decision.means import Means
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prepared import prepare, sampling_of
from riskmodel.decision.prices import prices_of
from riskmodel.decision.timing import timing_of
from riskmodel.oil.history import history
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.risk.life_curves import average_curves


@pytest.mark.parametrize("folder", EXAMPLES)
@pytest.mark.parametrize("repair", [True, False])
def test_means_are_those_of_all_nodes(folder: str, repair: bool) -> None:
    case = example(folder)
    curves, prices = average_curves(case), prices_of(case)
    joined = join(curves, case.plan.new_part_life, 1e-6)
    lead, sampling = case.warning.visible_lead, sampling_of(case, history(case))
    faults, timing = np.array([0.0, 0.1]), timing_of(case)
    other_job = 0.4 * timing.keep
    present = PresentPart(
        case.age, curves, joined, timing, lead, repair, faults, sampling,
        np.array([0.2 * timing.keep, other_job]), other_job,
    )  # fmt: skip
    each, _ = present.evaluate(prices)
    found = Means(present).at(prices)
    assert found.at.tolist() == each.at.tolist()
    assert present.weight.sum() == pytest.approx(1)
    np.testing.assert_allclose(found.counts, each.counts @ present.weight, atol=1e-12)
    np.testing.assert_allclose(found.lasts, each.lasts @ present.weight, atol=1e-12)


@pytest.mark.parametrize("folder", EXAMPLES)
def test_an_urgent_job_that_would_come_after_keep_until_is_not_made(folder: str) -> None:
    """The last sample tells too late: its parts are left in, and last or fail as they do."""
    case = example(folder)
    last = case.next_change_in + 2 * case.interval
    plan = replace(case.plan, keep_usage=last + 0.5 * case.oil.turnaround, keep_years=None)
    case = replace(case, plan=plan)
    ready = prepare(case, average_curves(case), None, sampling_of(case, history(case)))
    visits = ready.present.worlds[0].visits
    assert visits is not None
    assert visits.happens.tolist() == [True, True, False]
    each, _ = ready.present.evaluate(ready.prices)
    found = Means(ready.present).at(ready.prices)
    np.testing.assert_allclose(found.counts, each.counts @ ready.weight, atol=1e-12)
    np.testing.assert_allclose(found.lasts, each.lasts @ ready.weight, atol=1e-12)


@pytest.mark.parametrize("folder", EXAMPLES)
def test_some_nodes_and_plans_are_those_of_all(folder: str) -> None:
    case = example(folder)
    ready = prepare(case, average_curves(case), None, sampling_of(case, history(case)))
    every, _ = ready.present.evaluate(ready.prices)
    nodes = np.unique(np.random.default_rng(3).integers(len(ready.weight), size=300))
    plans = [0, 2, len(every.at) - 1]
    some, _ = ready.present.evaluate(ready.prices, plans, nodes)
    assert some.at.tolist() == every.at[plans].tolist()
    np.testing.assert_allclose(some.counts, every.counts[plans][:, :, nodes], atol=1e-12)
    np.testing.assert_allclose(some.lasts, every.lasts[plans][:, :, nodes], atol=1e-12)
    np.testing.assert_array_equal(some.fails, every.fails[plans])
    np.testing.assert_array_equal(some.alarm, every.alarm[plans])


@pytest.mark.parametrize("folder", EXAMPLES)
def test_what_follows_is_the_same_whatever_was_asked_before(folder: str) -> None:
    """Rules found at other prices, or with other beliefs, are kept only as far as they are best."""
    case = example(folder)
    ready = prepare(case, average_curves(case), None, sampling_of(case, history(case)))
    new, price = ready.present.new_part, ready.prices.failure[0].mean
    rules, means = set(), Means(ready.present)
    # between 18.6 and 18.73 the car's rule moves for a part fitted today, and for no other
    for times in (1.0, 0.05, 3.0, 18.6, 18.73, 30.0, 1.0):
        prices = ready.prices.with_failure_price(price * times)
        renewal, now = new.follows(prices)
        alone = new.solve(prices)
        today = new.believing(new.weight).fitted_today(alone, prices)
        np.testing.assert_array_equal(renewal.service, alone.service)
        np.testing.assert_allclose(renewal.counts, alone.counts, rtol=1e-12, atol=1e-15)
        np.testing.assert_allclose(renewal.lasts, alone.lasts, rtol=1e-12, atol=1e-15)
        np.testing.assert_allclose(now.counts, today.counts, rtol=1e-12, atol=1e-15)
        rules.add(renewal.service.tobytes())
        told, fresh = means.at(prices), Means(ready.present).at(prices)
        np.testing.assert_array_equal(told.counts, fresh.counts)
        np.testing.assert_array_equal(told.lasts, fresh.lasts)
    assert len(rules) >= 2
    prices = ready.prices.with_failure_price(price * 3)
    short = np.tile(new.lives.scale == new.lives.scale.min(), new.worlds).astype(float)
    sure = new.believing(short / short.sum())
    renewal, now = sure.follows(prices)
    alone = sure.solve(prices)
    np.testing.assert_allclose(renewal.counts, alone.counts, rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(now.counts, sure.fitted_today(alone, prices).counts)
    assert not np.array_equal(renewal.service, new.follows(prices)[0].service)
