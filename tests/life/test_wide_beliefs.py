"""A belief about the shape as wide as may be stated: an answer or a plain refusal, no overflow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity


def with_belief(folder: str, low: float, high: float, *, records: bool) -> Case:
    case = example(folder)
    life = replace(case.life, shape_prior=Quantity(low, high))
    if records:
        return replace(case, life=life)
    life = replace(life, b50_prior=Quantity(case.age * 0.5, case.age * 3))
    return replace(case, life=life, records=None, part=replace(case.part, traits={}))


@pytest.mark.parametrize("folder", EXAMPLES)
@pytest.mark.parametrize("belief", [(0.3, 20.0), (0.05, 50.0)])
@pytest.mark.parametrize("b50", [None, Quantity(1.0, 1e9)])
def test_a_belief_alone(folder: str, belief: tuple[float, float], b50: Quantity | None) -> None:
    case = with_belief(folder, *belief, records=False)
    w = weigh(case if b50 is None else replace(case, life=replace(case.life, b50_prior=b50)))
    told = [plan.cost for plan in w.plans] + [plan.failure for plan in w.plans]
    assert np.isfinite([[each.low, each.value, each.high] for each in told]).all()
    assert w.long_run is not None
    assert np.isfinite(w.long_run.rate).all()
    assert w.long_run.cost.value <= w.long_run.never.value * (1 + 1e-9)


def test_records_of_many_parts_settle_it_all_the_same() -> None:
    """With 200 parts on record a belief five times as wide moves the next chance by little."""
    case = example("work-boat")
    wide = replace(case, life=replace(case.life, shape_prior=Quantity(0.3, 20.0)))
    usual, told = weigh(case).risk[0].chance.value, weigh(wide).risk[0].chance.value
    assert told == pytest.approx(usual, rel=0.15)


def test_too_wide_for_traits_is_refused() -> None:
    case = with_belief("road-car", 0.05, 50.0, records=True)
    assert case.part.traits
    with pytest.raises(CannotAnswer, match=r"life.shape_prior: found \[0.05, 50\], too wide"):
        weigh(case)
