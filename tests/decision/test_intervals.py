"""Other oil intervals: against simulation, in what must rise and fall, and the rule of thumb."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.decision.intervals import (
    IntervalRow,
    Outcome,
    at_interval,
    interval_study,
    lasting_longer,
    usual_intervals,
)
from riskmodel.decision.pf_rule import missed, needed, net_warning
from riskmodel.decision.prepared import grounds, prepared
from riskmodel.life.weibull import conditional_survival
from riskmodel.oil.history import history
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from tests.decision.sampled_case import SAMPLED, sampled_case
from tests.simulation import sampled as program
from tests.simulation.brute_force import Worlds, draw_worlds
from tests.simulation.sampled_case import sampled_case_from

STANDARD_ERRORS = 3.5


def with_oil(case: Case, **values: Any) -> Case:
    return replace(case, oil=replace(case.oil, **values))


def shares(quantity: Any, factor: float) -> Any:
    return [factor * x for x in quantity] if isinstance(quantity, list) else factor * quantity


def played(name: str, interval: float, factor: float, monkeypatch: pytest.MonkeyPatch) -> Any:
    """The program's own answer at another interval, what is left of every life drawn, and of a
    lead, being `factor` times as long. Two runs: as discounted, and not, to count what happens."""
    told = json.loads((SAMPLED / f"{name}.json").read_text())
    first = min(told["next_change_in"], interval)
    told |= {"interval": interval, "next_change_in": first}
    for key in ("new_part_life", "lead", "visible_lead"):
        told[key] = shares(told.get(key, 1), factor)

    def stretched(*arguments: Any) -> Worlds:
        worlds = draw_worlds(*arguments)
        return replace(worlds, life=factor * worlds.life)

    monkeypatch.setattr(program, "draw_worlds", stretched)
    found = [
        program.simulate_sampled(sampled_case_from(told | {"rate": rate}), 80_000, seed=5)
        for rate in (told.get("rate", 0), 0)
    ]
    return found


def row_of(case: Case, interval: float) -> IntervalRow:
    study = interval_study(case, [interval])
    return next(row for row in study.rows if row.every == interval)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "share", "gamma"),
    [("road_car", 0.5, 0.0), ("road_car", 0.6, 0.8), ("delivery_van_ranges", 1.5, 0.6)],
)
def test_against_lives_played_out(
    name: str, share: float, gamma: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The best plan at another interval, by a program that shares no code, once with life as it is
    and once longer (or, at a longer interval, shorter)."""
    case = with_oil(sampled_case(name), life_gamma=gamma)
    every = share * case.interval
    row = row_of(case, every)
    assert row.life_factor == pytest.approx((1 / share) ** gamma)
    outcome = row.longer if gamma else row.sooner
    assert outcome is not None
    paid, happened = played(name, every, row.life_factor, monkeypatch)
    place = next(
        i
        for i, plan in enumerate(paid.plans)
        if (plan.at is None) == (outcome.at is None)
        and (plan.at is None or plan.at == pytest.approx(outcome.at))
    )
    years = case.keep / case.machine.usage_per_year
    cost, failure = paid.plans[place].expected_cost, paid.plans[place].failure_probability
    allowed = max(0.005 * cost.value, STANDARD_ERRORS * cost.error)
    assert abs(outcome.cost.value * years - cost.value) <= allowed
    assert abs(outcome.failure.value - failure.value) <= STANDARD_ERRORS * failure.error
    # it is the best plan by their count too, or as good as it
    assert cost.value <= min(plan.expected_cost.value for plan in paid.plans) + 2 * allowed
    counts = happened.plans[place].counts
    urgent, looks = counts["urgent"], counts["investigation"]
    assert abs(outcome.urgent.value - urgent.value) <= STANDARD_ERRORS * urgent.error + 1e-4
    others = outcome.other_alarms.value
    error = math.hypot(urgent.error, looks.error)
    assert abs(others - (looks.value - urgent.value)) <= STANDARD_ERRORS * error + 1e-4


