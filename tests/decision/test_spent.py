"""What a plan's cost is made of adds up to it, and each part follows from its own price alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, replace

import pytest

from riskmodel.decision.results import Spent, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case, Inspection, WhileOpen
from riskmodel.records.quantity import exactly
from riskmodel.words import formats
from riskmodel.words import spent as words
from tests.decision.exact_case import simulated_case
from tests.decision.sampled_case import sampled_case


def case(**prices: float) -> Case:
    """A boat with samples, other jobs, a fitting fault and a worth at sale."""
    found = sampled_case("work_boat")
    told = {"found_worn": 150.0, "install_fault": 0.02, "sale_credit": 800.0, **prices}
    quantities = {
        name: exactly(value, share=name == "install_fault") for name, value in told.items()
    }
    jobs = (
        WhileOpen("bolts", exactly(60.0), exactly(0.0), 1.0, True),
        WhileOpen("pump", exactly(200.0), exactly(900.0), 0.4, False),
    )
    cost = replace(found.cost, **quantities, while_open=jobs)
    return replace(found, cost=cost, inspection=Inspection(None, 0.8, 0.0))


def parts(w: Weighing, i: int) -> Spent:
    told = w.plans[i].spent
    assert told is not None
    return told


@pytest.mark.parametrize("made", [case, lambda: simulated_case("delivery_van")])
def test_the_parts_add_up_to_the_cost(made: Callable[[], Case]) -> None:
    w = weigh(made())
    for i, plan in enumerate(w.plans):
        total = sum(asdict(parts(w, i)).values())
        assert total == pytest.approx(plan.cost.value, rel=1e-12)


@pytest.mark.parametrize(
    ("price", "name"),
    [("found_worn", "found_worn"), ("oil_change", "oil"), ("sale_credit", "sale")],
)
def test_without_a_price_its_part_is_nothing(price: str, name: str) -> None:
    zero = {price: 0.0, "sample": 0.0, "investigation": 0.0} if name == "oil" else {price: 0.0}
    w = weigh(case(**zero))
    for i in range(len(w.plans)):
        assert getattr(parts(w, i), name) == 0.0


def test_now_and_then_never_in_closed_form() -> None:
    """Replaced now with nothing to follow: one job and its fault, no failure of the old part.
    The new part outlasts keep-until many times over."""
    van = simulated_case("delivery_van")
    life = replace(van, plan=replace(van.plan, new_part_life=exactly(1_000.0)))
    price = life.cost.planned.mean
    fault = exactly(0.03, share=True)
    cost = replace(life.cost, install_fault=fault, install_fault_price=exactly(5_000.0))
    now = parts(weigh(replace(life, cost=cost)), 0)
    assert now.jobs == pytest.approx(price, rel=1e-6)
    assert now.fitting_faults == pytest.approx(0.03 * 5_000, rel=1e-6)
    assert now.failures == pytest.approx(0.0, abs=1e-3 * price)


def test_failures_are_counted_at_their_whole_price() -> None:
    """Never replaced, given up after a failure, nothing discounted: chance times price."""
    van = simulated_case("delivery_van")
    stop = replace(van, plan=replace(van.plan, after_failure="stop"))
    w = weigh(replace(stop, cost=replace(stop.cost, discount_rate=0.0)))
    lines = [stop.cost.failure, *(line.amount for line in stop.cost.consequence)]
    whole = sum(line.mean for line in lines)
    never = w.plans[-1]
    assert parts(w, -1).failures == pytest.approx(never.failure.value * whole, rel=1e-9)


def test_the_table_adds_up_as_printed() -> None:
    """Rounded one by one, the rows are within half a step each of their sum."""
    w = weigh(case())
    shown = words.compared(w)
    told = words.rows(w, shown)
    step = formats.money_step(max(w.plans[i].cost.value for i in shown))
    for column in range(1, len(told[0])):
        figures = [float(row[column].replace(",", "").replace("−", "-")) for row in told]
        assert abs(sum(figures[:-1]) - figures[-1]) <= 7 * step / 2  # seven parts may be left out
    assert words.sentence(w, 0).startswith("Of that about ")
