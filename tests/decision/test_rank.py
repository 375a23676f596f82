"""The ranking: the quick form against the full one, its order, what is told and what is not."""

from __future__ import annotations

import datetime
import pickle
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.decision.rank import (
    GivenCase,
    Standing,
    case_folders,
    of_group,
    place_of,
    rank,
    to_book,
)
from riskmodel.decision.rank_quick import Quick, quick, waiting
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.walk_away import settled
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.files import write_case
from riskmodel.records.quantity import exactly
from riskmodel.risk.with_oil import chance_with_oil
from riskmodel.words import rank as words
from tests.decision.many_machines import machines

TODAY = datetime.date(2026, 11, 1)


def one(case: Case) -> Quick:
    found = quick([case], [False], Shared())[0]
    assert isinstance(found, Quick)
    return found


@pytest.mark.parametrize("base", ["road-car", "work-boat"])
def test_the_quick_form_agrees_with_the_full_one(base: str) -> None:
    """Chance within 3 % of itself, waiting within 12 % of a planned replacement (the worst of the
    study were 1.8 % and 8.5 %), plan by plan within 3 % of its cost."""
    case = machines(1, base=base, seed=11)[0]
    found, full = one(case), settled(grounds(case))
    at, cost, failure = expected_costs(prepared(full))
    told = chance_with_oil(full.case, full.curves, found.until, full.taken, full.ages)
    assert found.chance.value == pytest.approx(told.with_oil.value[0], rel=0.03)
    assert found.chance.low == pytest.approx(told.with_oil.low[0], rel=0.2)
    assert found.chance.high == pytest.approx(told.with_oil.high[0], rel=0.2)
    assert found.without_oil == pytest.approx(told.without.value[0], rel=0.03)
    np.testing.assert_allclose(found.at, at)
    np.testing.assert_allclose(found.cost, cost, rtol=0.03)
    np.testing.assert_allclose(found.failure, failure, atol=0.01)
    off = abs(found.waiting - waiting(at, cost, found.until))
    assert off < 0.12 * case.cost.planned.mean


def test_without_samples_and_with_a_known_curve_it_is_nearly_exact() -> None:
    """No sample, one curve, use as average: what is left is the rule for parts to come."""
    case = machines(1, samples=1, traits=False)[0]
    case = replace(
        case,
        records=None,
        samples=None,
        life=replace(case.life, shape_prior=exactly(2.5), b50_prior=exactly(200_000.0)),
        plan=replace(case.plan, sample=False),
        use=replace(case.use, kinds=tuple(
            replace(kind, harshness=exactly(1.0)) for kind in case.use.kinds)),
    )  # fmt: skip
    found = one(case)
    at, cost, failure = expected_costs(prepared(settled(grounds(case))))
    np.testing.assert_allclose(found.at, at)
    np.testing.assert_allclose(found.cost, cost, rtol=0.005)
    np.testing.assert_allclose(found.failure, failure, atol=0.002)


def test_a_machine_weighs_the_same_alone_and_among_others() -> None:
    """But for the tables of readings that samples weighed at once share."""
    cases = machines(6, seed=5)
    together = quick(cases, [False] * len(cases), Shared())
    for case, found in zip(cases, together, strict=True):
        assert isinstance(found, Quick)
        assert found.waiting == pytest.approx(one(case).waiting, abs=5e-4 * case.cost.planned.mean)


def test_dearer_failures_rank_higher() -> None:
    case = machines(1, seed=9)[0]
    cost = case.cost
    dear = replace(case, cost=replace(cost, failure=exactly(2 * cost.failure.mean)))
    dear = replace(dear, machine=replace(dear.machine, value=None, scrap=None))
    case = replace(case, machine=dear.machine)
    assert one(dear).waiting > one(case).waiting


def test_a_part_counted_among_the_records_is_not_counted_twice() -> None:
    """The case with its own part as a running record, told so, is the case without."""
    case = machines(1, traits=False, seed=4)[0]
    assert case.records is not None
    own = replace(
        case.records,
        age=np.append(case.records.age, case.age),
        outcome=(*case.records.outcome, "running"),
        age_from=np.append(case.records.age_from, np.nan),
        entered_at=np.append(case.records.entered_at, case.part.entered_at),
        count=np.append(case.records.count, 1.0),
        cause=(*case.records.cause, "wear"),
        why=(*case.records.why, "scheduled"),
        covariates={name: (*v, v[0]) for name, v in case.records.covariates.items()},
    )
    for ratio in (1.0, 3.0):
        life = replace(case.life, reporting_ratio=ratio)
        plain, counted = replace(case, life=life), replace(case, life=life, records=own)
        told = quick([counted], [True], Shared())[0]
        assert isinstance(told, Quick)
        assert told.chance.value == pytest.approx(one(plain).chance.value, rel=0.01)


