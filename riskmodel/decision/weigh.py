"""From a case to its answer: the chances ahead, every plan, and which costs least."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv, ndtri

from riskmodel.decision.lives import Joined, join
from riskmodel.decision.means import Means
from riskmodel.decision.payments import Payments, World
from riskmodel.decision.plans import PlanCounts, PresentPart
from riskmodel.decision.prices import FAILURE, FITTING, URGENT, Prices, prices_of, spread_points
from riskmodel.decision.results import (
    Ahead,
    Chance,
    Interval,
    NewPartRule,
    OilTold,
    OtherCauses,
    PlanResult,
    TradeOff,
    Weighing,
)
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.timing import Timing, timing_of
from riskmodel.life.other_causes import Rate, other_causes
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import weighted_quantile
from riskmodel.oil.alarm import shed
from riskmodel.oil.history import History, history
from riskmodel.oil.seen import less_warning_than
from riskmodel.records.case import Case
from riskmodel.risk.forecast import TAIL, chance_ahead
from riskmodel.risk.life_curves import life_curves
from riskmodel.risk.with_oil import chance_with_oil

Floats = NDArray[np.float64]

DRAWS = 4096
"""Fixed, evenly spread points over what is not known, for intervals and the bad case."""

AHEAD_POINTS = 61
DEAREST = 1e3
"""A failure so many times as dear as today's is the dearest looked at for a break-even price."""
CLOSE_ENOUGH = 1e-4
"""... which is found to this share of today's price."""
FAULT_POINTS = 7
LEAD_FACTORS = 5


@dataclass(frozen=True, slots=True)
class Possible:
    """What is not known, as equally likely draws: a pair of lives and a set of prices."""

    pair: NDArray[np.int64]
    prices: Floats
    fault: Floats
    more_other: Floats
    """Rate of failures of other causes, less the one that the plans are evaluated at."""

    def interval(self, value: float, draws: Floats) -> Interval:
        low, high = np.quantile(draws, [TAIL, 1 - TAIL])
        return Interval(value, float(low), float(high))