@cache
def study_of(name: str, gamma: float = 0.0, **oil: Any) -> dict[float, IntervalRow]:
    """Rows by their share of the interval now."""
    case = with_oil(sampled_case(name), life_gamma=gamma, **oil)
    study = interval_study(case)
    return {round(row.every / study.now, 3): row for row in study.rows}


def test_usual_intervals_and_the_one_now() -> None:
    rows = study_of("road_car", 0.5)
    assert list(rows) == [0.5, 0.75, 1.0, 1.5]
    assert [row.now for row in rows.values()] == [False, False, True, False]
    now = rows[1.0]
    assert now.longer == now.sooner
    assert now.sooner.dearer.value == now.sooner.dearer.low == now.sooner.dearer.high == 0


def test_without_a_claim_there_is_no_longer_life() -> None:
    assert all(row.longer is None for row in study_of("road_car").values())
    assert all(row.life_factor == 1 for row in study_of("road_car").values())


def test_a_claim_touches_only_the_column_of_the_longer_life() -> None:
    plain, claimed = study_of("road_car"), study_of("road_car", 0.5)
    for share, row in claimed.items():
        assert row.sooner == plain[share].sooner
        assert row.longer is not None
        if share < 1:
            assert row.life_factor > 1
            assert row.longer.cost.value < row.sooner.cost.value
        if share > 1:
            assert row.life_factor < 1
            assert row.longer.cost.value > row.sooner.cost.value


def never(case: Case, factor: float = 1.0) -> tuple[float, float]:
    """Chances that the present part fails, and is replaced after an alarm, if nothing else is."""
    ready = prepared(lasting_longer(grounds(case), factor))
    counts, _ = ready.present.evaluate(ready.prices)
    return float(counts.fails[-1] @ ready.weight), float(counts.alarm[-1] @ ready.weight)


@settings(max_examples=8, deadline=None)
@given(
    share=st.sampled_from([1.0, 0.8]),
    silent=st.floats(0.0, 0.9),
    lead=st.floats(3000, 30000),
    sees=st.floats(0.2, 1.0),
)
def test_twice_as_many_samples_never_let_more_fail(
    share: float, silent: float, lead: float, sees: float
) -> None:
    """Every sample stays and others come between, of fresher oil, told without noise: fewer fail,
    more are seen. (With noise a shorter fill may tell less.)"""
    case = sampled_case("road_car")
    elements = tuple(replace(element, noise=0.0) for element in case.oil.element)
    warning = replace(
        case.warning,
        lead=Quantity(lead / 2, lead * 2),
        silent=Quantity(silent, silent, share=True),
    )
    every = share * case.interval
    case = replace(with_oil(case, element=elements, investigation_sees=sees), warning=warning)
    case = with_oil(case, next_change_in=every / 2)
    rare, often = never(at_interval(case, every)), never(at_interval(case, every / 2))
    assert often[0] <= rare[0] + 1e-6
    assert often[1] >= rare[1] - 1e-6


def test_noise_takes_back_some_of_what_more_samples_give() -> None:
    case = sampled_case("road_car")
    loud = tuple(replace(element, noise=3 * element.noise) for element in case.oil.element)
    half = at_interval(case, case.interval / 2)
    noisy = at_interval(with_oil(case, element=loud), case.interval / 2)
    assert never(noisy)[0] > never(half)[0]
    # and more so than at the interval now, where the same noise is a smaller share of the reading
    lost_now = never(with_oil(case, element=loud))[0] - never(case)[0]
    assert never(noisy)[0] - never(half)[0] > lost_now > 0


def test_of_silent_parts_no_interval_sees_anything() -> None:
    case = sampled_case("road_car")
    silent = replace(case.warning, silent=Quantity(1.0, 1.0, share=True))
    case = replace(case, warning=silent)
    for every in (0.5, 1.0, 1.5):
        fails, alarmed = never(at_interval(case, every * case.interval))
        assert alarmed == 0
        # the chance itself, from the curve alone
        told = grounds(case).curves
        alone = 1 - conditional_survival(case.age, case.keep, told.shape, told.scale) @ told.weight
        assert fails == pytest.approx(float(alone), rel=1e-9)


