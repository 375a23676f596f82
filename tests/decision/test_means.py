"""Means worked out at once are the means of what is worked out node by node."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.decision.lives import join
from riskmodel.decision.means import Means
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prepared import sampling_of
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
    faults = np.array([0.0, 0.1])
    present = PresentPart(case.age, curves, joined, timing_of(case), lead, repair, faults, sampling)
    each, _ = present.evaluate(prices)
    found = Means(present).at(prices)
    assert found.at.tolist() == each.at.tolist()
    assert present.weight.sum() == pytest.approx(1)
    np.testing.assert_allclose(found.counts, each.counts @ present.weight, atol=1e-12)
    np.testing.assert_allclose(found.lasts, each.lasts @ present.weight, atol=1e-12)
