"""Replacing now against waiting: where the two cross, in chance and in price."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.basis import Basis
from riskmodel.decision.means import MeanCounts, Means
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prepared import Grounds, Prepared, repriced
from riskmodel.decision.prices import FAILURE, FITTING, URGENT, Prices
from riskmodel.decision.results import Interval, PlanResult, TradeOff
from riskmodel.decision.timing import AT_THE_END
from riskmodel.decision.walk_away import lost, settle
from riskmodel.records.quantity import exactly

Floats = NDArray[np.float64]

DEAREST = 1e3
"""A failure so many times as dear as today's is the dearest looked at for a break-even price."""
CLOSE_ENOUGH = 1e-4
"""... which is found to this share of today's price."""


def trade_off_of(
    ready: Prepared, means: MeanCounts, plans: tuple[PlanResult, ...], base: Basis
) -> TradeOff:
    """From the mean counts of every plan and what they cost; `base` is the case before it was
    settled what to do after a failure.

    The chance keeps to the interval that is told of a failure by wear before the next service,
    worked out more finely, moved as far as failures of other causes move the middle.
    """
    weight, prices, timing = ready.weight, ready.prices, ready.timing
    until = float(timing.services[0]) if len(timing.services) else timing.keep
    later = _best_later(means.at, np.array([plan.cost.value for plan in plans]), until)
    now, wait = plans[0].cost, plans[later].cost
    soon = ready.present.soon
    chance, lost = float(soon @ weight), float(means.soon @ prices.means())
    if_fails = lost / chance if chance > 0 else float(prices.means()[FAILURE])
    if_lasts = (wait.value - lost) / (1 - chance) if chance < 1 else wait.value
    dearer = if_fails - if_lasts
    crossing = (now.value - if_lasts) / dearer if dearer > 0 else np.nan
    return TradeOff(
        until=until,
        later=later,
        chance=_moved(base.risk[0].chance, chance),
        now=now,
        wait=wait,
        if_lasts=if_lasts,
        if_fails=if_fails,
        break_even_chance=float(crossing) if 0 <= crossing <= 1 else None,
        break_even_failure_price=_if_paid(base.found, base.ready, until),
    )


def _moved(told: Interval, chance: float) -> Interval:
    """The interval of a chance a little apart from one that was told."""
    apart = chance - told.value
    low, high = (min(max(end + apart, 0.0), 1.0) for end in (told.low, told.high))
    return Interval(chance, low, high)


def _best_later(at: Floats, cost: Floats, until: float) -> int:
    """The cheapest plan, `at` (plans,) usages from now, that leaves the part in to the next
    service: only of such can it be said what they cost if it lasts until then, and if not."""
    waits = at >= until * (1 - AT_THE_END)
    return int(np.argmin(np.where(waits, cost, np.inf)))


def _if_paid(found: Grounds, repairing: Prepared, until: float) -> float | None:
    """The break-even price of a failed engine; None also where nobody would pay it: what is lost by
    walking away is then the most that a failure costs, and a dearer engine changes nothing."""
    price = _break_even_failure_price(repairing.present, repairing.prices, until)
    if price is None or lost(found.case) is None:
        return price
    case = replace(found.case, cost=replace(found.case.cost, failure=exactly(price)))
    there = settle(replace(found, case=case), repriced(repairing, case))
    return None if there.walks else price


def _break_even_failure_price(present: PresentPart, prices: Prices, until: float) -> float | None:
    """The engine's failure price at which replacing now costs what the best later plan costs.

    At given rules for the parts to come both costs are linear in the price, so a Newton step
    is exact but for a change of those rules; it is kept within the bracket found so far.
    None where no price between nothing and a thousand times today's does.
    """
    today = prices.failure[0].mean
    low, high = 0.0, DEAREST * today  # replacing now is dearer at low, cheaper at high
    price, known, means = today, {today}, Means(present)
    for _ in range(40):
        asked = prices if price == today else prices.with_failure_price(price)
        gap, slope = _dearer_now(means.at(asked), asked, until)
        if abs(gap) <= 1e-7 * today or (gap > 0 and price == high) or (gap < 0 and price == low):
            return price if abs(gap) <= 1e-7 * today else None
        low, high = (price, high) if gap > 0 else (low, price)
        if high - low <= CLOSE_ENOUGH * today:
            return price
        known.add(price)
        newton = price - gap / slope if slope < 0 else np.nan
        end = high if gap > 0 else low
        if low < newton < high:
            price = float(newton)
        elif end in known:
            price = (low + high) / 2
        else:  # an end that was not looked at tells whether they cross at all
            price = end
    return None


def _dearer_now(found: MeanCounts, prices: Prices, until: float) -> tuple[float, float]:
    """How much more replacing now costs than the best later plan, and how fast that grows with
    the engine's failure price."""
    cost = found.counts @ prices.means()
    later = _best_later(found.at, cost, until)
    gap = found.counts[0] - found.counts[later]
    faulty = prices.fault.mean if prices.fault_price is None else 0.0
    return float(cost[0] - cost[later]), float(gap[FAILURE] + faulty * (gap[FITTING] + gap[URGENT]))
