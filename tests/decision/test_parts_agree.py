"""The parts of one answer agree with each other, whatever the case: identities, for drawn cases."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest

from riskmodel.decision.results import Interval, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from tests.oil.test_surge import surged

Rng = np.random.Generator
SOON = 0.02
"""How far chances of the same may lie apart, over themselves: failures of other causes, which some
count, and quadrature."""


def drawn(rng: Rng) -> Case:
    """A bundled case with some of its figures unlike."""

    def does(share: float) -> bool:
        return bool(rng.random() < share)

    case = example(str(rng.choice(list(EXAMPLES))))
    every = case.interval
    if does(0.5):
        keep = float(rng.choice([0.3, 0.8, 1.0, 1.5, 2.7, 6.0])) * every
        case = replace(case, plan=replace(case.plan, keep_usage=keep, keep_years=None))
    if does(0.5):
        ahead = float(rng.choice([0.01, 0.2, 0.6, 1.0])) * every
        case = replace(case, oil=replace(case.oil, next_change_in=ahead))
    weeks, slow = float(rng.choice([0, 2, 20, 60])), float(rng.choice([0.0, 0.05, 0.5]))
    case = replace(
        case,
        plan=replace(case.plan, booking_weeks=weeks, sample=does(0.7)),
        oil=replace(case.oil, turnaround=slow * every, retest_in=0.05 * every),
    )
    assert case.samples is not None
    rows = case.samples.rows[-int(rng.integers(1, 10)) :]
    case = replace(case, samples=replace(case.samples, rows=rows))
    if does(0.5):
        case = surged(case, float(rng.choice([2, 4, 30])), ("Pb", "Cu", "Sn"))
    if does(0.3):
        certain = exactly(float(rng.choice([0.0, 0.3])), share=True)
        known = replace(case.warning, lead_factor=exactly(1.0), silent=certain)
        case = replace(case, warning=known)
    return case


def intervals(told: Any, name: str = "") -> list[tuple[str, Interval]]:
    """All that an answer tells as an interval, by name."""
    if isinstance(told, Interval):
        return [(name, told)]
    if isinstance(told, tuple):
        return [x for i, each in enumerate(told) for x in intervals(each, f"{name}[{i}]")]
    if not is_dataclass(told) or isinstance(told, Case):
        return []
    return [x for f in fields(told) for x in intervals(getattr(told, f.name), f"{name}.{f.name}")]


@pytest.fixture(scope="module", params=range(24))
def answer(request: pytest.FixtureRequest) -> Weighing:
    return weigh(drawn(np.random.default_rng([2_811, request.param])), retest=True)


def test_every_mean_lies_in_its_interval_and_every_chance_between_0_and_1(
    answer: Weighing,
) -> None:
    told = intervals(answer)
    assert len(told) > 20
    for name, x in told:
        assert np.isfinite([x.value, x.low, x.high]).all(), name
        assert x.low <= x.value + 1e-9 * abs(x.value), name
        assert x.value <= x.high + 1e-9 * abs(x.high), name
        if name.endswith(("chance", "soon", "failure", "first", "alarm")):
            assert x.low >= -1e-12, name
            assert x.high <= 1 + 1e-12, name


def test_a_failure_soon_is_as_likely_wherever_it_is_told(answer: Weighing) -> None:
    soon = answer.risk[0]
    chance = soon.chance.value
    trade = answer.trade_off
    assert trade is not None
    assert trade.until == pytest.approx(soon.ahead)
    other = 0.0 if answer.other_causes is None else answer.other_causes.rate.value
    whole = 1 - (1 - chance) * np.exp(-other * soon.ahead)
    assert trade.chance.value == pytest.approx(whole, rel=SOON)
    waits = [p for p in answer.plans if p.at is not None and abs(p.at - soon.ahead) < 1e-6]
    for plan in waits:
        assert plan.present_failure.value == pytest.approx(chance, rel=SOON)
    assert answer.information is not None
    look = answer.information.inspection
    assert look is not None
    both = [each.chance.value * each.soon.value for each in (look.if_seen, look.if_not)]
    assert sum(both) == pytest.approx(chance, rel=SOON)


def test_outcomes_make_up_the_whole(answer: Weighing) -> None:
    assert answer.information is not None
    look, again = answer.information.inspection, answer.retest
    assert look is not None
    assert look.if_seen.chance.value + look.if_not.chance.value == pytest.approx(1)
    if again is None:
        return
    branches = again.if_surge, again.if_clear
    assert again.first.value + sum(b.chance.value for b in branches) == pytest.approx(1)
    assert answer.trade_off is not None
    # those that fail before the result count other causes, those after it wear alone
    fails = again.first.value + sum(b.chance.value * b.soon.value for b in branches)
    assert answer.risk[0].chance.value * (1 - SOON) <= fails
    assert fails <= answer.trade_off.chance.value * (1 + SOON)


def test_chances_grow_with_time_and_one_plan_is_the_cheapest(answer: Weighing) -> None:
    ahead = sorted(answer.risk, key=lambda each: each.ahead)
    assert np.all(np.diff([each.chance.value for each in ahead]) >= -1e-9)
    assert sum(plan.chance_cheapest for plan in answer.all_plans) == pytest.approx(1)
    for plan in answer.plans:
        assert plan.present_failure.value <= plan.failure.value + 1e-6