def weigh(case: Case, curves: Curves | None = None) -> Weighing:
    """Weigh every plan of `case`.

    `curves` stands in for the life curves of the case's own records where given. Raises
    `CannotAnswer` where records and beliefs together do not settle a life curve.
    """
    if curves is None:
        curves = life_curves(case)
    timing, prices = timing_of(case), prices_of(case)
    lead, repair = case.warning.visible_lead, case.plan.after_failure == "repair"
    other = _other_causes(case)
    taken = history(case)
    present, joined = _present(case, curves, prices, other, sampling_of(case, taken))
    counts, renewal = present.evaluate(prices)

    points = spread_points(DRAWS, 3 + prices.unknown)
    drawn = prices.draw(points[:, 3:])
    node = _nodes(present.believed.ravel(), points[:, 0])
    curve = node % len(curves)
    pair = node * len(joined.share) + _nodes(joined.share, points[:, 1])
    rates = _rates(other, points[:, 2])
    possible = Possible(pair, drawn.events(), drawn.fault, rates - joined.lives.other)
    scale = curves.scale[curve]
    new_scale = scale * case.plan.new_part_life.quantile(ndtri(points[:, 1]))
    world = World(curves.shape[curve], scale, new_scale, rates, drawn, lead, node // len(curves))
    payments = Payments(
        case.age, timing, renewal, repair, world, present.watch, present.new_part.services
    )
    plans = _plan_results(counts, present.weight, prices, possible, payments, timing)
    stop = bool(case.machine.symptoms)
    trade_off = (
        None
        if stop
        else _trade_off(present, counts, plans, present.weight, prices, possible, timing)
    )
    return Weighing(
        case=case,
        age=case.age,
        keep=timing.keep,
        services=timing.services,
        risk=_risk(case, curves, timing, taken),
        plans=plans,
        recommended=None if stop else _best(plans, case.plan.most_risk),
        trade_off=trade_off,
        ahead=_ahead(case, curves, timing.keep, taken),
        new_part_rule=NewPartRule(renewal.left, renewal.service, renewal.step),
        records_used=0 if case.records is None else int(case.records.count.sum()),
        failures_used=0 if case.records is None else _failures(case),
        other_causes=_told(other, timing.keep),
        oil=None if taken is None else _oil(case, taken),
    )


def _best(plans: tuple[PlanResult, ...], most_risk: float | None) -> int:
    return recommended(
        np.array([plan.cost.value for plan in plans]),
        np.array([plan.failure.value for plan in plans]),
        most_risk,
    )


def recommended(costs: Floats, failure: Floats, most_risk: float | None) -> int:
    """The cheapest plan, of those that keep to the owner's ceiling where any does.

    `costs` and `failure` (plans,) are expected cost and chance of a failure.
    """
    allowed = np.full(len(costs), True) if most_risk is None else failure <= most_risk
    return int(np.argmin(np.where(allowed, costs, np.inf) if allowed.any() else costs))


def expected_costs(
    case: Case, curves: Curves, sampling: Sampling | None
) -> tuple[Floats, Floats, Floats]:
    """Of every plan: usage from now (inf: never), expected cost, chance of a failure; all
    (plans,). The part of `weigh` that a comparison of cases needs; `sampling` is that of
    `sampling_of`, which nothing about life changes."""
    prices = prices_of(case)
    present, _ = _present(case, curves, prices, _other_causes(case), sampling)
    found = Means(present).at(prices)
    _, shares = prices.fault.points(FAULT_POINTS)
    return found.at, found.counts @ prices.means(), 1 - found.lasts @ shares


def _present(
    case: Case, curves: Curves, prices: Prices, other: Rate | None, sampling: Sampling | None
) -> tuple[PresentPart, Joined]:
    joined = join(curves, case.plan.new_part_life, 0.0 if other is None else other.rate)
    repair = case.plan.after_failure == "repair"
    lead = case.warning.visible_lead
    faults, _ = prices.fault.points(FAULT_POINTS)
    timing = timing_of(case)
    present = PresentPart(case.age, curves, joined, timing, lead, repair, faults, sampling)
    return present, joined


def sampling_of(case: Case, taken: History | None) -> Sampling | None:
    """What samples taken and to come can tell; None where there are none of either."""
    if not shed(case.oil.element):
        return None
    return Sampling(case, taken) if case.sampled or taken is not None else None


def _any_failure(counts: PlanCounts, prices: Prices, weight: Floats) -> Floats:
    """Chance of at least one failure or fitting fault, (plans,), the fault's own being unsure."""
    _, shares = prices.fault.points(FAULT_POINTS)
    return np.asarray(1 - np.einsum("pfk,f,k->p", counts.lasts, shares, weight))


def _other_causes(case: Case) -> Rate | None:
    """The rate of failures of other causes, where the records tell of any."""
    if case.records is None or "other" not in case.records.cause:
        return None
    return other_causes(case.records, case.life.reporting_ratio)


def _rates(other: Rate | None, uniform: Floats) -> Floats:
    """Possible rates of failures of other causes (Jeffreys, as `other_causes`); (draws,)."""
    if other is None:
        return np.zeros(len(uniform))
    return np.asarray(gammaincinv(other.failures + 0.5, uniform) / other.exposure)


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


def _nodes(weight: Floats, uniform: Floats) -> NDArray[np.int64]:
    edges = np.cumsum(weight)
    return np.searchsorted(edges / edges[-1], uniform).astype(np.int64)


def _oil(case: Case, taken: History) -> OilTold:
    warning = case.warning
    factors, shares = warning.lead_factor.points(LEAD_FACTORS)
    short = sum(
        w * less_warning_than(case.interval, warning.lead, f)
        for f, w in zip(factors.tolist(), shares.tolist(), strict=True)
    )
    samples = 0 if case.samples is None else len(case.samples)
    return OilTold(samples, len(taken.ages), warning.silent.mean, float(short))


def _risk(case: Case, curves: Curves, timing: Timing, taken: History | None) -> tuple[Chance, ...]:
    horizons = {
        "next_oil_change": min(timing.first, timing.keep),
        "one_year": timing.per_year,
        "keep_until": timing.keep,
    }
    at = np.array(list(horizons.values()))
    plain = [
        Interval(*map(float, each))
        for each in zip(*chance_ahead(curves, case.age, at), strict=True)
    ]
    if taken is None:
        return tuple(
            Chance(what, ahead, chance)
            for (what, ahead), chance in zip(horizons.items(), plain, strict=True)
        )
    found = chance_with_oil(case, curves, at, taken)
    told, factor = found.with_oil, found.factor
    return tuple(
        Chance(
            what,
            horizons[what],
            Interval(float(told.value[i]), float(told.low[i]), float(told.high[i])),
            plain[i],
            float(factor[i]),
        )
        for i, what in enumerate(horizons)
    )


def _ahead(case: Case, curves: Curves, keep: float, taken: History | None) -> Ahead:
    usage = np.linspace(0.0, keep, AHEAD_POINTS)
    if taken is None:
        return Ahead(usage, *chance_ahead(curves, case.age, usage))
    told = chance_with_oil(case, curves, usage, taken).with_oil
    return Ahead(usage, told.value, told.low, told.high)


def _plan_results(
    counts: PlanCounts,
    weight: Floats,
    prices: Prices,
    possible: Possible,
    payments: Payments,
    timing: Timing,
) -> tuple[PlanResult, ...]:
    pair = possible.pair
    costs = np.einsum("pek,e,k->p", counts.counts, prices.means(), weight)
    drawn = np.einsum("pde,de->pd", counts.counts.transpose(0, 2, 1)[:, pair], possible.prices)
    # More failures of other causes cost every plan much the same: their own price.
    usage = np.linspace(0.0, timing.keep, 65)
    worth = np.trapezoid(timing.discount(usage), usage)
    drawn += possible.more_other * worth * possible.prices[:, FAILURE]
    cheapest = np.bincount(np.argmin(drawn, axis=0), minlength=len(costs)) / len(pair)
    failure = _any_failure(counts, prices, weight)
    # a rate so high that nothing lasts at it may be drawn much lower
    spared = np.exp(np.minimum(-possible.more_other * timing.keep, 700.0))
    drawn_lasts = _at_faults(counts.lasts[:, :, pair], counts.faults, possible.fault)
    failure_drawn = 1 - np.clip(drawn_lasts * spared, 0.0, 1.0)
    present, alarm = counts.fails @ weight, counts.alarm @ weight
    bad = payments.bad_case(counts.at.tolist())
    return tuple(
        PlanResult(
            at=None if np.isinf(counts.at[i]) else float(counts.at[i]),
            service=None if np.isinf(counts.at[i]) else i,
            failure=possible.interval(float(failure[i]), failure_drawn[i]),
            present_failure=_interval(float(present[i]), counts.fails[i], weight),
            alarm=_interval(float(alarm[i]), counts.alarm[i], weight),
            cost=possible.interval(float(costs[i]), drawn[i]),
            bad_case=float(bad[i]),
            chance_cheapest=float(cheapest[i]),
        )
        for i in range(len(costs))
    )


def _at_faults(lasts: Floats, faults: Floats, fault: Floats) -> Floats:
    """The chance to last (plans, draws) where a fitting is faulty with chance `fault` (draws,),
    from that at the chances `faults`: a polynomial in it of low degree, the fittings' number."""
    apart = faults[:, None] - faults + np.eye(len(faults))
    away = fault - faults[:, None]
    weights = [
        np.prod(np.delete(away, i, axis=0), axis=0) / np.prod(apart[i]) for i in range(len(faults))
    ]
    return np.asarray(np.einsum("pfd,fd->pd", lasts, np.array(weights)))


def _interval(value: float, values: Floats, weight: Floats) -> Interval:
    """What depends on the curves alone, with its interval over all of them."""
    low, high = weighted_quantile(values, weight, [TAIL, 1 - TAIL])
    return Interval(value, float(low), float(high))


def _trade_off(
    present: PresentPart,
    counts: PlanCounts,
    plans: tuple[PlanResult, ...],
    weight: Floats,
    prices: Prices,
    possible: Possible,
    timing: Timing,
) -> TradeOff:
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
        chance=_interval(chance, counts.soon_fails, weight),
        now=now,
        wait=wait,
        if_lasts=if_lasts,
        if_fails=if_fails,
        break_even_chance=float(crossing) if 0 <= crossing <= 1 else None,
        break_even_failure_price=_break_even_failure_price(present, prices),
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
