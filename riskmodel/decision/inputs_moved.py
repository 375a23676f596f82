"""The plans weighed anew with one input after another put to the settings that it may have.

All but the life curve is compared on few curves, and samples are weighed at fewer nodes: the
difference that an input makes is added to the costs of the case as it stands, on all curves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.means import Means
from riskmodel.decision.moved import POINTS, Moved, Weighed, moved, three
from riskmodel.decision.oil_moved import by_oil
from riskmodel.decision.prepared import (
    Grounds,
    Prepared,
    expected_costs,
    few_curves,
    prepare,
    repriced,
    thinned,
)
from riskmodel.decision.prices import Prices
from riskmodel.decision.walk_away import settle
from riskmodel.life.weibull import conditional_failure
from riskmodel.oil.alarm import shed
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly

Floats = NDArray[np.float64]


SHARES, ABOUT, SOME = (0.05, 0.5, 0.95), 0.05, 24
"""Where life curves are told apart, in the order of the chance to fail within keep-until; how far
about each they reach, and how many of them are weighed."""


def inputs_moved(
    found: Grounds, ready: Prepared, stated: Case, bare: Prepared | None = None
) -> Iterator[Moved]:
    """Every input that is not known and that plans which keep the machine hang on. `ready` is the
    case of `found` made ready, `stated` the same before it was settled what to do after a failure,
    `bare` the case without samples to come, if it is at hand."""
    stands, few = expected_costs(ready), thinned(ready)
    yield from _by_failure(found, few, stands, stated)
    yield from _by_price(few, stands)
    yield from _by_life(ready, few, stands)
    if shed(ready.case.oil.element) and (ready.case.sampled or ready.taken is not None):
        yield from by_oil(found, few, stands, bare)


def _by_failure(found: Grounds, few: Prepared, stands: Weighed, stated: Case) -> Iterator[Moved]:
    price, before = stated.cost.failure, expected_costs(few)
    if price.exact:
        return

    def at(value: float) -> Weighed:
        cost = replace(stated.cost, failure=exactly(value))
        changed = replace(stated, cost=cost)
        then = settle(replace(found, case=changed), repriced(few, changed))
        return moved(stands, before, expected_costs(then.ready))

    values = three(price.quantile(POINTS))
    yield Moved("cost.failure", values, [at(value) for value in values])


def _by_price(few: Prepared, stands: Weighed) -> Iterator[Moved]:
    prices, means = few.prices, Means(few.present)

    def whole(changed: Prices) -> Weighed:
        found = means.at(changed)
        return found.at, found.counts @ changed.means(), 1 - found.lasts @ few.fault_share

    before = whole(prices)

    def at(changed: Prices) -> Weighed:
        return moved(stands, before, whole(changed))

    def row(key: str, quantity: Quantity, put: Callable[[Quantity], Prices]) -> Iterator[Moved]:
        if not quantity.exact:
            values = three(quantity.quantile(POINTS))
            fixed = [exactly(value, share=quantity.share) for value in values]
            yield Moved(key, values, [at(put(each)) for each in fixed])

    yield from row("cost.planned", prices.planned, lambda q: replace(prices, planned=q))
    if prices.urgent is not None:
        yield from row("cost.urgent", prices.urgent, lambda q: replace(prices, urgent=q))
    for name in ("found_worn", "oil_change", "sample", "investigation", "sale_credit"):
        quantity: Quantity = getattr(prices, name)
        yield from row(f"cost.{name}", quantity, _put(prices, name))
    if prices.fault_price is not None:
        yield from row(
            "cost.install_fault_price",
            prices.fault_price,
            lambda q: replace(prices, fault_price=q),
        )


def _put(prices: Prices, name: str) -> Callable[[Quantity], Prices]:
    return lambda quantity: replace(prices, **{name: quantity})  # type: ignore[arg-type]


def _by_life(ready: Prepared, few: Prepared, stands: Weighed) -> Iterator[Moved]:
    case, curves, own = ready.case, ready.curves, few.present.watch
    before = expected_costs(few)

    def of(changed: Case) -> Weighed:
        then = prepare(changed, few.curves, ready.taken, own, few.ages, coarse=True)
        return moved(stands, before, expected_costs(then))

    if len(curves) > 1:
        ahead = conditional_failure(ready.ages, case.keep, curves.shape, curves.scale)
        order, at, weighed = np.argsort(ahead), list[float](), list[Weighed]()
        for share in SHARES:  # those about it: one curve alone may be of any shape
            about = order, share - ABOUT, share + ABOUT
            some, ages = few_curves(ready, SOME, about)
            then = prepare(case, some, ready.taken, own, ages, coarse=True)
            failing = conditional_failure(ages, case.keep, some.shape, some.scale)
            at.append(float(failing @ then.present.believed.sum(axis=0)))
            weighed.append(expected_costs(then))
        yield Moved("life.curve", three(at), weighed)
    new = case.plan.new_part_life
    if not new.exact:
        values = three(new.quantile(POINTS))
        changed = (replace(case, plan=replace(case.plan, new_part_life=exactly(v))) for v in values)
        weighed = [of(each) for each in changed]
        yield Moved("plan.new_part_life", values, weighed)
    fault = case.cost.install_fault
    if not fault.exact:
        values = three(fault.quantile(POINTS))
        changed = (
            replace(case, cost=replace(case.cost, install_fault=exactly(v, share=True)))
            for v in values
        )
        weighed = [of(each) for each in changed]
        yield Moved("cost.install_fault", values, weighed)
