"""The ranking's advice is the verdict's own: selling today by the quick form as by the full one, a
look or a second sample first where a machine is weighed in full."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.decision.rank import GivenCase, Standing, rank, to_book
from riskmodel.decision.rank_quick import Quick, quick
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.sale import sold_instead
from riskmodel.decision.weigh import recommended, weigh
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.words import rank as words
from riskmodel.words.plan_names import advice, lower_first
from tests.decision.many_machines import machines
from tests.risk.cases import case_with

TODAY = datetime.date(2026, 11, 1)


def exact(**sections: object) -> Case:
    """A car of 100,000 km, its part's life known but for how it is used; quickly weighed."""
    told = {"life": {"shape_prior": 3, "b50_prior": 180_000}, **sections}
    return case_with(None, **told)


def standing(case: Case, full: int = 0) -> Standing:
    [found] = rank([GivenCase("m", case)], today=TODAY, full=full, workers=1).standings
    return found


def standings(cases: list[Case]) -> list[Standing]:
    """Of each, in the order given."""
    sources = [GivenCase(str(i), case) for i, case in enumerate(cases)]
    found = rank(sources, today=TODAY, workers=1).standings
    return sorted(found, key=lambda s: int(s.name))


def quickly(cases: list[Case]) -> list[Quick]:
    found = quick(cases, [False] * len(cases), Shared())
    assert all(isinstance(each, Quick) for each in found)
    return found  # type: ignore[return-value]


def one(case: Case) -> Quick:
    return quickly([case])[0]


def offered(case: Case, found: Quick, rng: np.random.Generator, times: float) -> Case:
    """The machine may be sold, at prices drawn so that selling costs `times` what its best plan
    does: a year without it is worked out from payments day by day."""
    value, rate = float(rng.uniform(8_000, 20_000)), case.cost.discount_rate
    later, upkeep = float(rng.uniform(0.3, 0.9)) * value, float(rng.uniform(0, 900))
    case = replace(
        case,
        machine=replace(
            case.machine, value=value, scrap=None, value_later=exactly(later),
            upkeep=exactly(upkeep),
        ),
    )  # fmt: skip
    best = recommended(case, found.at, found.cost, found.failure)
    years = case.keep / case.machine.usage_per_year
    day = (np.arange(200_000) + 0.5) / 200_000 * years
    a_year = float(np.mean((1 + rate) ** -day)) * years
    forgone = value - later * (1 + rate) ** -years
    without = (times * float(found.cost[best]) + forgone) / a_year + upkeep
    return replace(case, plan=replace(case.plan, do_without=exactly(without)))


def drawn(count: int, seed: int) -> list[tuple[Case, float]]:
    """Machines unlike in age, use, prices and times of keeping, and how selling each compares."""
    rng, kept = np.random.default_rng(seed), []
    for case in machines(count, samples=1, seed=seed):
        rate = float(rng.uniform(0, 0.08))
        case = replace(
            case,
            machine=replace(case.machine, value=None, scrap=None),
            samples=None,
            inspection=replace(case.inspection, cost=None),
            cost=replace(case.cost, discount_rate=rate),
            plan=replace(case.plan, sample=False, most_risk=None),
        )
        kept.append(case)
    found = []
    for case, told in zip(kept, quickly(kept), strict=True):
        times = float(np.exp(rng.choice([-1, 1]) * rng.uniform(0.02, 0.5)))
        found.append((offered(case, told, rng, times), times))
    return found


def test_a_sale_is_the_verdict_where_the_full_form_has_it() -> None:
    """Drawn cases, selling from 40 % cheaper to 65 % dearer than the best plan, none nearer to a
    tie than 2 % (plans of the quick form are off by less here). Its cost is the full one's to the
    digit, and what payments day by day come to."""
    sold = 0
    cases, wanted = zip(*drawn(5, seed=3), strict=True)
    for case, times, found, here in zip(
        cases, wanted, quickly([*cases]), standings([*cases]), strict=True
    ):
        told = weigh(case)
        assert told.sale is not None
        assert told.sale.plan is not None
        assert found.sale == pytest.approx(told.sale.plan.cost.value, rel=1e-12)
        best = recommended(case, found.at, found.cost, found.failure)
        assert found.sale == pytest.approx(times * float(found.cost[best]), rel=1e-6)
        assert (here.instead == "sale") is told.sells is (times < 1)
        assert here.selling == found.sale
        if told.sells:
            assert here.instead_saves == pytest.approx((1 - times) * float(found.cost[best]))
            assert (here.due, here.book_by) == (None, None)
            assert not to_book([here], "2060-01")
        sold += told.sells
    assert 1 <= sold <= 4


def test_a_dearer_sale_alone_keeps_to_a_ceiling_that_no_plan_does() -> None:
    case = exact(
        machine={"value": 9_000, "value_later": 6_000},
        plan={"keep_years": 3, "do_without": 9_000, "most_risk": 0.001},
        cost={"planned": 2_000, "failure": 12_000, "install_fault": 0.02},
    )
    told, here = weigh(case), standing(case)
    assert told.sells
    assert here.instead == "sale"
    assert here.instead_saves is not None
    assert here.instead_saves < 0
    assert "alone keeps to the limit on failures" in words.why(here)
    loose = standing(replace(case, plan=replace(case.plan, most_risk=0.9)))
    assert (loose.instead, loose.selling) == (None, here.selling)


