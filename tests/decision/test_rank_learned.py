"""Harshness left to the records: the ranking's quick form learns it as the full one does, once for
all machines of the records."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision import rank_curves, rank_shared
from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.decision.rank_quick import Quick, quick, waiting
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.walk_away import settled
from riskmodel.life.joint_curves import JointCurves
from riskmodel.records.case import Case
from riskmodel.risk.driven import own_curves
from riskmodel.risk.with_oil import chance_with_oil
from riskmodel.use.learned import learned_use
from tests.decision.many_machines import driven_by, machines
from tests.risk.test_learned_harshness import recorded


def answers(cases: list[Case], shared: Shared | None = None) -> list[Quick]:
    found = quick(cases, [False] * len(cases), shared or Shared())
    assert all(isinstance(each, Quick) for each in found)
    return found  # type: ignore[return-value]


@pytest.mark.parametrize("base", ["road-car", "work-boat"])
def test_it_agrees_with_the_full_form_as_closely_as_where_harshness_is_stated(base: str) -> None:
    """The bounds of `test_rank`; with the harshness of the case itself the chance is another."""
    [plain] = machines(1, base=base, seed=11)
    case = driven_by(plain, np.random.default_rng(5))
    assert learned_use(case) is not case
    [found] = answers([case])
    full = settled(grounds(case))
    at, cost, failure = expected_costs(prepared(full))
    told = chance_with_oil(full.case, full.curves, found.until, full.taken, full.ages)
    assert found.chance.value == pytest.approx(told.with_oil.value[0], rel=0.03)
    assert found.chance.low == pytest.approx(told.with_oil.low[0], rel=0.2)
    assert found.chance.high == pytest.approx(told.with_oil.high[0], rel=0.2)
    assert found.without_oil == pytest.approx(told.without.value[0], rel=0.03)
    np.testing.assert_allclose(found.cost, cost, rtol=0.03)
    np.testing.assert_allclose(found.failure, failure, atol=0.01)
    assert abs(found.waiting - waiting(at, cost, found.until)) < 0.12 * case.cost.planned.mean
    [other] = answers([replace(case, stated=plain.stated | {"use.stretches"})])
    assert abs(other.without_oil / told.without.value[0] - 1) > 0.04


@pytest.mark.parametrize("shares", [{"hard": 1.0}, {"calm": 0.4, "hard": 0.6}])
def test_shared_curves_are_those_of_the_machine_itself(shares: dict[str, float]) -> None:
    """Its survival told to the shared ones afterwards: every mean and what is believed of harshness
    as where it was there from the beginning."""
    case = recorded(shares)
    own, (shared, _) = own_curves(case), Shared().curves(case, False)
    assert isinstance(own, JointCurves)
    assert isinstance(shared, JointCurves)
    for values in (np.log, np.square, np.reciprocal):
        wanted = own.mean(values(own.scale))
        assert shared.mean(values(shared.scale)) == pytest.approx(wanted, rel=2e-3)
    np.testing.assert_allclose(shared.weight @ shared.share, own.weight @ own.share, atol=2e-3)


def test_records_that_hold_the_part_itself_do_not_count_it_twice() -> None:
    """The case whose records have it as a running one, told so, has the curves of the case without
    it; they are joined as well."""
    case = recorded({"hard": 1.0})
    records = case.records
    assert records is not None
    own = replace(
        records,
        age=np.append(records.age, case.age),
        outcome=(*records.outcome, "running"),
        age_from=np.append(records.age_from, np.nan),
        entered_at=np.append(records.entered_at, 0.0),
        count=np.append(records.count, 1.0),
        cause=(*records.cause, "wear"),
        why=(*records.why, "scheduled"),
        covariates={"use": (*records.covariates["use"], "hard")},
    )
    [counted] = quick([replace(case, records=own)], [True], Shared())
    [plain] = answers([case])
    assert isinstance(counted, Quick)
    assert counted.chance.value == pytest.approx(plain.chance.value, rel=0.03)


def test_it_is_learned_once_for_all_that_share_records_and_traits(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whatever their stretches; other kinds of use, or stated harshness, are another matter."""
    calls = {"fit": 0, "join": 0}

    def counting(name: str, real: object) -> object:
        def call(*args: object) -> object:
            calls[name] += 1
            return real(*args)  # type: ignore[operator]

        return call

    monkeypatch.setattr(
        rank_shared, "left_to_records", counting("fit", rank_shared.left_to_records)
    )
    monkeypatch.setattr(
        rank_curves, "harshness_joined", counting("join", rank_curves.harshness_joined)
    )
    shared = Shared()
    cases = [recorded({"calm": 1 - each, "hard": each}) for each in (0.2, 0.5, 0.9)]
    same = [replace(case, records=cases[0].records) for case in cases]
    chances = [each.chance.value for each in answers(same, shared)]
    assert calls == {"fit": 1, "join": 1}
    assert chances == sorted(chances)
    stated = replace(same[0], stated=same[0].stated | {"use.kinds[2].harshness"})
    [told], [alone] = answers([stated], shared), answers([stated])
    assert calls == {"fit": 1, "join": 1}
    assert told.chance == alone.chance
    assert abs(told.chance.value / chances[0] - 1) > 0.02
