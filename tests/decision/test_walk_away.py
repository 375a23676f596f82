"""Walking away after a failure, where that is cheaper."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from tests.decision.sampled_case import sampled_case


def worth(value: float | None, scrap: float | None, after: str = "repair") -> Case:
    case = sampled_case("road_car", after_failure=after)
    return replace(case, machine=replace(case.machine, value=value, scrap=scrap))


def best(case: Case) -> float:
    return min(plan.cost.value for plan in weigh(case).plans)


def test_a_machine_worth_less_than_an_engine_is_walked_away_from() -> None:
    """Its failure then costs what it was worth: the cost is that of giving it up at that price."""
    cheap = worth(5_000.0, 600.0)
    found = weigh(cheap)
    assert found.walks_away
    assert found.case.plan.after_failure == "stop"
    assert best(cheap) < best(worth(None, None))
    cost = replace(cheap.cost, failure=replace(cheap.cost.failure, low=4_400.0, high=4_400.0))
    given_up = replace(worth(None, None, "stop"), cost=cost)
    assert best(cheap) == pytest.approx(best(given_up), rel=1e-9)


def test_a_machine_worth_more_is_repaired() -> None:
    dear = worth(60_000.0, 2_000.0)
    assert not weigh(dear).walks_away
    assert best(dear) == best(worth(None, None))


def test_it_is_open_only_where_both_values_are_stated() -> None:
    assert not weigh(worth(5_000.0, None)).walks_away
    assert not weigh(worth(5_000.0, 600.0, "stop")).walks_away


def test_the_option_never_makes_it_dearer() -> None:
    plain = best(worth(None, None))
    costs = [best(worth(value, 500.0)) for value in (1_000.0, 8_000.0, 14_000.0, 30_000.0)]
    assert costs == sorted(costs)
    assert max(costs) <= plain


def waits(case: Case) -> bool:
    trade = weigh(case).trade_off
    assert trade is not None
    return trade.wait.value < trade.now.value


def test_no_price_tips_the_choice_where_the_engine_would_not_be_bought() -> None:
    """What is lost by walking away is the most that a failure costs, whatever an engine does."""
    open_at = {}
    for value in (60_000.0, 9_000.0):
        case = worth(value, 600.0)
        trade = weigh(case).trade_off
        assert trade is not None
        open_at[value] = trade.break_even_failure_price
    price = open_at[60_000.0]
    assert price is not None
    dear = exactly(1.05 * price)
    kept, left = (
        replace(case, cost=replace(case.cost, failure=dear))
        for case in (worth(60_000.0, 600.0), worth(9_000.0, 600.0))
    )
    assert not waits(kept)
    assert waits(left)
    assert weigh(left).walks_away
    assert open_at[9_000.0] is None


def test_what_was_entered_is_told_as_it_was() -> None:
    cheap = worth(5_000.0, 600.0)
    found = weigh(cheap)
    assert found.walks_away
    assert found.entered == cheap
    assert found.case != cheap
