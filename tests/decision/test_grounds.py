"""Grounds kept while prices and plans move give the answer of the case weighed anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.basis import basis
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prepared import grounds, prepared
from riskmodel.decision.weigh import weigh
from riskmodel.page.examples import example
from riskmodel.records.case import Case, Inspection
from riskmodel.records.quantity import Quantity, exactly
from tests.decision.sampled_case import sampled_case


def cost(case: Case, **changes: object) -> Case:
    return replace(case, cost=replace(case.cost, **changes))


def plan(case: Case, **changes: object) -> Case:
    return replace(case, plan=replace(case.plan, **changes))


def sold(case: Case) -> Case:
    machine = replace(case.machine, value=9_000.0, value_later=exactly(5_000.0), scrap=500.0)
    return plan(replace(case, machine=machine), do_without=exactly(900.0))


MOVES: dict[str, Callable[[Case], Case]] = {
    "price": lambda c: cost(c, planned=Quantity(1_000.0, 1_500.0)),
    "failure": lambda c: cost(c, failure=exactly(40_000.0)),
    "fault": lambda c: cost(c, install_fault=exactly(0.05, share=True)),
    "rate": lambda c: cost(c, discount_rate=0.06),
    "ceiling": lambda c: plan(c, most_risk=None),
    "kept": lambda c: plan(c, keep_years=2.0, booking_weeks=0.0),
    "booking": lambda c: plan(c, booking_weeks=0.0),
    "new part": lambda c: plan(c, new_part_life=exactly(0.8)),
    "unsampled": lambda c: plan(c, sample=False),
    "given up": lambda c: plan(c, after_failure="stop"),
    "sale": sold,
}


def watched() -> Case:
    """A boat of known life with a history of samples, an inspection and a booking time: quick."""
    case = sampled_case("work_boat")
    looked = Inspection(exactly(300.0), 0.85, 0.002)
    return plan(replace(case, inspection=looked), booking_weeks=3.0, most_risk=0.4)


@pytest.mark.parametrize("move", MOVES)
def test_moved_prices_and_plans_on_a_kept_basis(move: str) -> None:
    case = watched()
    kept = basis(case)
    moved = MOVES[move](case)
    ours, anew = weigh(moved, base=kept), weigh(moved)
    assert ours.plans == anew.plans
    assert ours.risk == anew.risk
    assert ours.retest == anew.retest
    assert ours.information == anew.information
    assert ours.sale == anew.sale
    assert ours.recommended == anew.recommended
    again = weigh(case, base=kept)  # what was kept is as it was
    assert again.plans == weigh(case).plans


def test_a_price_works_out_no_chance_again(monkeypatch: pytest.MonkeyPatch) -> None:
    case = watched()
    kept = basis(case)
    weigh(case, base=kept)
    assert kept.bare is not None
    monkeypatch.setattr(PresentPart, "__init__", None)
    monkeypatch.setattr("riskmodel.decision.basis.grounds", None)
    monkeypatch.setattr("riskmodel.decision.basis._chances", None)
    for name in ("price", "failure", "ceiling", "sale"):
        weigh(MOVES[name](case), base=kept)


def test_an_engine_driven_hard_on_a_kept_basis() -> None:
    """With use at its nodes, traits and records, as on the page."""
    case = example("road-car")
    moved = MOVES["failure"](case)
    ours, anew = weigh(moved, base=basis(case)), weigh(moved)
    assert ours.plans == anew.plans
    assert ours.information == anew.information


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
