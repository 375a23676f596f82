"""What the samples to come are worth is the difference to the same case without them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.results import Sampled
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from riskmodel.words.information import samples_sentence
from tests.decision.sampled_case import sampled_case


def told(case: Case) -> Sampled:
    known = weigh(case).information
    assert known is not None
    assert known.samples is not None
    return known.samples


def unsampled(case: Case) -> Case:
    return replace(case, plan=replace(case.plan, sample=False))


@pytest.mark.parametrize("name", ["work_boat", "road_car"])
def test_against_the_case_weighed_without_samples(name: str) -> None:
    case = sampled_case(name)
    with_samples, without = weigh(case), weigh(unsampled(case))
    assert with_samples.best is not None
    assert without.best is not None
    found = told(case)
    assert found.at == without.best.at
    assert found.cost == pytest.approx(without.best.cost.value, rel=1e-6)
    saved = without.best.cost.value - with_samples.best.cost.value
    assert found.saves == pytest.approx(saved, rel=1e-6, abs=1e-3)
    assert without.information is not None
    assert without.information.samples is None


def test_dear_samples_cost_more_than_they_save_and_it_says_so() -> None:
    case = sampled_case("work_boat")
    free = replace(case.cost, sample=exactly(0.0), investigation=exactly(0.0))
    dear = replace(case.cost, sample=exactly(2_000.0))
    gains, loses = (replace(case, cost=cost) for cost in (free, dear))
    assert told(gains).saves > 0 > told(loses).saves
    assert "saves about" in samples_sentence(weigh(gains), told(gains))
    assert "costs about" in samples_sentence(weigh(loses), told(loses))


def test_free_samples_that_may_be_ignored_are_worth_no_less_than_nothing() -> None:
    """With nothing paid for a sample or a look, and a replacement at short notice no dearer."""
    case = sampled_case("work_boat")
    cost = replace(case.cost, sample=exactly(0.0), investigation=exactly(0.0), urgent=None)
    assert told(replace(case, cost=cost)).saves > -0.005 * told(case).cost