@settings(max_examples=8, deadline=None)
@given(factor=st.floats(0.6, 2.0), more=st.floats(1.02, 1.5))
def test_the_longer_life_lasts_the_less_fail(factor: float, more: float) -> None:
    case = sampled_case("road_car", sample=False)
    assert never(case, factor * more)[0] < never(case, factor)[0]


@given(
    age=st.floats(1, 3e5),
    ahead=st.floats(1, 3e5),
    shape=st.floats(0.4, 8),
    factor=st.floats(0.3, 3),
)
def test_slower_wear_is_a_stretch_of_the_whole_clock(
    age: float, ahead: float, shape: float, factor: float
) -> None:
    """S(a + d / k) / S(a) on a curve of scale n is that of age ka and d more on one of scale kn."""
    slower = conditional_survival(age, ahead / factor, shape, 1.5e5)
    stretched = conditional_survival(factor * age, ahead, shape, factor * 1.5e5)
    assert float(slower) == pytest.approx(float(stretched), rel=1e-9, abs=1e-12)


def test_what_is_believed_of_the_part_today_hangs_on_no_interval_to_come() -> None:
    """How likely the samples are on each curve and in each world stays what it is."""
    case = sampled_case("road_car_hint")
    found = []
    for factor in (1.0, 1.4):
        ready = prepared(lasting_longer(grounds(case), factor))
        found.append(ready.present.likely)
    assert np.ptp(found[0]) > 0.1  # they do tell one world from another
    np.testing.assert_allclose(found[1], found[0], rtol=5e-3)


def test_the_next_change_stays_where_it_is_unless_it_is_farther() -> None:
    case = sampled_case("road_car")  # 8,000 of 10,000 km to go
    assert at_interval(case, 12000).next_change_in == 8000
    assert at_interval(case, 5000).next_change_in == 5000
    calendar = with_oil(case, every_months=6)
    assert calendar.interval == pytest.approx(5750)
    assert at_interval(calendar, 9000).interval == 9000


def test_oil_and_samples_cost_what_they_are_held() -> None:
    """A part that outlives everything: services at 5, 10, .. 30 thousand km within 34.5, each an
    oil change of 170 and a sample of 35; nothing discounted."""
    case = sampled_case("road_car")
    cost = replace(
        case.cost,
        discount_rate=0.0,
        oil_change=Quantity(170, 170),
        sample=Quantity(35, 35),
        sale_credit=Quantity(0, 0),
    )
    case = replace(case, cost=cost, life=replace(case.life, b50_prior=Quantity(1e9, 1e9)))
    for every, held in ((5000, 6), (10000, 3), (15000, 2)):
        outcome = row_of(case, every).sooner
        assert outcome.at is None
        assert outcome.oil == pytest.approx(held * 205 / 3, rel=1e-6)
        alarms = outcome.urgent.value + outcome.other_alarms.value
        assert alarms == pytest.approx(held * case.oil.false_alarm, rel=1e-6)


def test_the_plan_keeps_to_the_owners_ceiling() -> None:
    free, bound = (
        row_of(sampled_case("road_car", **plan), 5000).sooner for plan in ({}, {"most_risk": 0.06})
    )
    assert isinstance(free, Outcome)
    assert bound.failure.value <= 0.06
    assert bound.cost.value >= free.cost.value - 1e-9


@pytest.mark.parametrize(
    ("every", "message"),
    [(500, "oil.turnaround"), (math.nan, "oil.turnaround"), (501, ""), (100.0, "turnaround")],
)
def test_an_interval_that_cannot_be(every: float, message: str) -> None:
    case = sampled_case("road_car")
    if not message:
        assert case.keep / every < 120
        return
    with pytest.raises(CannotAnswer, match=message):
        interval_study(case, [every])


def test_too_many_services_are_refused() -> None:
    case = with_oil(sampled_case("road_car"), turnaround=0.0)
    with pytest.raises(CannotAnswer, match="expected at most 120"):
        interval_study(case, [100.0])
    assert all(every > 0 for every in usual_intervals(case))