@dataclass(frozen=True)
class Broken:
    """A source that cannot be read."""

    name: str = "broken"
    overdue_days: int = 0

    def load(self) -> tuple[Case, bool]:
        raise CannotAnswer("nothing can be said of it")


@pytest.fixture(scope="module")
def standings() -> tuple[Standing, ...]:
    """Ranked: seven machines, one with symptoms, one with an overdue sample, one unreadable."""
    cases = machines(7, seed=2, samples=3)
    sick = replace(cases[0], machine=replace(cases[0].machine, symptoms=("knock",)))
    sources = [
        GivenCase("late", cases[1], overdue_days=9),
        *(GivenCase(f"m{i}", case) for i, case in enumerate(cases[2:])),
        GivenCase("sick", sick),
    ]
    told: list[tuple[int, int]] = []
    found = rank(
        [*sources, Broken()], today=TODAY, progress=lambda done, total: told.append((done, total))
    )
    assert told[-1] == (8, 8)
    assert [(u.name, u.why) for u in found.unread] == [("broken", ("nothing can be said of it",))]
    return found.standings


def test_symptoms_and_overdue_samples_come_first(standings: tuple[Standing, ...]) -> None:
    assert [s.name for s in standings[:2]] == ["sick", "late"]
    assert standings[0].waiting is None
    limited = [s.waits for s in standings[2:]].count(False)
    for some in (standings[2 : 2 + limited], standings[2 + limited :]):
        cost = [s.waiting for s in some if s.waiting is not None]
        assert len(cost) == len(some) > 1
        assert cost == sorted(cost, reverse=True)
    assert list(standings) == sorted(standings, key=place_of)


def test_what_waiting_costs_is_the_difference_told(standings: tuple[Standing, ...]) -> None:
    for s in standings[1:]:
        assert s.waiting is not None
        assert s.wait is not None
        assert s.now is not None
        assert s.waiting == pytest.approx(s.wait - s.now)
        assert s.best_saves is not None


def test_what_to_book_follows_the_due_days(standings: tuple[Standing, ...]) -> None:
    booked = to_book(standings, "2026-11")
    assert all(s.book_by is not None and "2026-11-01" <= s.book_by <= "2026-11-30" for s in booked)
    every = to_book(standings, "2040-01")
    assert {s.name for s in every} == {s.name for s in standings if s.due is not None}
    assert "sick" not in {s.name for s in every}
    assert [s.book_by for s in every] == sorted(s.book_by or "" for s in every)


def test_groups_are_told_apart_by_the_part_code(standings: tuple[Standing, ...]) -> None:
    code = standings[0].code
    assert of_group(standings, f" {code.upper()}") == standings
    assert of_group(standings, "none such") == ()


def test_every_machine_says_why(standings: tuple[Standing, ...]) -> None:
    assert "have it towed" in words.why(standings[0])
    assert "overdue by 9 days" in words.why(standings[1])
    for s in standings[1:]:
        assert "would fail before the next oil change" in words.why(s)
        assert "than replacing now" in words.why(s)


def test_the_first_can_be_weighed_fully() -> None:
    cases = machines(2, seed=6, samples=2)
    found = rank([GivenCase(f"m{i}", case) for i, case in enumerate(cases)], today=TODAY, full=1)
    assert [s.full for s in found.standings].count(True) == 1


def test_sources_travel_to_other_processes(standings: tuple[Standing, ...]) -> None:
    source = GivenCase("m", machines(1)[0])
    assert pickle.loads(pickle.dumps(source)).load()[0].age == source.case.age
    assert pickle.loads(pickle.dumps(standings)) == standings


@pytest.mark.slow
def test_two_processes_rank_as_one() -> None:
    sources = [GivenCase(f"m{i}", case) for i, case in enumerate(machines(60, samples=2))]
    one_process = rank(sources, today=TODAY, workers=1)
    two = rank(sources, today=TODAY, workers=2)
    assert [s.name for s in two.standings] == [s.name for s in one_process.standings]


def test_case_folders_are_found_below_a_folder(tmp_path: Path) -> None:
    for name in ("b", "a"):
        write_case(machines(1, samples=1)[0], tmp_path / "cases" / name)
    assert [source.name for source in case_folders(tmp_path)] == ["a", "b"]
    with pytest.raises(InputError, match="no such folder"):
        case_folders(tmp_path / "none")
    (tmp_path / "empty").mkdir()
    with pytest.raises(InputError, match="no case"):
        case_folders(tmp_path / "empty")
