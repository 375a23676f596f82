"""'Sample again soon, then decide' against lives played out, and what must hold of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from riskmodel.decision.occasions import booked_until
from riskmodel.decision.results import Retest
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from tests.decision.sampled_case import SAMPLED, sampled_case
from tests.simulation.sampled import draw_sampled_worlds, sampled_mean_prices
from tests.simulation.sampled_case import SampledCase, read_sampled_case
from tests.simulation.sampled_oil import level_spread, noise_cdf, rise_mean
from tests.simulation.sampled_play import SAMPLE, play
from tests.simulation.sampled_policy import solve_sampled_policy

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

LIVES = 300_000
AT = 2_000.0


def case_of(name: str, at: float = AT) -> Case:
    case = sampled_case(name)
    return replace(case, oil=replace(case.oil, retest_in=at))


def surges(
    case: SampledCase, false_alarm: float, life: Floats, onset: Floats, score: Floats,
    silent: Bools, oil_age: float, rng: np.random.Generator,
) -> Bools:  # fmt: skip
    """Whether a retest at age `case.base.age + AT` shows another surge; written from the text:
    y = asinh(s C / a) / s, weights as the median rise lifts y, every y scattering as t4."""
    at, count = case.base.age + AT, len(case.history)
    total, weights = np.zeros(life.size), []
    scales = []
    for e in case.elements:
        n = sum(e.symbol in s.readings for s in case.history)
        assert n <= count
        s = math.sqrt(math.log(e.scatter) ** 2 + level_spread(e, n, oil_age, False))
        a = math.sqrt(e.noise**2 + 1 / 12)
        usual = math.exp(e.typical.mu) * oil_age / 1000
        scales.append((s, a, usual))
        lifted = np.arcsinh(s * usual * math.exp(e.rise.mu) / a) / s
        weights.append(float(lifted - np.arcsinh(s * usual / a) / s))
    w = np.array(weights) / np.sqrt(np.sum(np.square(weights)))
    for e, weight, (s, a, usual) in zip(case.elements, w, scales, strict=True):
        m = np.where(
            silent | (onset >= at), 1.0,
            rise_mean(
                e.rise.at(score), np.maximum(life, at + 1e-6), np.minimum(onset, at), at, oil_age
            ),
        )  # fmt: skip
        shift = (np.arcsinh(s * usual * m / a) - np.arcsinh(s * usual / a)) / s
        total += weight * (shift + rng.standard_t(4, life.size))
    limit = brentq(lambda x: 1 - noise_cdf(w, np.array([x]))[0] - false_alarm, -60, 60)
    return np.asarray(total > limit)


def simulated(name: str, found: Retest, acts_at: float) -> dict[str, tuple[float, float]]:
    """Means and standard errors of what comes of it, each outcome's plan as `found` has it."""
    case = read_sampled_case(SAMPLED / f"{name}.json")
    worlds = draw_sampled_worlds(case, LIVES, 5)
    rng = np.random.default_rng([5, 77])
    # lead, rise and silence again, by the same draws as the worlds had
    again = np.random.default_rng([5, 1_000_000])
    factor = np.asarray(case.lead_factor.at(again.standard_normal(LIVES)), dtype=float)
    share = np.asarray(case.silent.at(again.standard_normal(LIVES)), dtype=float)
    lead = case.lead.at(again.standard_normal(LIVES)) * factor
    score, silent = again.standard_normal(LIVES), again.random(LIVES) < share
    life = case.base.age + worlds.base.life
    onset = np.maximum(life - lead, 0.0)
    since = max(case.base.interval - case.base.services()[0], 0.0)
    shown = surges(
        case, found.false_alarm, life, onset, score, silent, since + AT, rng
    ) & (worlds.base.life > AT)  # fmt: skip
    acted = worlds.base.life > acts_at
    counts = np.zeros((9, LIVES))
    failed, present, urgent = np.zeros((3, LIVES), dtype=bool)
    urgent_at = worlds.urgent_at
    policy = solve_sampled_policy(case)
    for branch, some in ((found.if_surge, shown), (found.if_clear, ~shown)):
        rows = np.flatnonzero(some)
        part = (worlds.base.life[rows], worlds.base.visible[rows], urgent_at[rows])
        world = (worlds.base.k[rows], worlds.factor[rows], worlds.silent_share[rows])
        counts[:, rows], failed[rows], present[rows] = play(
            case, policy, branch.at, part, worlds.alarms[:, rows], world, rng
        )
        urgent[rows] = urgent_at[rows] < (branch.at or case.base.keep_usage)
    counts[SAMPLE] += np.exp(-case.base.discount * AT) * (worlds.base.life > AT)
    w = worlds.weight
    size = LIVES * w.mean() ** 2 / np.mean(w**2)

    def mean(x: Floats) -> tuple[float, float]:
        middle = float(np.mean(w * x))
        return middle, float(np.sqrt(np.mean(w * (x - middle) ** 2) / size))

    return {
        "surge": mean((shown & acted).astype(float)),
        "first": mean((~acted).astype(float)),
        "failed": mean(failed.astype(float)),
        "present": mean(present.astype(float)),
        "urgent": mean(urgent.astype(float)),
        "cost": mean(sampled_mean_prices(case) @ counts),
    }


