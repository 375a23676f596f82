"""Changed habits side by side: what each does to the chance ahead, the best plan and the money.

The same harshness drives past and future, so the habits are compared node by node of what is not
known. What is believed of the part today does not hang on habits to come: every habit is weighed
as the case is now.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.occasions import Occasion
from riskmodel.decision.possible import over_nodes
from riskmodel.decision.prepared import Grounds, grounds, prepared
from riskmodel.decision.results import Interval
from riskmodel.decision.walk_away import settled
from riskmodel.decision.weigh import recommended
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_failure
from riskmodel.oil.fleet import with_usual
from riskmodel.records.case import Case
from riskmodel.risk.driven import own_curves
from riskmodel.risk.with_oil import by_node
from riskmodel.use.ahead import Alternative, alternatives
from riskmodel.use.learned import learned_use

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Habit:
    """One way to go on, by its `key` in `riskmodel.use.ahead`.

    `chance` is that of failure within a year if left in, which is within `usage`; `less` how much
    less than as now. The plan that then costs least replaces the part `at` a usage from now
    (None: never), at the `service`-th oil change (0: now; None: never, or on an `occasion`); it
    fails at least once within keep-until with chance `failure`, and costs `cost` in all, `gained`
    less than the best plan as now. Intervals are over how long parts last and how it is driven;
    prices are at their means.
    """

    key: str
    usage: float
    chance: Interval
    less: Interval
    at: float | None
    service: int | None
    occasion: Occasion | None
    failure: float
    cost: Interval
    gained: Interval

    @property
    def years(self) -> float | None:
        """Years from now to the replacement; None: never."""
        return None if self.at is None else self.at / self.usage


def habits(case: Case, curves: Curves | None = None) -> tuple[Habit, ...]:
    """As now first, then each change that would change anything; none beside symptoms.

    `curves` stands in for the life curves of the case's own records. Raises `CannotAnswer` where
    records and beliefs together do not settle a life curve. Takes some seconds.
    """
    if case.machine.symptoms:
        return ()
    case = with_usual(case)
    curves = own_curves(case) if curves is None else curves
    case = learned_use(case)
    now, *others = alternatives(case)
    base = _weighed(case, now, curves)
    return (_told(base, base), *(_told(_weighed(case, each, curves), base) for each in others))


@dataclass(frozen=True, slots=True, eq=False)
class _Weighed:
    """One habit at each node: `chance` within a year, with how far each is believed, and what
    every plan costs (plans, nodes), with the same."""

    option: Alternative
    found: Grounds
    chance: Floats
    believed: Floats
    at: Floats
    services: Floats
    occasions: tuple[Occasion, ...]
    costs: Floats
    failing: Floats
    weight: Floats


def _weighed(case: Case, option: Alternative, curves: Curves) -> _Weighed:
    # a use ahead that the case states would pair the curves anew
    asked = replace(option.case, use=case.use, stated=case.stated)
    found = settled(grounds(asked, curves, option.use))
    year = asked.machine.usage_per_year
    if found.taken is None:
        chance = conditional_failure(found.ages, year, found.curves.shape, found.curves.scale)
        believed = found.curves.weight
    else:
        chances, weights = by_node(found.curves, found.taken, np.array([year]), found.ages)
        chance, believed = chances.ravel(), weights.ravel()
    ready = prepared(found)
    counts, _ = ready.present.evaluate(ready.prices)
    costs = np.einsum("pek,e->pk", counts.counts, ready.prices.means())
    failing = 1 - np.einsum("pfk,f->pk", counts.lasts, ready.fault_share)
    return _Weighed(
        option,
        found,
        chance,
        believed,
        counts.at,
        ready.timing.services,
        ready.occasions,
        costs,
        failing,
        ready.weight,
    )


def _told(here: _Weighed, base: _Weighed) -> Habit:
    """`here` against `base`, at the same nodes and believed as `base` is."""
    best, best_now = _best(here, base), _best(base, base)
    at = float(here.at[best])
    services = {float(usage): j + 1 for j, usage in enumerate(here.services)}
    return Habit(
        key=here.option.key,
        usage=here.option.case.machine.usage_per_year,
        chance=over_nodes(here.chance, base.believed),
        less=over_nodes(base.chance - here.chance, base.believed),
        at=None if np.isinf(at) else at,
        service={0.0: 0, **services}.get(at),
        occasion={each.at: each for each in here.occasions}.get(at),
        failure=float(here.failing[best] @ base.weight),
        cost=over_nodes(here.costs[best], base.weight),
        gained=over_nodes(base.costs[best_now] - here.costs[best], base.weight),
    )


def _best(here: _Weighed, base: _Weighed) -> int:
    weight = base.weight
    return recommended(here.found.case, here.at, here.costs @ weight, here.failing @ weight)
