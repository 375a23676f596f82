"""The trade's facts about oil samples, in the verdict (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.results import Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from tests.oil.test_surge import surged


def waiting(folder: str) -> Case:
    """An example whose workshop has time, an oil change just done and no ceiling on risk, with the
    job dearer by half: its usual samples leave it waiting."""
    case = example(folder)
    plan = replace(case.plan, booking_weeks=0.0, most_risk=None)
    dearer = Quantity(1.5 * case.cost.planned.low, 1.5 * case.cost.planned.high)
    oil = replace(case.oil, next_change_in=None)
    return replace(case, plan=plan, oil=oil, cost=replace(case.cost, planned=dearer))


def replaces_now(w: Weighing) -> bool:
    return w.recommended == 0 and not w.retest_first


@pytest.mark.parametrize("folder", EXAMPLES)
def test_a_surge_of_the_parts_own_metals_makes_acting_now_the_verdict(folder: str) -> None:
    case = waiting(folder)
    assert not replaces_now(weigh(case))
    assert replaces_now(weigh(surged(case, 5, ("Pb", "Cu", "Sn"))))


@pytest.mark.parametrize("folder", EXAMPLES)
def test_a_surge_of_a_metal_that_the_part_does_not_shed_moves_nothing(folder: str) -> None:
    case = waiting(folder)
    plain, iron = weigh(case), weigh(surged(case, 10, ("Fe", "Si")))
    assert iron.recommended == plain.recommended
    assert iron.risk == plain.risk


@pytest.mark.parametrize("folder", EXAMPLES)
def test_clean_samples_are_no_all_clear(folder: str) -> None:
    """Where distress is shorter than the interval they lower the chance only modestly."""
    case = waiting(folder)
    short = Quantity(0.1 * case.interval, 0.5 * case.interval)
    case = replace(case, warning=replace(case.warning, lead=short))
    assert case.samples is not None
    *earlier, last = case.samples.rows
    before = earlier[-1].elements
    as_before = {symbol: before.get(symbol, value) for symbol, value in last.elements.items()}
    rows = (*earlier, replace(last, elements=as_before))
    case = replace(case, samples=replace(case.samples, rows=rows))
    factor = weigh(case).risk[0].oil_factor
    assert factor is not None
    assert 0.75 < factor < 1.02