@pytest.mark.slow
@pytest.mark.parametrize("name", ["road_car", "road_car_hint"])
def test_the_plan_agrees_with_lives_played_out(name: str) -> None:
    case = case_of(name)
    found = weigh(case, retest=True).retest
    assert found is not None
    played = simulated(name, found, AT + case.oil.turnaround)
    ours = {
        "surge": found.if_surge.chance.value,
        "first": found.first.value,
        "failed": found.failure.value,
        "present": found.present_failure.value,
        "urgent": found.alarm.value,
    }
    for what, value in ours.items():
        middle, error = played[what]
        assert abs(value - middle) <= 3.5 * max(error, 1e-6), what
    middle, error = played["cost"]
    assert abs(found.cost.value - middle) <= max(0.005 * middle, 3.5 * error)


def test_a_retest_is_not_weighed_where_the_change_comes_first() -> None:
    case = case_of("road_car", at=7_600.0)  # its result is in after the next oil change
    assert weigh(case, retest=True).retest is None
    assert weigh(replace(case, oil=replace(case.oil, element=())), retest=True).retest is None


def test_only_a_hint_makes_it_worth_weighing() -> None:
    assert weigh(case_of("road_car")).retest is None
    found = weigh(case_of("road_car_hint"))
    assert found.risk[0].oil_factor is not None
    assert (found.retest is not None) == (found.risk[0].oil_factor >= 1.5)


def test_what_a_free_retest_can_tell_is_worth_something() -> None:
    """Information is never worth less than nothing: what waiting for it costs is the rest."""
    case = case_of("road_car_hint", at=1.0)
    free = replace(
        case, oil=replace(case.oil, turnaround=1.0), cost=replace(case.cost, sample=exactly(0.0))
    )
    found = weigh(free, retest=True)
    assert found.retest is not None
    assert found.best is not None
    assert found.retest.saves.value > -0.001 * found.best.cost.value


def test_a_surge_raises_and_a_clear_result_lowers_the_chance() -> None:
    found = weigh(case_of("road_car_hint"), retest=True).retest
    assert found is not None
    assert found.if_surge.soon.value > 3 * found.if_clear.soon.value
    total = found.if_surge.chance.value + found.if_clear.chance.value + found.first.value
    assert total == pytest.approx(1.0, abs=1e-6)


def booked(weeks: float, urgent: float | None) -> tuple[Case, Retest]:
    """The hint, acted upon at 1,000 km, in a workshop with no slot for so many weeks."""
    case = case_of("road_car_hint")
    case = replace(
        case,
        plan=replace(case.plan, booking_weeks=weeks),
        cost=replace(case.cost, urgent=None if urgent is None else exactly(urgent)),
    )
    found = weigh(case, retest=True).retest
    assert found is not None
    return case, found


def test_a_second_sample_does_not_get_round_the_workshops_booking() -> None:
    """Nothing is replaced before the slot but at the price of a job at short notice."""
    case, dear = booked(20.0, 50_000.0)
    slot = booked_until(case)
    for branch in (dear.if_surge, dear.if_clear):
        assert not branch.hurried
        assert branch.at is None or branch.at >= slot * (1 - 1e-9)
        assert not branch.at_once
    _, fair = booked(20.0, case.cost.planned.mean + 100.0)
    assert fair.if_surge.hurried
    assert fair.if_surge.at_once
    assert fair.alarm.value >= fair.if_surge.chance.value * (1 - 1e-9)


def test_short_notice_at_the_same_price_is_no_booking_at_all() -> None:
    _, free = booked(0.0, None)
    _, same = booked(20.0, None)
    assert free.if_surge.at_once
    assert same.if_surge.hurried
    assert not free.if_surge.hurried
    assert same.cost.value == pytest.approx(free.cost.value, rel=1e-3)
    assert same.failure.value == pytest.approx(free.failure.value, rel=2e-3)
    assert same.false_alarm == free.false_alarm
    assert same.if_surge.soon.value == pytest.approx(free.if_surge.soon.value, rel=2e-3)
