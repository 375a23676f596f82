"""Selling the machine today, the buyer told of the part, beside the plans that keep it.

What the plans cost leaves out what they have in common: having the machine, and what it still
fetches at keep-until. Selling forgoes both, so against them it costs a life without the machine
(less the upkeep that it spares) over the years it would have been kept, less what it fetches today
beyond today's worth of what it would have fetched then. A failure after which it is walked away
from, or given up, has its loss in the price of the failure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from riskmodel.decision.timing import Timing
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Selling:
    """What selling today takes and gives, in money.

    It fetches `value`; at keep-until it would fetch `later`, in the money of that day, worth `last`
    of its amount today. `years` is what 1 a year until then is worth today. A year without it costs
    `without` (None: not stated), a year with it `upkeep` besides what the plans count.
    """

    value: float
    later: Quantity
    last: float
    years: float
    without: Quantity | None
    upkeep: Quantity

    @property
    def forgone(self) -> float:
        """What it fetches today beyond today's worth of what it would fetch later."""
        return self.value - self.last * self.later.mean

    @property
    def cost(self) -> float:
        """Expected cost beside those of the plans; what a year without it costs must be stated."""
        assert self.without is not None
        return self.years * (self.without.mean - self.upkeep.mean) - self.forgone

    @property
    def unknown(self) -> int:
        """How many of the amounts are ranges."""
        return 0 if self.without is None else sum(not each.exact for each in self._all())

    def draws(self, uniforms: Floats) -> Floats:
        """The cost at points of the unit cube, `uniforms` of shape (draws, unknown); (draws,)."""
        columns, still = iter(ndtri(uniforms).T), np.zeros(len(uniforms))
        without, upkeep, later = (
            each.quantile(still if each.exact else next(columns)) for each in self._all()
        )
        return np.asarray(self.years * (without - upkeep) - (self.value - self.last * later))

    def even(self, keeping: float) -> float:
        """What a year without it may cost beyond a year's upkeep for selling to cost what the
        plans' cheapest does, `keeping`."""
        return (keeping + self.forgone) / self.years

    def _all(self) -> tuple[Quantity, ...]:
        assert self.without is not None
        return self.without, self.upkeep, self.later


def sold_instead(sale: float, cost: float, failure: float, ceiling: float | None) -> bool:
    """Whether selling, which costs `sale`, is the verdict in place of what costs `cost` and has the
    chance `failure` of one: it costs less, or alone keeps to the owner's `ceiling`."""
    return sale < cost or (ceiling is not None and failure > ceiling)


def selling(case: Case, timing: Timing) -> Selling | None:
    """None where it is not stated what the machine fetches, today or later."""
    machine = case.machine
    if machine.value is None or machine.value_later is None:
        return None
    years = timing.keep / timing.per_year
    growth = np.log1p(timing.rate)
    last = float(timing.discount(timing.keep))
    worth = years if growth == 0 else float(-np.expm1(-growth * years) / growth)
    return Selling(
        machine.value, machine.value_later, last, worth, case.plan.do_without, machine.upkeep
    )
