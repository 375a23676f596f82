"""Grounds kept while prices and plans move give the answer of the case weighed anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.prepared import grounds, prepared
from riskmodel.decision.weigh import weigh
from riskmodel.page.examples import example
from riskmodel.records.quantity import Quantity


@pytest.mark.parametrize("folder", ["road-car"])
def test_moved_prices_and_plans_on_kept_grounds(folder: str) -> None:
    case = example(folder)
    kept = grounds(case)
    cost = replace(case.cost, planned=Quantity(1_000.0, 1_500.0), discount_rate=0.06)
    plan = replace(case.plan, keep_years=2.0, most_risk=None, booking_weeks=0.0)
    moved = replace(case, cost=cost, plan=plan)
    ours, anew = weigh(moved, ground=kept), weigh(moved)
    assert ours.plans == anew.plans
    assert ours.risk == anew.risk
    assert ours.retest == anew.retest
    assert ours.recommended == anew.recommended


def test_what_samples_tell_is_worked_out_again_only_where_it_changes() -> None:
    case = example("road-car")
    kept = grounds(case)
    assert kept.sampling is not None
    dearer = replace(case.cost, failure=Quantity(30_000.0, 40_000.0))
    assert prepared(kept, replace(kept.case, cost=dearer)).present.watch is kept.sampling
    oil = replace(kept.case.oil, false_alarm=0.1)
    other = prepared(kept, replace(kept.case, oil=oil)).present.watch
    assert other is not kept.sampling
    unsampled = replace(kept.case, plan=replace(kept.case.plan, sample=False))
    assert prepared(kept, unsampled).present.watch is not kept.sampling
    assert np.isclose(kept.ages.mean(), prepared(kept).ages.mean())
