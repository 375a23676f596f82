"""The plans weighed anew with one input after another put to the settings that it may have.

All but the life curve is compared on few curves, and samples are weighed at fewer nodes: the
difference that an input makes is added to the costs of the case as it stands, on all curves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.basis import unsampled
from riskmodel.decision.means import Means
from riskmodel.decision.prepared import (
    Grounds,
    Prepared,
    expected_costs,
    prepare,
    prepared,
    repriced,
    thinned,
)
from riskmodel.decision.prices import Prices
from riskmodel.decision.renewal import NewPart
from riskmodel.decision.sampling import LeadLife, Sampling
from riskmodel.decision.walk_away import settle
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_failure
from riskmodel.oil.alarm import shed
from riskmodel.oil.history import ROUGH
from riskmodel.records.case import Case, Element
from riskmodel.records.quantity import Quantity, exactly, scaled

Floats = NDArray[np.float64]

POINTS: Floats = np.array([-1.6448536269514722, 0.0, 1.6448536269514722])
"""The settings of an input: the ends and the middle of its central 90 %."""
MISLEADING = (0.005, 0.02, 0.08)
SHARED = (0.0, 0.5, 0.9)
LEAD_LIFE = (-0.5, 0.0, 0.5)
"""Correlation of lead and life tried (judgement)."""
FEW_LEADS = 16
TIMES = (0.5, 1.0, 2.0)
"""What is a judgement and stated as varying from part to part is halved and doubled whole."""

Settings = tuple[float, float, float]
Weighed = tuple[Floats, Floats, Floats]
"""Usage from now, expected cost and chance of a failure of every plan."""


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """An input at its settings `at`, and the plans that keep the machine `weighed` at each; `bare`
    the same without samples to come, where samples are planned and the input bears on them."""

    key: str
    at: Settings
    weighed: Sequence[Weighed]
    bare: Sequence[Weighed] | None = None


def three(values: Sequence[float] | Floats) -> Settings:
    low, middle, high = (float(each) for each in values)
    return low, middle, high


def _moved(stands: Weighed, before: Weighed, after: Weighed) -> Weighed:
    """The case as it `stands` with what a change makes of it elsewhere, from `before` to `after`"""
    chance = np.clip(stands[2] + after[2] - before[2], 0.0, 1.0)
    return stands[0], stands[1] + after[1] - before[1], chance


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
        yield from _by_oil(found, few, stands, bare)


def _by_failure(found: Grounds, few: Prepared, stands: Weighed, stated: Case) -> Iterator[Moved]:
    price, before = stated.cost.failure, expected_costs(few)
    if price.exact:
        return

    def at(value: float) -> Weighed:
        cost = replace(stated.cost, failure=exactly(value))
        changed = replace(stated, cost=cost)
        then = settle(replace(found, case=changed), repriced(few, changed))
        return _moved(stands, before, expected_costs(then.ready))

    values = three(price.quantile(POINTS))
    yield Moved("cost.failure", values, [at(value) for value in values])


def _by_price(few: Prepared, stands: Weighed) -> Iterator[Moved]:
    prices, means = few.prices, Means(few.present)

    def whole(changed: Prices) -> Weighed:
        found = means.at(changed)
        return found.at, found.counts @ changed.means(), 1 - found.lasts @ few.fault_share

    before = whole(prices)

    def at(changed: Prices) -> Weighed:
        return _moved(stands, before, whole(changed))

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
    case, curves, own = ready.case, ready.curves, ready.present.watch
    before = expected_costs(few)

    def at(changed: Case, which: Curves, ages: Floats) -> Weighed:
        return expected_costs(prepare(changed, which, ready.taken, own, ages))

    def of(changed: Case) -> Weighed:
        return _moved(stands, before, at(changed, few.curves, few.ages))

    if len(curves) > 1:
        ahead = conditional_failure(ready.ages, case.keep, curves.shape, curves.scale)
        order = np.argsort(ahead)
        by = np.cumsum(ready.present.believed.sum(axis=0)[order])
        some = order[np.minimum(np.searchsorted(by, [0.05, 0.5, 0.95]), len(order) - 1)]
        weighed = [
            at(case, Curves(curves.shape[[k]], curves.scale[[k]], np.ones(1)), ready.ages[[k]])
            for k in some
        ]
        yield Moved("life.curve", three(ahead[some]), weighed)
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


def _by_oil(
    found: Grounds, few: Prepared, stands: Weighed, bare: Prepared | None
) -> Iterator[Moved]:
    case, taken, own = found.case, found.taken, few.present.watch
    lasting = np.inf if own is None else own.lasting
    warning, oil = case.warning, case.oil
    factors = three(warning.lead_factor.quantile(POINTS))

    def watched(
        changed: Case, lead_life: float = 0.0, beside: Settings | tuple[()] = ()
    ) -> Sampling:
        known = found.history(changed)
        known = None if known is None else replace(known, nodes=ROUGH)
        together = LeadLife(lead_life, few.curves, few.ages)
        return Sampling(changed, known, together, lasting, FEW_LEADS, beside)

    def anew(watch: Sampling, fitted: NewPart | None = None) -> Prepared:
        return prepare(watch.case, few.curves, watch.history, watch, few.ages, fitted)

    usual = watched(case, beside=factors)
    as_now, quiet = anew(usual), usual.unsampled()
    before = expected_costs(as_now)

    def moved(watch: Sampling, fitted: NewPart | None = None) -> Weighed:
        return _moved(stands, before, expected_costs(anew(watch, fitted)))

    @cache
    def unseen() -> Weighed:
        return expected_costs(prepared(found, unsampled(case)) if bare is None else bare)

    @cache
    def hushed() -> tuple[Weighed, NewPart]:
        """The same on few curves, and the part fitted then: it is watched by nobody."""
        then = anew(quiet)
        return expected_costs(then), then.present.new_part

    def settled(key: str, values: Settings, put: Callable[[Sampling, float], Sampling]) -> Moved:
        weighed = [moved(put(usual, value)) for value in values]
        if not case.sampled:
            return Moved(key, values, weighed)
        if taken is None:  # then nothing is told that could hang on it
            return Moved(key, values, weighed, [unseen()] * len(values))
        few_before, fitted = hushed()
        after = (expected_costs(anew(put(quiet, value), fitted)) for value in values)
        less = [_moved(unseen(), few_before, each) for each in after]
        return Moved(key, values, weighed, less)

    def row(
        key: str,
        values: Settings,
        put: Callable[[float], Case],
        fitted: NewPart | None = None,
    ) -> Moved:
        """`fitted` where it bears on nothing that is known of parts to come."""
        changed = [put(value) for value in values]
        weighed = [stands if c == case else moved(watched(c), fitted) for c in changed]
        return Moved(key, values, weighed)

    if not warning.lead_factor.exact:
        yield settled("warning.lead_factor", factors, lambda w, v: w.settled(factor=v))
    if not warning.silent.exact:
        values = three(warning.silent.quantile(POINTS))
        yield settled("warning.silent", values, lambda w, v: w.settled(silent=v))
    yield row("oil.element.rise", TIMES, lambda v: _elements(case, v))
    yield row(
        "oil.misleading",
        MISLEADING,
        lambda v: replace(case, oil=replace(oil, misleading=v)),
        as_now.present.new_part,
    )
    yield row(
        "oil.shared_scatter", SHARED, lambda v: replace(case, oil=replace(oil, shared_scatter=v))
    )
    together = [moved(watched(case, value)) if value else stands for value in LEAD_LIFE]
    yield Moved("warning.lead_life", LEAD_LIFE, together)


def _elements(case: Case, times: float) -> Case:
    """Every rise so many times as far above 1."""

    def raised(element: Element) -> Element:
        rise = scaled(element.rise, times)
        return replace(element, rise=Quantity(max(rise.low, 1.01), max(rise.high, 1.02)))

    return replace(
        case, oil=replace(case.oil, element=tuple(raised(each) for each in case.oil.element))
    )