def test_which_of_the_two_a_sale_is_held_against() -> None:
    assert sold_instead(99.0, 100.0, 0.5, None)
    assert not sold_instead(101.0, 100.0, 0.5, None)
    assert not sold_instead(101.0, 100.0, 0.5, 0.5)
    assert sold_instead(101.0, 100.0, 0.51, 0.5)


def test_nothing_is_sold_where_life_without_it_is_not_stated() -> None:
    here = standing(exact(machine={"value": 9_000, "value_later": 1}))
    assert (here.selling, here.instead) == (None, None)


SALE = exact(
    machine={"value": 9_000, "value_later": 1_000},
    plan={"keep_years": 3, "do_without": 500},
)
LOOK = exact(inspection={"cost": 5})
LATER = exact()
NEVER = exact(cost={"planned": 11_000, "failure": 11_000})


@pytest.mark.parametrize("case", [SALE, LOOK, LATER, NEVER])
def test_weighed_in_full_the_advice_is_the_verdicts(case: Case) -> None:
    told, here = weigh(case), standing(case, full=1)
    named = advice(told)
    assert named is not None
    assert here.full
    if told.sells or told.first_step:
        assert words.advice(here) == lower_first(named.name)
        assert here.instead == ("sale" if told.sells else told.first_step)
    else:
        assert here.instead is None
        assert (here.best_at, words.advice(here)[:7]) == (named.at, lower_first(named.name)[:7])


def test_a_look_is_booked_at_once_whatever_the_part_is_replaced_by() -> None:
    here = standing(LOOK, full=1)
    assert here.instead == "inspection"
    assert here.book_by == TODAY.isoformat()
    assert to_book([here], "2026-11") == (here,)
    [told] = words.booking([here], "2026-11")
    assert told.replace("\u00a0", " ").endswith(
        ": look at the part first, then decide; book by 1 November 2026."
    )


def test_what_the_quick_form_leaves_out_is_told() -> None:
    plain = standing(LOOK)
    assert (plain.unweighed, plain.instead) == (("inspection",), None)
    assert words.why(plain).endswith("A look first may be worth it: weigh this one in full.")
    assert standing(LOOK, full=1).unweighed == ()
    assert standing(LATER).unweighed == ()


def test_after_a_hint_in_the_samples_a_second_one_may_be_worth_it() -> None:
    """From a factor of 1.5 on, as the full form weighs one; not where its result would be too
    late."""
    plain = [
        replace(case, inspection=replace(case.inspection, cost=None))
        for case in machines(6, seed=21, samples=4)
    ]
    late = replace(plain[4], oil=replace(plain[4].oil, retest_in=9_000.0))
    cases = [*plain, late]
    hints = []
    for case, here, found in zip(cases, standings(cases), quickly(cases), strict=True):
        assert found.oil_factor is not None
        in_time = case.oil.retest_in + case.oil.turnaround < found.until
        hints.append((found.oil_factor >= 1.5, in_time))
        assert here.unweighed == (("retest",) if all(hints[-1]) else ())
        if here.unweighed:
            assert "A second sample first may be worth it" in words.why(here)
    assert {*hints} >= {(True, True), (True, False), (False, True)}


@pytest.mark.parametrize("scrap", [None, 8_000.0])
def test_a_range_enters_by_its_mean_and_walking_away_is_no_matter(scrap: float | None) -> None:
    """With a wreck worth nearly as much as the machine, a failure is walked away from."""
    plan = replace(SALE.plan, do_without=Quantity(300.0, 900.0))
    ranged = replace(SALE, plan=plan, machine=replace(SALE.machine, scrap=scrap))
    assert weigh(ranged).walks_away is (scrap is not None)
    told = weigh(ranged).sale
    assert told is not None
    assert told.plan is not None
    assert one(ranged).sale == pytest.approx(told.plan.cost.value, rel=1e-12)


def test_one_to_be_replaced_now_for_its_owners_limit_stands_before_those_that_can_wait() -> None:
    """Though waiting costs it least of all: the list says what wants attention first."""
    dear = exact(plan={"keep_years": 3}, cost={"planned": 6_000, "failure": 12_000})
    free = one(dear)
    ceiling = float((free.failure[0] + np.sort(free.failure)[1]) / 2)
    limited = replace(dear, plan=replace(dear.plan, most_risk=ceiling))
    cheap = exact(plan={"keep_years": 3}, cost={"planned": 4_500, "failure": 12_000})
    urgent = exact(plan={"keep_years": 3}, cost={"planned": 500, "failure": 90_000})
    cases = {"dear": dear, "limited": limited, "cheap": cheap, "urgent": urgent}
    found = rank([GivenCase(*each) for each in cases.items()], today=TODAY, workers=1).standings
    assert [s.name for s in found] == ["urgent", "limited", "cheap", "dear"]
    assert found[1].best_at == 0
    assert found[1].waiting is not None
    assert found[1].waiting == found[3].waiting < 0
    assert "keeps to the limit" in words.why(found[1])
    assert [s.waits for s in found] == [False, False, True, True]
