"""At which figure the choice between replacing now and waiting tips over: the price of the job, the
worth of a documented replacement at sale, and how long the machine is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from riskmodel.decision.basis import Basis, unsampled
from riskmodel.decision.means import MeanCounts, Means
from riskmodel.decision.occasions import closed
from riskmodel.decision.prepared import Grounds, Prepared, grounds, prepared, repriced, thinned
from riskmodel.decision.prices import Prices
from riskmodel.decision.swings import Swing, swings
from riskmodel.decision.walk_away import settle
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly

Floats = NDArray[np.float64]

PRICES = np.array([0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 4.0])
"""Times of today's price at which the sign is looked at; between two of unlike sign lies a flip."""
KEPT = np.array([0.2, 0.4, 0.7, 1.0, 1.5, 2.0, 3.0])
"""The same for keep-until."""
MOST_SERVICES = 60
"""A keep-until with more oil changes is not looked at."""
CLOSE = 1e-3
"""How near a flip is sought, over the middle of where: it is told in two or three digits."""
NEARLY = 0.05
"""A gap is nearly closed when so much is left of the smaller at the ends of where it is sought."""
STEP, SURE = 0.05, 2e-3
"""Steps taken from a flip on few curves to that on all, over the figure: how far at most, and up to
where without looking whether it has come nearer."""


@dataclass(frozen=True, slots=True)
class Flips:
    """The figure nearest to today's at which replacing first thing costs what the best later plan
    costs, all else as it is; None where none within reach does.

    `planned` and `sale_credit` are prices, `keep` is usage from now; `waits` tells whether waiting
    costs less as it all stands.
    """

    planned: float | None
    sale_credit: float | None
    keep: float | None
    waits: bool


@dataclass(frozen=True, slots=True)
class WhatMoves:
    """What moves the verdict: each input that is not known, and where the choice tips over."""

    swings: tuple[Swing, ...]
    flips: Flips


def what_moves(case: Case, base: Basis | None = None) -> WhatMoves:
    """Both for a case; takes some seconds. `base` is the basis of the case, if it is at hand."""
    found, ready = (grounds(case), None) if base is None else (base.found, base.ready)
    then = settle(found, ready)
    bare = None if base is None or base.bare is None else base.bare
    if bare is not None:
        bare = repriced(bare, unsampled(then.found.case))
    rows = swings(then.found, then.ready, found.case, bare)
    return WhatMoves(rows, flips(then.found, then.ready))


def flips(found: Grounds, ready: Prepared | None = None) -> Flips:
    """The figures at which the verdict flips, an owner's ceiling on risk left aside; `ready` is the
    case of `found` made ready, if it is at hand."""
    ready = prepared(found) if ready is None else ready
    case, prices, few = found.case, ready.prices, thinned(ready)
    on_few = replace(found, curves=few.curves, ages=few.ages)
    if found.sampling is not None:
        rough = found.sampling.roughly().on_average()
        on_few = replace(on_few, sampling=rough, taken=rough.history)

    def priced(put: Callable[[float], Prices], which: Prepared) -> Callable[[float], float]:
        means = Means(which.present)

        def gap(price: float) -> float:
            changed = put(price)
            return _gap(case, means.at(changed), changed)

        return gap

    def kept(keep: float) -> float:
        changed = replace(case, plan=replace(case.plan, keep_usage=keep, keep_years=None))
        then = prepared(on_few, changed)
        return _gap(changed, Means(then.present).at(then.prices), then.prices)

    waits = _gap(case, Means(ready.present).at(prices), prices)

    def near(
        about: Callable[[float], float], as_it_stands: Callable[[], float]
    ) -> Callable[[float], float]:
        """What differs on all curves as it stands differs as much elsewhere, or nearly so."""
        return cache(lambda value: about(value) + waits - as_it_stands())

    def of_price(put: Callable[[float], Prices], middle: float, today: float) -> float | None:
        """Looked for on few curves, and then brought nearer on all of them."""
        about = near(priced(put, few), lambda: on_few_now)
        return _improved(_nearest(about, PRICES * middle, today), about, priced(put, ready))

    credit = max(prices.sale_credit.mean, 0.1 * prices.planned.mean)
    by_keep = cache(kept)
    on_few_now = _gap(case, Means(few.present).at(prices), prices)
    return Flips(
        planned=of_price(
            lambda price: replace(prices, planned=exactly(price)),
            prices.planned.mean,
            prices.planned.mean,
        ),
        sale_credit=of_price(
            lambda price: replace(prices, sale_credit=exactly(price)),
            credit,
            prices.sale_credit.mean,
        ),
        keep=_nearest(
            near(by_keep, lambda: by_keep(case.keep)),
            np.minimum(KEPT * case.keep, MOST_SERVICES * ready.timing.interval),
            case.keep,
        ),
        waits=waits > 0,
    )


def _gap(case: Case, found: MeanCounts, prices: Prices) -> float:
    """How much more the first plan that can be had costs than the best later one; NaN where it is
    the only one."""
    costs, first = found.counts @ prices.means(), closed(case, found.at)
    return float(costs[first] - costs[first + 1 :].min()) if len(costs) > first + 1 else np.nan


def _nearest(gap: Callable[[float], float], at: Floats, today: float) -> float | None:
    """Where `gap` changes its sign, nearest to `today`, between two of `at`."""
    at = np.unique(at)
    nearest, best = np.inf, None
    # the farther of two as near first: what is told of longer serves for shorter
    pairs = sorted(pairwise(at.tolist()), reverse=True)
    for low, high in sorted(pairs, key=lambda ends: _away(ends, today)):
        if _away((low, high), today) >= nearest:
            break  # nor is any of the others nearer
        if not gap(high) * gap(low) < 0:  # nor where there is no choice
            continue
        found = _zero(gap, low, high, CLOSE * float(np.median(at)))
        if abs(found - today) < nearest:
            nearest, best = abs(found - today), found
    return best


def _zero(gap: Callable[[float], float], low: float, high: float, close: float) -> float:
    """Where `gap` is 0 between two ends of unlike sign, up to `close`: by two secants where they
    meet, as they do where it is nearly straight, and by Brent's method where they do not."""
    first = _secant(gap, low, high)
    left, other = gap(first), low if gap(low) * gap(first) < 0 else high
    second = _secant(gap, first, other)
    small = NEARLY * min(abs(gap(low)), abs(gap(high)))
    if abs(second - first) <= 4 * close and abs(left) <= small:
        return second
    return float(brentq(gap, first, other, xtol=close)) if left != 0 else first


def _secant(gap: Callable[[float], float], one: float, other: float) -> float:
    """Where the straight line through both is 0."""
    return one - gap(one) * (other - one) / (gap(other) - gap(one))


def _improved(
    found: float | None, about: Callable[[float], float], gap: Callable[[float], float]
) -> float | None:
    """A zero `found` of `about` brought nearer to one of `gap`, which differs little from it: one
    step by the slope of the first, where that is a small one."""
    if found is None:
        return None
    beside = (1 + STEP) * found
    slope = (about(beside) - about(found)) / (beside - found)
    left = gap(found)
    step = -left / slope if slope != 0 else 0.0
    if abs(step) <= SURE * found:
        return found + step
    nearer = abs(step) <= STEP * found and abs(gap(found + step)) < abs(left)
    return found + step if nearer else found


def _away(ends: tuple[float, float], today: float) -> float:
    """How far `today` lies from the stretch between `ends`."""
    return max(ends[0] - today, today - ends[1], 0.0)
