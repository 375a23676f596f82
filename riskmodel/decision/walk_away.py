"""After a failure: put another engine in, or walk away, where both are open.

Walking away loses what the machine is worth less what a wreck fetches, and every later cost with
it. Which is cheaper is settled once, for the whole of a case, by the least expected cost of its
plans under either.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from riskmodel.decision.prepared import Grounds, Prepared, expected_costs, prepared, repriced
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly


def lost(case: Case) -> float | None:
    """What walking away loses; None where it isn't open: the values are not stated, or the
    machine is given up after a failure as it is."""
    value, scrap = case.machine.value, case.machine.scrap
    if value is None or scrap is None or case.plan.after_failure != "repair":
        return None
    return max(value - scrap, 0.0)


def walking_away(case: Case) -> Case:
    """The case in which a failure is walked away from, its consequences beyond the engine paid."""
    price = lost(case)
    assert price is not None
    plan = replace(case.plan, after_failure="stop")
    fault_price = case.cost.install_fault_price
    if fault_price is None:  # a fitting fault is put right: it costs what the engine does
        fault_price = case.cost.failure
    cost = replace(case.cost, failure=exactly(price), install_fault_price=fault_price)
    return replace(case, plan=plan, cost=cost)


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """A case with what is done after a failure settled: whether it `walks` away, its grounds and
    the case made `ready` accordingly."""

    walks: bool
    found: Grounds
    ready: Prepared


def settle(found: Grounds, ready: Prepared | None = None) -> Settled:
    """Walk away where the best plan then costs less; `ready` is the case made ready, if it is at
    hand."""
    ready = prepared(found) if ready is None else ready
    if lost(found.case) is None:
        return Settled(False, found, ready)
    left = repriced(ready, walking_away(found.case))
    if not expected_costs(left)[1].min() < expected_costs(ready)[1].min():
        return Settled(False, found, ready)
    return Settled(True, replace(found, case=left.case), left)


def settled(found: Grounds) -> Grounds:
    """The same with what is done after a failure settled."""
    return found if lost(found.case) is None else settle(found).found