def test_intervals_asked_twice_are_one_row() -> None:
    study = interval_study(sampled_case("road_car"), [5000, 5000, 10000])
    assert [row.every for row in study.rows] == [5000, 10000]


@pytest.mark.parametrize(
    ("sees", "accepted", "count"),
    [
        (0.5, 0.1, 3.32), (0.5, 0.05, 4.32), (0.5, 0.01, 6.64), (0.5, 0.001, 9.97),
        (0.7, 0.1, 1.91), (0.7, 0.05, 2.49), (0.7, 0.01, 3.82), (0.7, 0.001, 5.74),
        (0.8, 0.1, 1.43), (0.8, 0.05, 1.86), (0.8, 0.01, 2.86), (0.8, 0.001, 4.29),
        (0.9, 0.1, 1.00), (0.9, 0.05, 1.30), (0.9, 0.01, 2.00), (0.9, 0.001, 3.00),
        (0.95, 0.1, 0.77), (0.95, 0.05, 1.00), (0.95, 0.01, 1.54), (0.95, 0.001, 2.31),
    ],
)  # fmt: skip
def test_inspections_needed(sees: float, accepted: float, count: float) -> None:
    """n = ln(P_acc) / ln(1 - theta): NAVAIR 00-25-403, as quoted; the figures are recomputed."""
    assert needed(sees, accepted) == pytest.approx(count, abs=0.005)


def test_inspections_needed_at_the_ends() -> None:
    assert needed(0.0, 0.1) == math.inf
    assert needed(1.0, 0.1) == 1


def test_the_rule_holds_for_a_whole_number_alone() -> None:
    """A P-F interval of 10, an inspection every 15 that sees 9 of 10: 0.40 are missed and not
    0.1^(10 / 15) = 0.22 (worked out beforehand)."""
    assert missed(10, 15, 0.9) == pytest.approx(0.40)
    assert missed(30, 15, 0.9) == pytest.approx(0.01)


@settings(max_examples=25)
@given(net=st.floats(0.5, 40), every=st.floats(1, 20), sees=st.floats(0.05, 0.95))
def test_missed_is_the_mean_over_where_the_interval_begins(
    net: float, every: float, sees: float
) -> None:
    start = (np.arange(20_000) + 0.5) / 20_000 * every
    inside = np.floor((start + net) / every) - np.floor(start / every)
    assert missed(net, every, sees) == pytest.approx(float(np.mean((1 - sees) ** inside)), abs=2e-4)


def test_net_warning_is_the_lead_less_the_turnaround() -> None:
    """SAE JA1012 (2002) 3.19: from finding a potential failure to the functional failure."""
    case = sampled_case("road_car")  # lead 4,000 to 30,000 km, 500 km to the result
    short, middle, long = net_warning(case)
    assert (short, long) == (3500, 29500)
    assert middle == pytest.approx(math.sqrt(4000 * 30000) - 500)
    warned = study_of("road_car")[0.5].warned
    assert warned is not None
    assert warned.middle == pytest.approx(middle / 5000)
    slow = with_oil(case, turnaround=5000.0)
    assert net_warning(slow)[0] == 0


def test_a_sample_that_always_tells_sees_what_the_investigation_sees() -> None:
    """The chance that one sample sees it is at most that of the look, and rises with the signal."""
    case = sampled_case("road_car")
    strong = tuple(replace(e, rise=Quantity(900, 900), noise=0.0) for e in case.oil.element)
    plain, loud = (
        next(row.warned for row in interval_study(each, [5000]).rows if row.every == 5000)
        for each in (case, with_oil(case, element=strong))
    )
    assert plain is not None
    assert loud is not None
    assert plain.sees < loud.sees <= case.oil.investigation_sees
    assert loud.caught.caught.mean > plain.caught.caught.mean


def test_history_is_read_at_ages_stretched_alike() -> None:
    case = sampled_case("road_car_hint")
    plain = history(case)
    stretched = lasting_longer(grounds(case), 1.3).taken
    assert plain is not None
    assert stretched is not None
    np.testing.assert_allclose(stretched.ages, 1.3 * plain.ages)
    assert stretched.today == pytest.approx(1.3 * plain.today)
