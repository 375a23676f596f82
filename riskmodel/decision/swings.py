"""Which input moves the verdict most, and which to find out more about first.

Each input that is not known exactly is put to the ends of its range in turn, all else as it is, and
the plans are weighed anew. What it would be worth to know the input before deciding is taken from
three points of it, the ends and the middle of its central 90 %, at .185, .63 and .185 (extended
Pearson-Tukey; Keefer & Bodily 1983, Management Science 29, 595-609, from memory): the least cost
that one plan has over all three, less the mean of the least cost at each.

What hangs on the life of new parts, on fitting faults and on what the oil tells is compared on few
curves, and samples are weighed at fewer nodes: the difference that an input makes is added to the
costs of the case as it stands, on all curves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.means import Means
from riskmodel.decision.occasions import closed
from riskmodel.decision.prepared import (
    Grounds,
    Prepared,
    expected_costs,
    prepare,
    prepared,
    thinned,
)
from riskmodel.decision.prices import Prices
from riskmodel.decision.sampling import LeadLife, Sampling
from riskmodel.decision.value import perfect
from riskmodel.decision.weigh import recommended
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_failure
from riskmodel.oil.alarm import shed
from riskmodel.oil.history import History, Nodes
from riskmodel.records.case import Case, Element
from riskmodel.records.quantity import Quantity, exactly, scaled

Floats = NDArray[np.float64]

POINTS: Floats = np.array([-1.6448536269514722, 0.0, 1.6448536269514722])
WEIGHTS: Floats = np.array([0.185, 0.63, 0.185])
MISLEADING = (0.005, 0.02, 0.08)
SHARED = (0.0, 0.5, 0.9)
LEAD_LIFE = (-0.5, 0.0, 0.5)
"""Correlation of lead and life tried (judgement)."""
COMPARED = Nodes(panels=8, order=6, rise_step=0.9, rise_end=3.6, table=0.1)
"""How finely samples are weighed where only a difference is asked for."""
TIMES = (0.5, 1.0, 2.0)
"""What is a judgement and stated as varying from part to part is halved and doubled whole."""


@dataclass(frozen=True, slots=True)
class Swing:
    """One input at three settings `at` (low, middle, high).

    `now` and `later` are the expected cost there of the first plan that can be had and of the best
    of the others, `plan` the usage from now of the plan recommended (None: never). `swing` is how
    far the difference of the two costs moves from end to end, `worth` what it is worth to know the
    input before deciding.
    """

    key: str
    at: tuple[float, float, float]
    now: tuple[float, float, float]
    later: tuple[float, float, float]
    plan: tuple[float | None, float | None, float | None]
    swing: float
    worth: float

    @property
    def flips(self) -> bool:
        """Whether the verdict differs between its settings."""
        return len(set(self.plan)) > 1


Weighed = tuple[Floats, Floats, Floats]
"""Usage from now, expected cost and chance of a failure of every plan."""


def swings(found: Grounds, ready: Prepared | None = None) -> tuple[Swing, ...]:
    """Every input that is not known, the one that moves most first; `ready` is the case of `found`
    made ready, if it is at hand."""
    ready = prepared(found) if ready is None else ready
    stands, few = expected_costs(ready), thinned(ready)
    rows = [*_by_price(ready), *_by_life(ready, few, stands), *_by_oil(found, few, stands)]
    return tuple(sorted(rows, key=lambda each: -each.swing))


def _moved(stands: Weighed, before: Weighed, after: Weighed) -> Weighed:
    """The case as it `stands` with what a change makes of it elsewhere, from `before` to `after`"""
    chance = np.clip(stands[2] + after[2] - before[2], 0.0, 1.0)
    return stands[0], stands[1] + after[1] - before[1], chance


def _oil(case: Case, taken: History | None) -> bool:
    return bool(shed(case.oil.element)) and (case.sampled or taken is not None)


def _swing(case: Case, key: str, at: tuple[float, ...], weighed: list[Weighed]) -> Swing:
    first = closed(case, weighed[0][0])
    costs = np.array([cost[first:] for _, cost, _ in weighed])
    now, later = costs[:, 0], costs[:, 1:].min(axis=1)
    plans = []
    for usage, cost, failure in weighed:
        chosen = float(usage[recommended(case, usage, cost, failure)])
        plans.append(None if np.isinf(chosen) else chosen)
    gap = now - later
    return Swing(
        key,
        (at[0], at[1], at[2]),
        (float(now[0]), float(now[1]), float(now[2])),
        (float(later[0]), float(later[1]), float(later[2])),
        (plans[0], plans[1], plans[2]),
        float(abs(gap[2] - gap[0])),
        perfect(costs.T, WEIGHTS),
    )


def _by_price(ready: Prepared) -> Iterator[Swing]:
    case, prices = ready.case, ready.prices
    means = Means(ready.present)

    def at(changed: Prices) -> Weighed:
        found = means.at(changed)
        return found.at, found.counts @ changed.means(), 1 - found.lasts @ ready.fault_share

    def row(key: str, quantity: Quantity, put: Callable[[Quantity], Prices]) -> Iterator[Swing]:
        if not quantity.exact:
            values = tuple(float(v) for v in quantity.quantile(POINTS))
            fixed = [exactly(value, share=quantity.share) for value in values]
            yield _swing(case, key, values, [at(put(each)) for each in fixed])

    engine, *lines = prices.failure
    yield from row("cost.planned", prices.planned, lambda q: replace(prices, planned=q))
    if prices.urgent is not None:
        yield from row("cost.urgent", prices.urgent, lambda q: replace(prices, urgent=q))
    yield from row("cost.failure", engine, lambda q: replace(prices, failure=(q, *lines)))
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


def _by_life(ready: Prepared, few: Prepared, stands: Weighed) -> Iterator[Swing]:
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
        yield _swing(case, "life.curve", tuple(float(ahead[k]) for k in some), weighed)
    new = case.plan.new_part_life
    if not new.exact:
        values = tuple(float(v) for v in new.quantile(POINTS))
        changed = (replace(case, plan=replace(case.plan, new_part_life=exactly(v))) for v in values)
        weighed = [of(each) for each in changed]
        yield _swing(case, "plan.new_part_life", values, weighed)
    fault = case.cost.install_fault
    if not fault.exact:
        values = tuple(float(v) for v in fault.quantile(POINTS))
        changed = (
            replace(case, cost=replace(case.cost, install_fault=exactly(v, share=True)))
            for v in values
        )
        weighed = [of(each) for each in changed]
        yield _swing(case, "cost.install_fault", values, weighed)


def _by_oil(found: Grounds, few: Prepared, stands: Weighed) -> Iterator[Swing]:
    case = found.case
    if not _oil(case, found.taken):
        return

    def anew(changed: Case, lead_life: float) -> Weighed:
        known = found.history(changed)
        known = None if known is None else replace(known, nodes=COMPARED)
        together = LeadLife(lead_life, few.curves, few.ages)
        watch = Sampling(changed, known, lead_life=together, lasting=lasting)
        return expected_costs(prepare(changed, few.curves, known, watch, few.ages))

    own = few.present.watch
    lasting = np.inf if own is None else own.lasting
    before = anew(case, 0.0)

    def of(changed: Case, lead_life: float = 0.0) -> Weighed:
        if changed == case and lead_life == 0:  # the middle of several rows
            return stands
        return _moved(stands, before, anew(changed, lead_life))

    def row(key: str, values: tuple[float, ...], put: Callable[[float], Case]) -> Swing:
        return _swing(case, key, values, [of(put(value)) for value in values])

    warning, oil = case.warning, case.oil
    if not warning.lead_factor.exact:
        values = tuple(float(v) for v in warning.lead_factor.quantile(POINTS))
        yield row("warning.lead_factor", values, lambda v: _warning(case, lead_factor=exactly(v)))
    if not warning.silent.exact:
        values = tuple(float(v) for v in warning.silent.quantile(POINTS))
        yield row("warning.silent", values, lambda v: _warning(case, silent=exactly(v, share=True)))
    yield row("oil.element.rise", TIMES, lambda v: _elements(case, v))
    yield row("oil.misleading", MISLEADING, lambda v: replace(case, oil=replace(oil, misleading=v)))
    yield row(
        "oil.shared_scatter", SHARED, lambda v: replace(case, oil=replace(oil, shared_scatter=v))
    )
    weighed = [of(case, value) for value in LEAD_LIFE]
    yield _swing(case, "warning.lead_life", LEAD_LIFE, weighed)


def _warning(case: Case, **changes: Quantity) -> Case:
    return replace(case, warning=replace(case.warning, **changes))


def _elements(case: Case, times: float) -> Case:
    """Every rise so many times as far above 1."""

    def raised(element: Element) -> Element:
        rise = scaled(element.rise, times)
        return replace(element, rise=Quantity(max(rise.low, 1.01), max(rise.high, 1.02)))

    return replace(
        case, oil=replace(case.oil, element=tuple(raised(each) for each in case.oil.element))
    )
