"""A part that is itself a later one, weighed and ranked: the two agree, and the first is no later.

What its curves are is checked in `tests/risk/test_later.py`; what asking again about a newly fitted
part costs, in `python -m tests.studies.does_it_pay refitted`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.basis import basis
from riskmodel.decision.intervals import lasting_longer
from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.decision.rank_quick import Quick, quick, waiting
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.walk_away import settled
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from riskmodel.records.tables import OilSamples
from riskmodel.risk.with_oil import chance_with_oil
from tests.decision.many_machines import machines

FITTED = 50_000.0


def as_later(case: Case) -> Case:
    """The same part, age and samples, fitted when the machine had run so far."""
    assert case.samples is not None
    rows = tuple(
        replace(row, reading=None if row.reading is None else row.reading + FITTED)
        for row in case.samples.rows
    )
    return replace(
        case,
        machine=replace(case.machine, reading=case.machine.reading + FITTED),
        part=replace(case.part, fitted_at=FITTED),
        samples=OilSamples(rows, case.samples.columns),
    )


def one(case: Case, shared: Shared | None = None) -> Quick:
    found = quick([case], [False], Shared() if shared is None else shared)[0]
    assert isinstance(found, Quick)
    return found


@pytest.mark.parametrize("base", ["road-car", "work-boat"])
@pytest.mark.parametrize("traits", [False, True])
def test_the_quick_form_agrees_with_the_full_one(base: str, traits: bool) -> None:
    """As close as for a machine's first part, in `test_rank`."""
    case = as_later(machines(1, base=base, seed=11, traits=traits)[0])
    found, full = one(case), settled(grounds(case))
    at, cost, failure = expected_costs(prepared(full))
    told = chance_with_oil(full.case, full.curves, found.until, full.taken, full.ages)
    assert found.chance.value == pytest.approx(told.with_oil.value[0], rel=0.03)
    assert found.chance.low == pytest.approx(told.with_oil.low[0], rel=0.2)
    assert found.chance.high == pytest.approx(told.with_oil.high[0], rel=0.2)
    np.testing.assert_allclose(found.cost, cost, rtol=0.03)
    np.testing.assert_allclose(found.failure, failure, atol=0.01)
    off = abs(found.waiting - waiting(at, cost, found.until))
    assert off < 0.12 * case.cost.planned.mean


def test_a_later_part_is_likelier_to_fail_and_shares_nothing_with_the_first() -> None:
    """Among machines alike in all else; what was kept for the one does not serve the other."""
    first = machines(1, seed=4, traits=False)[0]
    shared = Shared()
    alone = one(first), one(as_later(first))
    together = one(first, shared), one(as_later(first), shared), one(first, shared)
    assert alone[1].chance.value > 1.05 * alone[0].chance.value
    for found, wanted in zip(together, (*alone, alone[0]), strict=True):
        assert found.chance.value == pytest.approx(wanted.chance.value, rel=1e-9)
        np.testing.assert_allclose(found.cost, wanted.cost, rtol=1e-9)


def test_nothing_changes_where_later_parts_live_as_the_first() -> None:
    first = machines(1, seed=4, traits=False, samples=1)[0]
    first = replace(first, plan=replace(first.plan, new_part_life=exactly(1.0), sample=False))
    told, other = basis(first), basis(as_later(first))
    assert told.risk == other.risk
    one_way, another = (expected_costs(found.ready) for found in (told, other))
    for mine, theirs in zip(one_way, another, strict=True):
        np.testing.assert_array_equal(mine, theirs)


@pytest.mark.parametrize("factor", [0.8, 1.25])
def test_other_oil_intervals_leave_a_first_part_the_first(factor: float) -> None:
    """A slower pace is told as another age, not as a part fitted later or living as those after."""
    first = machines(1, seed=4, traits=False, samples=1)[0]
    for case, factors in ((first, 5), (as_later(first), 1)):
        found = prepared(lasting_longer(grounds(case), factor))
        assert len(found.joined.share) == factors
