"""Machines of which nothing is told of how they were used: the ranking's chances against those of
`weigh`, and its few pairs of curve and use against all pairs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.basis import basis
from riskmodel.decision.rank_pairs import PAIRS, paired
from riskmodel.decision.rank_quick import Quick, quick
from riskmodel.decision.rank_shared import Shared
from riskmodel.life.joint_curves import JointCurves
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.risk.driven import own_curves
from riskmodel.use.aged import aged_curves, chance_ahead
from riskmodel.use.effective_age import use_of
from riskmodel.use.learned import learned_use
from tests.decision.many_machines import machines
from tests.risk.test_learned_harshness import recorded


def untold(case: Case) -> Case:
    """The machine with the standard kinds of use, and nothing told of which it saw."""
    use = replace(case.use, kinds=(), stretches=(), ahead={})
    return replace(case, use=use, stated=frozenset(k for k in case.stated if "use." not in k))


def believing(case: Case, shape: tuple[float, float], half_by: tuple[float, float]) -> Case:
    """The machine without records and samples, its life a belief."""
    life = replace(case.life, shape_prior=Quantity(*shape), b50_prior=Quantity(*half_by))
    return replace(untold(case), records=None, samples=None, life=life)


CASES = {
    "car": machines(1, seed=11)[0],
    "second car": machines(2, seed=11)[1],
    "boat": machines(1, base="work-boat", seed=11)[0],
    "fourth boat": machines(4, base="work-boat", seed=11)[3],
}
TOLD = {name: untold(case) for name, case in CASES.items()} | {
    "believed": believing(CASES["car"], (1.2, 5.0), (150_000.0, 300_000.0)),
    "hardly known": believing(CASES["car"], (0.5, 8.0), (100_000.0, 300_000.0)),
}


@pytest.mark.parametrize("name", TOLD)
def test_chances_of_machines_of_unknown_use_are_those_of_weigh(name: str) -> None:
    """Means within 0.8 % of themselves, ends of intervals within 5 %: with one node of use for
    every curve alike they were 1.6 to 3.3 % and up to 17 % off."""
    case = TOLD[name]
    [found] = quick([case], [False], Shared())
    assert isinstance(found, Quick)
    soon = basis(case).risk[0]
    without = soon.chance if soon.without_oil is None else soon.without_oil
    assert found.until == pytest.approx(soon.ahead)
    assert found.chance.value == pytest.approx(soon.chance.value, rel=0.008)
    assert found.chance.low == pytest.approx(soon.chance.low, rel=0.05)
    assert found.chance.high == pytest.approx(soon.chance.high, rel=0.05)
    assert found.without_oil == pytest.approx(without.value, rel=0.008)


def test_few_pairs_tell_what_all_tell() -> None:
    """Against every pair of curve and node: mean chances at the usages that were asked for almost
    to the digit, those between them nearly, ends of intervals within 7 and 5 %."""
    case = CASES["boat"]
    curves, use, known = own_curves(case), use_of(case), (case.part.entered_at, case.age)
    ahead = case.oil.interval * np.array([0.5, 2.0, 6.0])
    few = paired(curves, use, known, ahead[[0, 2]])
    assert PAIRS < len(few) < 2.5 * PAIRS
    assert few.weight.sum() == pytest.approx(1)
    assert np.ptp(np.bincount(few.curve)) > 5  # the likeliest curves have the most nodes
    mean, low, high = chance_ahead(aged_curves(curves, use, known, None), ahead)
    got = chance_ahead(few, ahead)
    np.testing.assert_allclose(got[0][[0, 2]], mean[[0, 2]], rtol=5e-4)
    np.testing.assert_allclose(got[0][1], mean[1], rtol=2e-3)
    np.testing.assert_allclose(got[1], low, rtol=0.07)
    np.testing.assert_allclose(got[2], high, rtol=0.05)


@pytest.mark.parametrize("shares", [{"hard": 1.0}, {"calm": 0.4, "hard": 0.6}])
def test_pairs_of_curves_joined_with_harshness_tell_what_all_tell(shares: dict[str, float]) -> None:
    """Harshness learned from the records: mean chances within 0.4 % of those of all pairs (with
    one pair for every curve alike up to 1.9 %)."""
    case = recorded(shares)
    curves, use, known = own_curves(case), use_of(learned_use(case)), (0.0, case.age)
    assert isinstance(curves, JointCurves)
    ahead = case.oil.interval * np.array([1.0, 4.0])
    few = paired(curves, use, known, ahead)
    assert len(few) < 2.5 * PAIRS
    mean, _, _ = chance_ahead(aged_curves(curves, use, known, None), ahead)
    np.testing.assert_allclose(chance_ahead(few, ahead)[0], mean, rtol=0.004)


def test_nothing_is_left_out_where_there_is_time_for_all() -> None:
    """One curve whose kinds of use have a known harshness: every node of what is not told."""
    case = CASES["car"]
    life = replace(case.life, shape_prior=exactly(2.5), b50_prior=exactly(200_000.0))
    kinds = tuple(replace(kind, harshness=exactly(1.5)) for kind in case.use.kinds)
    case = replace(case, records=None, life=life, use=replace(case.use, kinds=kinds))
    curves, use, known = own_curves(case), use_of(case), (case.part.entered_at, case.age)
    every, found = aged_curves(curves, use, known, None), paired(curves, use, known, 1e4)
    assert 1 < len(use.weight) < PAIRS
    np.testing.assert_allclose(found.weight, every.weight)
    np.testing.assert_allclose(found.age, every.age)
