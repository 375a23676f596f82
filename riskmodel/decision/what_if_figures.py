"""The plan that costs least if a figure turns out otherwise: the quote, the price of a failure, how
long the machine is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.means import Means
from riskmodel.decision.occasions import Occasion
from riskmodel.decision.prepared import Grounds, Prepared, grounds, prepared
from riskmodel.decision.prices import prices_of
from riskmodel.decision.walk_away import settled
from riskmodel.decision.weigh import recommended
from riskmodel.life.posterior import Curves
from riskmodel.oil.fleet import with_usual
from riskmodel.records.case import Case, Cost
from riskmodel.records.checks import MOST_SERVICES
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Changed = Literal[
    "as_it_stands", "job_double", "failure_half", "failure_double", "keep_half", "keep_double"
]


@dataclass(frozen=True, slots=True)
class FigureChange:
    """The verdict with one figure changed.

    `at` is the usage from now of the plan that then costs least (None: never), `service` and
    `occasion` what it falls on, `cost` its expected cost, `failure` the chance of at least one
    failure within keep-until with it (None where it was not kept). `held` is the expected cost of
    the plan that costs least as it all stands, None where keep-until then comes before it.
    """

    changed: Changed
    at: float | None
    service: int | None
    occasion: Occasion | None
    cost: float
    held: float | None
    failure: float | None = None

    @property
    def holds_cost(self) -> float | None:
        """How much more it costs to hold to the plan that costs least as it all stands."""
        return None if self.held is None else self.held - self.cost


Changes = tuple[FigureChange, ...]


def what_if_figures(case: Case, curves: Curves | None = None) -> Changes:
    """The case as it stands, then each change; an owner's ceiling on risk is kept to throughout.

    `curves` stands in for the life curves of the case's own records where given. Raises
    `CannotAnswer` where records and beliefs together do not settle a life curve.
    """
    return _verdicts(tuple(_tried(case, curves)), case.plan.most_risk)


def with_and_without_limit(case: Case, curves: Curves | None = None) -> tuple[Changes, Changes]:
    """The same, and the same without the owner's ceiling (nothing where none is stated): what each
    plan costs and risks is worked out once for both. Raises as `what_if_figures`."""
    tried, most = tuple(_tried(case, curves)), case.plan.most_risk
    return _verdicts(tried, most), () if most is None else _verdicts(tried, None)


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    """Every plan with one figure changed: `at` (inf: never), expected `costs` and the chance of a
    `failure`, (plans,), with the `services` and the other `occasions` that they fall on."""

    changed: Changed
    case: Case
    at: Floats
    costs: Floats
    failure: Floats
    services: Floats
    occasions: tuple[Occasion, ...]


def _tried(case: Case, curves: Curves | None) -> Iterator[_Tried]:
    found = grounds(with_usual(case), curves)
    as_it_stands = _settled(found, found.case)
    made = _made(found, as_it_stands)
    yield _priced("as_it_stands", as_it_stands, *made)
    for changed, other in (*_prices(found.case), *_kept(found.case)):
        settled_case = _settled(found, other)
        if not _alike(settled_case, as_it_stands):
            yield _priced(changed, settled_case, *_made(found, settled_case))
        else:  # only prices differ: the means stand
            yield _priced(changed, settled_case, *made)


def _settled(found: Grounds, case: Case) -> Case:
    """The case with what is done after a failure settled for its own figures."""
    return settled(replace(found, case=case)).case


def _alike(one: Case, other: Case) -> bool:
    return one.plan == other.plan


def _made(found: Grounds, case: Case) -> tuple[Prepared, Means]:
    ready = prepared(found, case)
    return ready, Means(ready.present)


def _priced(changed: Changed, case: Case, ready: Prepared, means: Means) -> _Tried:
    """`ready` holds all but the prices, which are those of `case`."""
    prices = prices_of(case)
    found = means.at(prices)
    costs = found.counts @ prices.means()
    failure = 1 - found.lasts @ ready.fault_share
    occasions, services = tuple(ready.occasions), ready.timing.services
    return _Tried(changed, case, found.at, costs, failure, services, occasions)


def _verdicts(tried: tuple[_Tried, ...], most_risk: float | None) -> Changes:
    """The verdict of each with this ceiling on the chance of a failure (None: without one)."""
    first = _change(tried[0], most_risk, None)
    today = np.inf if first.at is None else first.at
    return (first, *(_change(each, most_risk, today) for each in tried[1:]))


def _change(tried: _Tried, most_risk: float | None, today: float | None) -> FigureChange:
    """`today` is the usage at which the plan of the verdict as it stands replaces."""
    case = replace(tried.case, plan=replace(tried.case.plan, most_risk=most_risk))
    best = recommended(case, tried.at, tried.costs, tried.failure)
    at, cost = float(tried.at[best]), float(tried.costs[best])
    services = {float(x): i + 1 for i, x in enumerate(tried.services)}
    return FigureChange(
        changed=tried.changed,
        at=None if np.isinf(at) else at,
        service={0.0: 0, **services}.get(at),
        occasion=next((each for each in tried.occasions if each.at == at), None),
        cost=cost,
        held=cost if today is None else _cost_at(tried.at, tried.costs, today),
        failure=float(tried.failure[best]),
    )


def _cost_at(at: Floats, costs: Floats, today: float) -> float | None:
    same = np.flatnonzero(at == today)
    return float(costs[same[0]]) if len(same) else None


def _prices(case: Case) -> Iterator[tuple[Changed, Case]]:
    """A quote twice as high makes the job at short notice twice as dear too."""
    cost = case.cost
    urgent = None if cost.urgent is None else _times(cost.urgent, 2)
    tried: tuple[tuple[Changed, Callable[[], Cost]], ...] = (
        ("job_double", lambda: replace(cost, planned=_times(cost.planned, 2), urgent=urgent)),
        ("failure_half", lambda: replace(cost, failure=_times(cost.failure, 0.5))),
        ("failure_double", lambda: replace(cost, failure=_times(cost.failure, 2))),
    )
    for changed, make in tried:
        yield changed, replace(case, cost=make())


def _kept(case: Case) -> Iterator[tuple[Changed, Case]]:
    both: tuple[tuple[Changed, float], ...] = (("keep_half", 0.5), ("keep_double", 2.0))
    for changed, times in both:
        keep = times * case.keep
        if keep / case.interval > MOST_SERVICES:
            continue
        plan, years = case.plan, case.plan.keep_years
        if plan.keep_usage is not None:
            plan = replace(plan, keep_usage=keep)
        else:
            assert years is not None
            plan = replace(plan, keep_years=times * years)
        yield changed, replace(case, plan=plan)


def _times(price: Quantity, factor: float) -> Quantity:
    return Quantity(price.low * factor, price.high * factor)
