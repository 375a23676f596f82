"""Which input moves the verdict most, and which to find out more about first.

Each input that is not known exactly is put to the ends of its range in turn, all else as it is, and
the plans are weighed anew. What it would be worth to know the input before deciding is taken from
three points of it, the ends and the middle of its central 90 %, at .185, .63 and .185 (extended
Pearson-Tukey; Keefer & Bodily 1983, Management Science 29, 595-609, from memory): the least cost
that one plan has over all three, less the mean of the least cost at each.

All but the life curve is compared on few curves, and samples are weighed at fewer nodes: the
difference that an input makes is added to the costs of the case as it stands, on all curves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
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
    repriced,
    thinned,
)
from riskmodel.decision.prices import Prices
from riskmodel.decision.sale import Selling, selling, sold_instead
from riskmodel.decision.sampling import LeadLife, Sampling
from riskmodel.decision.value import perfect
from riskmodel.decision.walk_away import settle
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
COMPARED = Nodes(panels=8, order=6, rise_step=1.2, rise_end=3.6, table=0.2)
"""How finely samples are weighed where only a difference is asked for."""
FEW_LEADS = 16
TIMES = (0.5, 1.0, 2.0)
"""What is a judgement and stated as varying from part to part is halved and doubled whole."""


@dataclass(frozen=True, slots=True)
class Swing:
    """One input at three settings `at` (low, middle, high).

    `now` and `later` are the expected cost there of the first plan that can be had and of the best
    of the others, `plan` the usage from now of the plan recommended (None: never). `swing` is how
    far the difference of the two costs moves from end to end, `worth` what it is worth to know the
    input before deciding. `sold` is what selling today costs there, where that is weighed, and
    `sells` whether it is then the verdict. Of what selling alone hangs on, `now` is the plan that
    keeps the machine, and `later` selling it.
    """

    key: str
    at: tuple[float, float, float]
    now: tuple[float, float, float]
    later: tuple[float, float, float]
    plan: tuple[float | None, float | None, float | None]
    swing: float
    worth: float
    sold: tuple[float, float, float] | None = None
    sells: tuple[bool, bool, bool] = (False, False, False)

    @property
    def flips(self) -> bool:
        """Whether the verdict differs between its settings."""
        named = zip(self.sells, self.plan, strict=True)
        return len({"sell" if sells else plan for sells, plan in named}) > 1


Settings = tuple[float, float, float]
Weighed = tuple[Floats, Floats, Floats]
"""Usage from now, expected cost and chance of a failure of every plan."""
Kept = tuple[str, Settings, list[Weighed]]
"""An input, its settings, and the plans that keep the machine weighed at each."""


def swings(
    found: Grounds, ready: Prepared | None = None, stated: Case | None = None
) -> tuple[Swing, ...]:
    """Every input that is not known, the one that moves most first; `ready` is the case of `found`
    made ready, if it is at hand, `stated` the same before it was settled what to do after a
    failure: it is settled anew at each price of one."""
    ready = prepared(found) if ready is None else ready
    stands, few = expected_costs(ready), thinned(ready)
    sale = selling(ready.case, ready.timing)
    sale = None if sale is None or sale.without is None else sale
    by_failure = _by_failure(found, few, stands, ready.case if stated is None else stated)
    kept = (
        *by_failure,
        *_by_price(few, stands),
        *_by_life(ready, few, stands),
        *_by_oil(found, few, stands),
    )
    rows = [_swing(ready.case, sale, *each) for each in kept]
    if sale is not None:
        rows += _by_sale(ready.case, sale, stands)
    return tuple(sorted(rows, key=lambda each: -each.swing))


def _moved(stands: Weighed, before: Weighed, after: Weighed) -> Weighed:
    """The case as it `stands` with what a change makes of it elsewhere, from `before` to `after`"""
    chance = np.clip(stands[2] + after[2] - before[2], 0.0, 1.0)
    return stands[0], stands[1] + after[1] - before[1], chance


def _oil(case: Case, taken: History | None) -> bool:
    return bool(shed(case.oil.element)) and (case.sampled or taken is not None)


def _swing(
    case: Case, sale: Selling | None, key: str, at: Settings, weighed: Sequence[Weighed]
) -> Swing:
    first = closed(case, weighed[0][0])
    costs = np.array([cost[first:] for _, cost, _ in weighed])
    now, later = costs[:, 0], costs[:, 1:].min(axis=1)
    gap = now - later
    sold = None if sale is None else (sale.cost, sale.cost, sale.cost)
    return _row(case, key, at, weighed, (_three(now), _three(later)), gap[2] - gap[0], sold)


def _row(
    case: Case,
    key: str,
    at: Settings,
    weighed: Sequence[Weighed],
    told: tuple[Settings, Settings],
    moves: float,
    sold: Settings | None,
) -> Swing:
    """One row from the plans `weighed` at each setting, the two costs `told`, how far their
    difference `moves`, and what selling costs."""
    plans: list[float | None] = []
    sells = []
    first, ceiling = closed(case, weighed[0][0]), case.plan.most_risk
    costs = np.array([cost[first:] for _, cost, _ in weighed])
    for i, (usage, cost, failure) in enumerate(weighed):
        best = recommended(case, usage, cost, failure)
        plans.append(None if np.isinf(usage[best]) else float(usage[best]))
        kept = float(cost[best]), float(failure[best])
        sells.append(sold is not None and sold_instead(sold[i], *kept, ceiling))
    if sold is not None:
        costs = np.concatenate([costs, np.array(sold)[:, None]], axis=1)
    return Swing(
        key,
        at,
        *told,
        (plans[0], plans[1], plans[2]),
        float(abs(moves)),
        perfect(costs.T, WEIGHTS),
        sold,
        (sells[0], sells[1], sells[2]),
    )


def _three(values: Sequence[float] | Floats) -> Settings:
    low, middle, high = (float(each) for each in values)
    return low, middle, high


def _by_sale(case: Case, sale: Selling, stands: Weighed) -> Iterator[Swing]:
    """What selling hangs on and no plan that keeps the machine does."""
    assert sale.without is not None
    amounts: tuple[tuple[str, Quantity, Callable[[Quantity], Selling]], ...] = (
        ("plan.do_without", sale.without, lambda q: replace(sale, without=q)),
        ("machine.upkeep", sale.upkeep, lambda q: replace(sale, upkeep=q)),
        ("machine.value_later", sale.later, lambda q: replace(sale, later=q)),
    )
    keeps = float(stands[1][recommended(case, *stands)])
    for key, amount, put in amounts:
        if not amount.exact:
            at = _three(amount.quantile(POINTS))
            sold = _three([put(exactly(value)).cost for value in at])
            kept = keeps, keeps, keeps
            yield _row(case, key, at, [stands] * 3, (kept, sold), sold[2] - sold[0], sold)


def _by_failure(found: Grounds, few: Prepared, stands: Weighed, stated: Case) -> Iterator[Kept]:
    price, before = stated.cost.failure, expected_costs(few)
    if price.exact:
        return

    def at(value: float) -> Weighed:
        cost = replace(stated.cost, failure=exactly(value))
        changed = replace(stated, cost=cost)
        then = settle(replace(found, case=changed), repriced(few, changed))
        return _moved(stands, before, expected_costs(then.ready))

    values = _three(price.quantile(POINTS))
    yield "cost.failure", values, [at(value) for value in values]


def _by_price(few: Prepared, stands: Weighed) -> Iterator[Kept]:
    prices, means = few.prices, Means(few.present)

    def whole(changed: Prices) -> Weighed:
        found = means.at(changed)
        return found.at, found.counts @ changed.means(), 1 - found.lasts @ few.fault_share

    before = whole(prices)

    def at(changed: Prices) -> Weighed:
        return _moved(stands, before, whole(changed))

    def row(key: str, quantity: Quantity, put: Callable[[Quantity], Prices]) -> Iterator[Kept]:
        if not quantity.exact:
            values = _three(quantity.quantile(POINTS))
            fixed = [exactly(value, share=quantity.share) for value in values]
            yield key, values, [at(put(each)) for each in fixed]

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


def _by_life(ready: Prepared, few: Prepared, stands: Weighed) -> Iterator[Kept]:
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
        yield "life.curve", _three(ahead[some]), weighed
    new = case.plan.new_part_life
    if not new.exact:
        values = _three(new.quantile(POINTS))
        changed = (replace(case, plan=replace(case.plan, new_part_life=exactly(v))) for v in values)
        weighed = [of(each) for each in changed]
        yield "plan.new_part_life", values, weighed
    fault = case.cost.install_fault
    if not fault.exact:
        values = _three(fault.quantile(POINTS))
        changed = (
            replace(case, cost=replace(case.cost, install_fault=exactly(v, share=True)))
            for v in values
        )
        weighed = [of(each) for each in changed]
        yield "cost.install_fault", values, weighed


def _by_oil(found: Grounds, few: Prepared, stands: Weighed) -> Iterator[Kept]:
    case = found.case
    if not _oil(case, found.taken):
        return

    own = few.present.watch
    lasting = np.inf if own is None else own.lasting
    warning, oil = case.warning, case.oil
    factors = _three(warning.lead_factor.quantile(POINTS))

    def watched(
        changed: Case, lead_life: float = 0.0, beside: Settings | tuple[()] = ()
    ) -> Sampling:
        known = found.history(changed)
        known = None if known is None else replace(known, nodes=COMPARED)
        together = LeadLife(lead_life, few.curves, few.ages)
        return Sampling(changed, known, together, lasting, FEW_LEADS, beside)

    def anew(watch: Sampling) -> Weighed:
        return expected_costs(prepare(watch.case, few.curves, watch.history, watch, few.ages))

    usual = watched(case, beside=factors)
    before = anew(usual)

    def moved(watch: Sampling) -> Weighed:
        return _moved(stands, before, anew(watch))

    def row(key: str, values: Settings, put: Callable[[float], Case]) -> Kept:
        changed = [put(value) for value in values]
        return key, values, [stands if c == case else moved(watched(c)) for c in changed]

    if not warning.lead_factor.exact:
        known = [moved(usual.settled(factor=value)) for value in factors]
        yield "warning.lead_factor", factors, known
    if not warning.silent.exact:
        values = _three(warning.silent.quantile(POINTS))
        known = [moved(usual.settled(silent=value)) for value in values]
        yield "warning.silent", values, known
    yield row("oil.element.rise", TIMES, lambda v: _elements(case, v))
    yield row("oil.misleading", MISLEADING, lambda v: replace(case, oil=replace(oil, misleading=v)))
    yield row(
        "oil.shared_scatter", SHARED, lambda v: replace(case, oil=replace(oil, shared_scatter=v))
    )
    together = [moved(watched(case, value)) if value else stands for value in LEAD_LIFE]
    yield "warning.lead_life", LEAD_LIFE, together


def _elements(case: Case, times: float) -> Case:
    """Every rise so many times as far above 1."""

    def raised(element: Element) -> Element:
        rise = scaled(element.rise, times)
        return replace(element, rise=Quantity(max(rise.low, 1.01), max(rise.high, 1.02)))

    return replace(
        case, oil=replace(case.oil, element=tuple(raised(each) for each in case.oil.element))
    )
