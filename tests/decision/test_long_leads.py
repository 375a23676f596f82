"""Distress that lasts a thousand times as long as the part: nothing is worked out too coarsely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision import sampling, watched
from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity


def with_lead(case: Case, times: float) -> Case:
    lead = case.warning.lead
    longer = Quantity(lead.low * times, lead.high * times)
    return replace(case, warning=replace(case.warning, lead=longer))


@pytest.mark.parametrize("folder", EXAMPLES)
@pytest.mark.parametrize("times", [30, 1000])
def test_as_worked_out_far_more_finely(
    folder: str, times: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = with_lead(example(folder), times)
    _, costs, failure = expected_costs(prepared(grounds(case)))
    monkeypatch.setattr(sampling, "COARSE", 400)
    monkeypatch.setattr(sampling, "MOST_COARSE", 400)
    monkeypatch.setattr(watched, "BEYOND", 150)
    _, finer, certain = expected_costs(prepared(grounds(case)))
    assert costs == pytest.approx(finer, rel=2e-3)
    assert failure == pytest.approx(certain, abs=2e-4)


@pytest.mark.parametrize("folder", EXAMPLES)
def test_beyond_the_life_of_a_part_a_longer_lead_tells_no_more(folder: str) -> None:
    """Distress then shows from the first mile on, whether a hundred or a thousand lives long."""
    long, longer = (
        expected_costs(prepared(grounds(with_lead(example(folder), times)))) for times in (3e3, 3e4)
    )
    assert longer[1] == pytest.approx(long[1], rel=2e-3)
    assert np.abs(longer[2] - long[2]).max() < 1e-3
