"""Replacing now against waiting: where the two cross, in chance and in price."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.means import Means
from riskmodel.decision.plans import PlanCounts, PresentPart
from riskmodel.decision.possible import over_nodes
from riskmodel.decision.prepared import Prepared
from riskmodel.decision.prices import FAILURE, FITTING, URGENT, Prices
from riskmodel.decision.results import PlanResult, TradeOff

Floats = NDArray[np.float64]

DEAREST = 1e3
"""A failure so many times as dear as today's is the dearest looked at for a break-even price."""
CLOSE_ENOUGH = 1e-4
"""... which is found to this share of today's price."""


def trade_off_of(ready: Prepared, counts: PlanCounts, plans: tuple[PlanResult, ...]) -> TradeOff:
    """From the counts of every plan and what they cost."""
    weight, prices, timing = ready.weight, ready.prices, ready.timing
    later = 1 + int(np.argmin([plan.cost.value for plan in plans[1:]]))
    now, wait = plans[0].cost, plans[later].cost
    chance = float(counts.soon_fails @ weight)
    lost = float(np.einsum("ek,e,k->", counts.soon, prices.means(), weight))
    if_fails = lost / chance if chance > 0 else float(prices.means()[FAILURE])
    if_lasts = (wait.value - lost) / (1 - chance) if chance < 1 else wait.value
    dearer = if_fails - if_lasts
    crossing = (now.value - if_lasts) / dearer if dearer > 0 else np.nan
    until = float(timing.services[0]) if len(timing.services) else timing.keep
    return TradeOff(
        until=until,
        later=later,
        chance=over_nodes(counts.soon_fails, weight),
        now=now,
        wait=wait,
        if_lasts=if_lasts,
        if_fails=if_fails,
        break_even_chance=float(crossing) if 0 <= crossing <= 1 else None,
        break_even_failure_price=_break_even_failure_price(ready.present, prices),
    )


def _break_even_failure_price(present: PresentPart, prices: Prices) -> float | None:
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
        gap, slope = _dearer_now(means.at(asked).counts, asked)
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


def _dearer_now(per_event: Floats, prices: Prices) -> tuple[float, float]:
    """How much more replacing now costs than the best later plan, and how fast that grows
    with the engine's failure price, from mean counts (plans, events)."""
    cost = per_event @ prices.means()
    later = 1 + int(np.argmin(cost[1:]))
    gap = per_event[0] - per_event[later]
    faulty = prices.fault.mean if prices.fault_price is None else 0.0
    return float(cost[0] - cost[later]), float(gap[FAILURE] + faulty * (gap[FITTING] + gap[URGENT]))
