"""What an inspection and other knowledge are worth, against lives played out and what must hold."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.decision.prices import FAILURE, FITTING, prices_of
from riskmodel.decision.results import Inspection
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case, Cost
from riskmodel.records.quantity import Quantity, exactly
from tests.decision.exact_case import simulated_case
from tests.decision.sampled_case import SAMPLED, sampled_case
from tests.simulation.sampled import draw_sampled_worlds, sampled_mean_prices
from tests.simulation.sampled_case import read_sampled_case
from tests.simulation.sampled_play import play
from tests.simulation.sampled_policy import solve_sampled_policy

LIVES = 200_000
PRICE, RISK = 400.0, 0.004


def looked(name: str, sees: float = 0.85, price: float = PRICE, risk: float = RISK) -> Case:
    case = sampled_case(name)
    offered = replace(case.inspection, cost=exactly(price), sees=sees, risk=risk)
    return replace(case, inspection=offered)


def inspected(case: Case) -> Inspection:
    known = weigh(case).information
    assert known is not None
    assert known.inspection is not None
    return known.inspection


@pytest.mark.slow
@pytest.mark.parametrize("name", ["road_car", "delivery_van_ranges"])
def test_looking_first_agrees_with_lives_played_out(name: str) -> None:
    """What a look shows and what a job later finds are drawn apart, given when the part fails."""
    sees = 0.85
    found = inspected(looked(name, sees))
    case = read_sampled_case(SAMPLED / f"{name}.json")
    worlds, policy = draw_sampled_worlds(case, LIVES, 11), solve_sampled_policy(case)
    rng = np.random.default_rng(12)
    assert case.base.visible_lead is not None
    lead = case.base.visible_lead.at(rng.standard_normal(LIVES))
    seen = (lead > worlds.base.life) & (rng.random(LIVES) < sees)
    counts, failed = np.zeros((9, LIVES)), np.zeros(LIVES, dtype=bool)
    for outcome, some in ((found.if_seen, seen), (found.if_not, ~seen)):
        rows = np.flatnonzero(some)
        part = (worlds.base.life[rows], worlds.base.visible[rows], worlds.urgent_at[rows])
        world = (worlds.base.k[rows], worlds.factor[rows], worlds.silent_share[rows])
        counts[:, rows], failed[rows], _ = play(
            case, policy, outcome.at, part, worlds.alarms[:, rows], world, rng
        )
    first = case.base.services()[0]
    soon = worlds.base.life <= first
    error = 3.5 * np.sqrt(0.25 / LIVES)
    assert found.if_seen.chance.value == pytest.approx(seen.mean(), abs=error)
    assert found.failure.value == pytest.approx(RISK + (1 - RISK) * failed.mean(), abs=error)
    for outcome, some in ((found.if_seen, seen), (found.if_not, ~seen)):
        share = soon[some].mean()
        spread = 3.5 * np.sqrt(max(share * (1 - share), 1e-4) / some.sum())
        assert outcome.soon.value == pytest.approx(share, abs=spread)
    cost = sampled_mean_prices(case) @ counts
    spent = found.cost.value - found.price - RISK * _damage(name)
    assert spent == pytest.approx(
        cost.mean(), abs=max(0.005 * cost.mean(), 3.5 * cost.std() / np.sqrt(LIVES))
    )


def _damage(name: str) -> float:
    """What an inspection that does the damage costs, as the plan counts it."""
    sure = inspected(looked(name, risk=1.0)).cost.value
    return sure - inspected(looked(name, risk=0.0)).cost.value


def test_what_it_is_worth_less_its_price_and_risk_is_what_it_saves() -> None:
    found = inspected(looked("road_car"))
    assert found.saves.value == pytest.approx(
        found.worth - PRICE - RISK * _damage("road_car"), rel=1e-6
    )


def test_a_look_that_sees_nothing_is_worth_nothing() -> None:
    found = inspected(looked("road_car", sees=1e-6))
    assert found.worth == pytest.approx(0, abs=0.5)


@settings(max_examples=12, deadline=None)
@given(
    sees=st.floats(0.05, 1.0),
    low=st.floats(500, 20_000),
    wide=st.floats(1.2, 8),
    planned=st.floats(500, 9_000),
)
def test_information_is_never_worth_less_than_nothing(
    sees: float, low: float, wide: float, planned: float
) -> None:
    case = looked("delivery_van_ranges", sees)
    case = replace(
        case,
        warning=replace(case.warning, visible_lead=Quantity(low, low * wide)),
        cost=replace(case.cost, planned=exactly(planned)),
    )
    w = weigh(case)
    known = w.information
    assert known is not None
    assert known.inspection is not None
    best = min(plan.cost.value for plan in w.plans)
    assert known.inspection.worth >= -1e-3 * best
    assert known.perfect >= 0
    assert known.foresight >= known.perfect - 0.05 * best  # played out on draws, a little rough


def test_a_surer_look_is_worth_more() -> None:
    worth = [inspected(looked("road_car", sees)).worth for sees in (0.2, 0.5, 0.8, 1.0)]
    assert worth == sorted(worth)


def vars_of(record: Cost) -> dict[str, object]:
    return {field.name: getattr(record, field.name) for field in fields(record)}


def test_all_else_known_its_cost_varies_as_its_own_price_does() -> None:
    """With lives, prices and warnings known the ends are those of the price that was stated."""
    case = simulated_case("road_car")
    offered = replace(case.inspection, cost=exactly(PRICE), sees=0.85, risk=RISK)
    fixed = {
        name: exactly(value.mean, share=value.share)
        for name, value in vars_of(case.cost).items()
        if isinstance(value, Quantity)
    }
    life = exactly(case.plan.new_part_life.median)
    case = replace(
        case,
        inspection=offered,
        cost=replace(case.cost, **fixed),
        plan=replace(case.plan, new_part_life=life),
    )
    asked = replace(case, inspection=replace(offered, cost=Quantity(200.0, 900.0)))
    known, exactly_priced = inspected(asked), inspected(case)
    rest = exactly_priced.cost.value - PRICE
    assert exactly_priced.cost.low == pytest.approx(exactly_priced.cost.high)
    assert known.price == pytest.approx(asked.inspection.cost.mean)  # type: ignore[union-attr]
    assert known.cost.value == pytest.approx(rest + known.price)
    assert known.cost.low == pytest.approx(rest + 200, rel=1e-4)
    assert known.cost.high == pytest.approx(rest + 900, rel=1e-4)


def test_damage_costs_a_failure_today_in_place_of_the_plan() -> None:
    """A part that the look destroys for certain: its price, a failure, and what follows a part
    fitted today, which "now" tells less its job."""
    case = looked("road_car", risk=1.0)
    case = replace(case, cost=replace(case.cost, found_worn=exactly(0.0), sale_credit=exactly(0.0)))
    told, found, price = weigh(case), inspected(case), prices_of(case).means()
    then = told.plans[0].cost.value - price[FITTING]
    assert found.cost.value == pytest.approx(PRICE + price[FAILURE] + then, rel=1e-6)
    assert found.failure.value == 1.0
    assert found.failure.low == 1.0


@pytest.mark.parametrize("risk", [0.0, 0.05])
def test_a_look_that_may_do_damage_is_likelier_to_end_in_a_failure(risk: float) -> None:
    plain, risky = inspected(looked("road_car", risk=0.0)), inspected(looked("road_car", risk=risk))
    spared = (1 - risk) * (1 - plain.failure.value)
    assert 1 - risky.failure.value == pytest.approx(spared, rel=1e-9)
    assert 1 - risky.failure.high == pytest.approx((1 - risk) * (1 - plain.failure.high), rel=1e-9)
