"""Walking away after a failure, where that is cheaper."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
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
