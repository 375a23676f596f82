"""What the samples to come are worth is the difference to the same case without them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.flips import what_moves
from riskmodel.decision.results import Sampled
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
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


def in_doubt(case: Case) -> Case:
    warning = replace(
        case.warning, lead_factor=Quantity(0.5, 2.0), silent=Quantity(0.1, 0.5, share=True)
    )
    return replace(case, warning=warning)


@pytest.mark.parametrize("name", ["road_car_hint", "work_boat"])
def test_at_the_ends_of_what_it_rests_on(name: str) -> None:
    """With history and without: what the rows tell is the whole case weighed with that known."""
    case = in_doubt(sampled_case(name))
    rows = {each.key: each for each in what_moves(case).swings}
    assert {key for key, row in rows.items() if row.sampling_saves is not None} == {
        "warning.lead_factor",
        "warning.silent",
    }
    for key, changed in (
        ("warning.lead_factor", lambda v: {"lead_factor": exactly(v)}),
        ("warning.silent", lambda v: {"silent": exactly(v, share=True)}),
    ):
        row = rows[key]
        assert row.sampling_saves is not None
        for i in (0, 2):
            known = replace(case, warning=replace(case.warning, **changed(row.at[i])))
            total = min(row.now[i], row.later[i])
            assert row.sampling_saves[i] == pytest.approx(told(known).saves, abs=1e-3 * total)
    short, _, long = rows["warning.lead_factor"].sampling_saves or (0.0, 0.0, 0.0)
    if name == "work_boat":  # one that waits; a part that is replaced at once is not warned of
        assert short < 0 < long


def test_where_no_samples_are_planned_no_row_tells_what_they_save() -> None:
    case = unsampled(in_doubt(sampled_case("road_car_hint")))
    assert "warning.silent" in {row.key for row in what_moves(case).swings}
    assert all(row.sampling_saves is None for row in what_moves(case).swings)
