"""From a case to its answer: the chances ahead, every plan, and which costs least."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.basis import Basis, basis, rebased
from riskmodel.decision.inspection import AfterSeeing, InspectionPlan, inspection_plan
from riskmodel.decision.long_run import long_run_of
from riskmodel.decision.means import MeanCounts, Means
from riskmodel.decision.occasions import Occasion, closed, together
from riskmodel.decision.payments import Payments, World
from riskmodel.decision.plans import PlanCounts
from riskmodel.decision.possible import Possible, drawn, evenly, over_nodes, possible
from riskmodel.decision.prepared import Prepared, expected_costs, repriced
from riskmodel.decision.prices import (
    FAILURE,
    FITTING,
    FOUND_WORN,
    IN_PLACE,
    INVESTIGATION,
    OIL_CHANGE,
    OPENED,
    SALE,
    SAMPLE,
    TOGETHER,
    URGENT,
    Prices,
)
from riskmodel.decision.results import (
    AfterLook,
    Ahead,
    Chance,
    Information,
    Inspection,
    Interval,
    NewPartRule,
    OilTold,
    OtherCauses,
    PlanResult,
    Retest,
    RetestBranch,
    Sale,
    Sampled,
    Spent,
    Weighing,
)
from riskmodel.decision.retest import Branch, RetestPlan, retest_plan
from riskmodel.decision.sale import Selling, selling
from riskmodel.decision.trade_off import trade_off_of
from riskmodel.decision.value import perfect
from riskmodel.decision.walk_away import settle, walking_away
from riskmodel.life.other_causes import Rate
from riskmodel.life.posterior import Curves
from riskmodel.oil.fleet import with_usual
from riskmodel.oil.history import History
from riskmodel.oil.seen import less_warning_than
from riskmodel.records.case import Case
from riskmodel.use.told import use_told

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LEAD_FACTORS = 5
BAD_CASE = 0.95
HINT = 1.5
"""Samples that make a failure before the next oil change so many times as likely are a hint worth
a second sample (judgement)."""


def weigh(
    case: Case,
    curves: Curves | None = None,
    retest: bool | None = None,
    base: Basis | None = None,
) -> Weighing:
    """Weigh every plan of `case`.

    `curves` stands in for the life curves of the case's own records where given; `retest` tells
    whether to weigh sampling again soon, left out: after a hint in the samples; `base` is that of a
    case that differs in its prices and plans alone, if it is at hand. Raises
    `CannotAnswer` where records and beliefs together do not settle a life curve.
    """
    told = with_usual(case)
    base = basis(told, curves) if base is None else rebased(base, told)
    _ = base.ahead  # all chances at once
    return _begun(told, base, retest).whole


@dataclass(frozen=True, eq=False)
class Begun:
    """An answer as far as its verdict needs: `first` has no long run and nothing on samples to
    come, and its chances ahead are those at today alone; `whole` has all."""

    first: Weighing
    _base: Basis
    _ready: Prepared
    _world: World

    @cached_property
    def whole(self) -> Weighing:
        w, information = self.first, self.first.information
        if information is not None and w.recommended is not None:
            samples = _samples(self._base, w.walks_away, w.plans[w.recommended])
            information = replace(information, samples=samples)
        stop = bool(w.case.machine.symptoms)
        long_run = None if stop else long_run_of(self._ready, self._world)
        return replace(w, ahead=self._base.ahead, information=information, long_run=long_run)


def begin(case: Case, base: Basis) -> Begun:
    """The verdict of `weigh` first, on the basis of a case that differs in its prices and plans
    alone; the rest when it is asked for. Raises as `weigh`."""
    told = with_usual(case)
    return _begun(told, rebased(base, told), None)


def _begun(told: Case, base: Basis, retest: bool | None) -> Begun:
    then = settle(base.found, base.ready)
    walks, found, ready = then.walks, then.found, then.ready
    stated, told = told, walking_away(told) if walks else told
    case, taken = found.case, found.taken
    timing, present = ready.timing, ready.present
    sale = selling(case, timing)
    draws, world = possible(ready, sale)
    draws, nodes = draws.at_nodes()
    counts, renewal = present.evaluate(ready.prices, nodes=nodes)
    means = Means(present).at(ready.prices)
    repair, services = case.plan.after_failure == "repair", present.new_part.services
    payments = Payments(
        timing, renewal, repair, world, present.watch, services, together(ready.occasions)
    )
    played = payments.all_paid(counts.at.tolist())
    costs = draws.costs(counts.counts)
    plans = _plan_results(ready, counts, means, draws, costs, played)
    stop = bool(case.machine.symptoms)
    best = None if stop else _best(plans, counts.at, case)
    again = None
    if best is not None and (_hint(base.risk) if retest is None else retest):
        planned = retest_plan(ready, renewal, nodes)
        if planned is not None:
            again = _retest(ready, planned, plans[best], counts.counts[best], draws)
    none = np.zeros(1)
    first = Weighing(
        case=told,
        age=case.age,
        keep=timing.keep,
        services=timing.services,
        risk=base.risk,
        plans=plans,
        recommended=best,
        trade_off=None if stop else trade_off_of(ready, means, plans, base),
        ahead=Ahead(none, none, none, none),
        new_part_rule=NewPartRule(renewal.left, renewal.service, renewal.step),
        records_used=0 if case.records is None else int(case.records.count.sum()),
        failures_used=0 if case.records is None else _failures(case),
        other_causes=_told(ready.other, timing.keep),
        oil=None if taken is None else _oil(told, taken),
        retest=again,
        sale=None if sale is None or stop else _sale(ready, sale, draws, costs, plans),
        walks_away=walks,
        stated=stated if walks else None,
        use=use_told(found.use),
        information=None
        if best is None
        else _information(
            ready, counts, plans[best], counts.counts[best], draws, nodes, costs, played
        ),
        long_run=None,
    )
    return Begun(first, base, ready, world)


def _best(plans: tuple[PlanResult, ...], at: Floats, case: Case) -> int:
    costs, failure = (
        np.array([each.value for each in (getattr(plan, name) for plan in plans)])
        for name in ("cost", "failure")
    )
    return recommended(case, at, costs, failure)


def recommended(case: Case, at: Floats, costs: Floats, failure: Floats) -> int:
    """The cheapest plan that can be had, of those that keep to the owner's ceiling where any does.

    `at` (inf: never), expected `costs` and the chance of a `failure`, (plans,) in order of time.
    """
    costs = np.where(np.arange(len(costs)) < closed(case, at), np.inf, costs)
    most_risk = case.plan.most_risk
    allowed = np.full(len(costs), True) if most_risk is None else failure <= most_risk
    allowed &= np.isfinite(costs)
    return int(np.argmin(np.where(allowed, costs, np.inf) if allowed.any() else costs))


def _told(other: Rate | None, keep: float) -> OtherCauses | None:
    if other is None:
        return None
    chance = (float(-np.expm1(-rate * keep)) for rate in (other.rate, other.low, other.high))
    return OtherCauses(
        other.failures, Interval(other.rate, other.low, other.high), Interval(*chance)
    )


def _failures(case: Case) -> int:
    """Failures on record that count as wear."""
    assert case.records is not None
    told = zip(case.records.outcome, case.records.cause, strict=True)
    worn = np.array([outcome == "failed" and cause != "other" for outcome, cause in told])
    return int(case.records.count[worn].sum())


def _oil(case: Case, taken: History) -> OilTold:
    warning = case.warning
    factors, shares = warning.lead_factor.points(LEAD_FACTORS)
    short = sum(
        w * less_warning_than(case.interval, warning.lead, f)
        for f, w in zip(factors.tolist(), shares.tolist(), strict=True)
    )
    samples = 0 if case.samples is None else len(case.samples)
    return OilTold(samples, len(taken.ages), warning.silent.mean, float(short))


def _plan_results(
    ready: Prepared,
    counts: PlanCounts,
    means: MeanCounts,
    draws: Possible,
    paid: Floats,
    played: Floats,
) -> tuple[PlanResult, ...]:
    """`paid` (plans, draws) is expected in each draw of what is not known, `played` with luck."""
    weight, costs = ready.weight, means.counts @ ready.prices.means()
    alike = ready.alike
    shut = np.arange(len(costs)) < closed(ready.case, counts.at)
    open_paid = np.where(shut[:, None], np.inf, paid)
    if draws.sold is not None:  # selling is a plan as well
        open_paid = np.concatenate([open_paid, draws.sold[None]])
    least = np.argmin(open_paid, axis=0)
    cheapest = np.bincount(least, minlength=len(costs)) / paid.shape[1]
    failure, failures = 1 - means.lasts @ ready.fault_share, draws.failures(counts.lasts)
    bad = np.quantile(played, BAD_CASE, axis=1)
    services = {float(at): j + 1 for j, at in enumerate(ready.timing.services)}
    others = {each.at: each for each in ready.occasions}
    return tuple(
        PlanResult(
            at=None if np.isinf(counts.at[i]) else float(counts.at[i]),
            service={0.0: 0, **services}.get(float(counts.at[i])),
            failure=drawn(float(failure[i]), failures[i]),
            present_failure=over_nodes(counts.fails[i], weight, alike),
            alarm=over_nodes(counts.alarm[i], weight, alike),
            cost=drawn(float(costs[i]), paid[i]),
            bad_case=float(bad[i]),
            chance_cheapest=float(cheapest[i]),
            occasion=others.get(float(counts.at[i])),
            spent=_spent(ready.prices, means.counts[i]),
        )
        for i in range(len(costs))
    )


def _samples(base: Basis, walks: bool, best: PlanResult) -> Sampled | None:
    """The samples to come against the best plan without them; a failure is dealt with alike."""
    bare = base.bare
    if bare is None:
        return None
    ready = repriced(bare, walking_away(bare.case)) if walks else bare
    at, costs, failure = expected_costs(ready)
    i = recommended(ready.case, at, costs, failure)
    place = None if np.isinf(at[i]) else float(at[i])
    return Sampled(place, float(costs[i]), float(costs[i]) - best.cost.value)


def _spent(prices: Prices, counted: Floats) -> Spent:
    """What the mean counts of a plan, (events,), cost by what it is spent on."""
    amount = counted * prices.means()
    fault_price = prices.fault_price
    put_right = sum(line.mean for line in prices.failure)
    put_right = put_right if fault_price is None else fault_price.mean
    faults = (counted[FITTING] + counted[URGENT]) * prices.fault.mean * put_right
    return Spent(
        jobs=float(amount[FITTING] + amount[URGENT] - faults),
        failures=float(amount[FAILURE]),
        fitting_faults=float(faults),
        found_worn=float(amount[FOUND_WORN]),
        oil=float(amount[OIL_CHANGE] + amount[SAMPLE] + amount[INVESTIGATION]),
        alongside=float(amount[OPENED] + amount[IN_PLACE] + amount[TOGETHER]),
        sale=float(amount[SALE]),
    )


def _information(
    ready: Prepared,
    counts: PlanCounts,
    best: PlanResult,
    without: Floats,
    draws: Possible,
    nodes: Ints,
    costs: Floats,
    played: Floats,
) -> Information:
    """`costs` and `played` (plans, draws): expected, and with luck; `without` (events, nodes) the
    counts of the `best` plan without an inspection."""
    first = closed(ready.case, counts.at)

    even = np.full(costs.shape[1], 1 / costs.shape[1])
    sold = np.empty((0, costs.shape[1])) if draws.sold is None else draws.sold[None]
    known, foreseen = (
        perfect(np.concatenate([each[first:], sold]), even) for each in (costs, played)
    )
    found = inspection_plan(ready, counts, range(first, len(costs)), nodes)
    look = None if found is None else _inspection(ready, found, best, without, draws)
    return Information(known, foreseen, look)


def _inspection(
    ready: Prepared, found: InspectionPlan, best: PlanResult, plain: Floats, draws: Possible
) -> Inspection:
    """`plain` (events, nodes) are the counts of the `best` plan without an inspection."""
    paid, without, damaged = draws.costs(np.stack([found.counts, plain, found.damaged]))
    price, risk = found.price, found.risk
    cost = price.mean + (1 - risk) * found.cost + risk * found.damage
    costs = evenly(price, len(paid)) + (1 - risk) * paid + risk * damaged
    failures = risk + (1 - risk) * draws.failures(found.lasts[None])[0]

    def after(outcome: AfterSeeing) -> AfterLook:
        return AfterLook(outcome.told.chance, outcome.at, outcome.told.soon)

    return Inspection(
        if_seen=after(found.if_seen),
        if_not=after(found.if_not),
        failure=drawn(risk + (1 - risk) * found.failure, failures),
        cost=drawn(cost, costs),
        price=price.mean,
        worth=found.worth,
        saves=drawn(best.cost.value - cost, without - costs),
    )


def _sale(
    ready: Prepared, sale: Selling, draws: Possible, paid: Floats, plans: tuple[PlanResult, ...]
) -> Sale:
    """Selling today beside `plans` that keep it, which cost `paid` (plans, draws)."""
    at = np.array([np.inf if each.at is None else each.at for each in plans])
    first = closed(ready.case, at)
    keeping = min(each.cost.value for each in plans[first:])
    told = None
    if draws.sold is not None:
        none, sold = Interval(0.0, 0.0, 0.0), draws.sold
        told = PlanResult(
            at=0.0,
            service=None,
            failure=none,
            present_failure=none,
            alarm=none,
            cost=drawn(sale.cost, sold),
            bad_case=float(np.quantile(sold, BAD_CASE)),
            chance_cheapest=float(np.mean(sold < paid[first:].min(axis=0))),
            occasion=Occasion("sale", 0.0),
        )
    return Sale(sale.value, sale.last * sale.later.mean, sale.even(keeping), told)


def _hint(risk: tuple[Chance, ...]) -> bool:
    factor = risk[0].oil_factor
    return factor is not None and factor >= HINT


def _retest(
    ready: Prepared, found: RetestPlan, best: PlanResult, plain: Floats, draws: Possible
) -> Retest:
    """`plain` (events, nodes) are the counts of the `best` plan without a retest."""
    weight, alike = ready.weight, ready.alike
    paid, without = draws.costs(np.stack([found.counts, plain]))
    saved = best.cost.value - found.cost
    return Retest(
        at=found.at,
        acts_at=found.acts_at,
        oil_age=found.alarm.oil_age,
        limits=found.limits,
        false_alarm=found.alarm.false_alarm,
        first=found.first,
        if_surge=_branch(found.if_surge),
        if_clear=_branch(found.if_clear),
        failure=drawn(found.failure, draws.failures(found.lasts[None])[0]),
        present_failure=over_nodes(found.fails, weight, alike),
        alarm=over_nodes(found.urgent, weight, alike),
        cost=drawn(found.cost, paid),
        saves=drawn(saved, without - paid),
    )


def _branch(branch: Branch) -> RetestBranch:
    told = branch.told
    return RetestBranch(told.chance, branch.at, branch.at_once, told.soon, branch.hurried)
