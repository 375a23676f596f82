"""From a case to its answer: the chances ahead, every plan, and which costs least."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from riskmodel.decision.lives import join
from riskmodel.decision.payments import Payments, World
from riskmodel.decision.plans import PlanCounts, PresentPart
from riskmodel.decision.prices import FAILURE, FITTING, Prices, prices_of, spread_points
from riskmodel.decision.results import (
    Ahead,
    Chance,
    Interval,
    NewPartRule,
    PlanResult,
    TradeOff,
    Weighing,
)
from riskmodel.decision.timing import Timing, timing_of
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.summary import weighted_quantile
from riskmodel.records.case import Case
from riskmodel.risk.forecast import TAIL, chance_ahead

Floats = NDArray[np.float64]

DRAWS = 4096
"""Fixed, evenly spread points over what is not known, for intervals and the bad case."""

AHEAD_POINTS = 61
FAULT_POINTS = 7


def life_curves(case: Case) -> Curves:
    """The life curves that the records, the beliefs and this engine's own survival allow."""
    likelihood = None
    if case.records is not None:
        likelihood = Likelihood(
            case.records,
            finding_error=case.life.finding_error,
            visible_lead=case.warning.visible_lead,
            reporting_ratio=case.life.reporting_ratio,
        )
    survived = None if case.part.in_records else (case.part.entered_at, case.age)
    return posterior(likelihood, case.life.shape_prior, case.life.b50_prior, survived)


@dataclass(frozen=True, slots=True)
class Possible:
    """What is not known, as equally likely draws: a pair of lives and a set of prices."""

    pair: NDArray[np.int64]
    prices: Floats
    fault: Floats

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
    joined = join(curves, case.plan.new_part_life)
    present = PresentPart(case.age, curves, joined, timing, lead, repair)
    counts, renewal = present.evaluate(prices)

    points = spread_points(DRAWS, 2 + prices.unknown)
    drawn = prices.draw(points[:, 2:])
    curve = _nodes(curves.weight, points[:, 0])
    pair = curve * len(joined.share) + _nodes(joined.share, points[:, 1])
    possible = Possible(pair, drawn.events(), drawn.fault)
    scale = curves.scale[curve]
    new_scale = scale * case.plan.new_part_life.quantile(ndtri(points[:, 1]))
    world = World(curves.shape[curve], scale, new_scale, drawn, lead)
    payments = Payments(case.age, timing, renewal, repair, world)
    plans = _plan_results(counts, joined.weight, prices, possible, payments)
    stop = bool(case.machine.symptoms)
    trade_off = (
        None
        if stop
        else _trade_off(present, counts, plans, joined.weight, prices, possible, timing)
    )
    return Weighing(
        case=case,
        age=case.age,
        keep=timing.keep,
        services=timing.services,
        risk=_risk(case, curves, timing),
        plans=plans,
        recommended=None if stop else _recommended(plans, case.plan.most_risk),
        trade_off=trade_off,
        ahead=_ahead(curves, case.age, timing.keep),
        new_part_rule=NewPartRule(renewal.left, renewal.service, renewal.step),
        records_used=0 if case.records is None else int(case.records.count.sum()),
        failures_used=0 if case.records is None else _failures(case),
    )


def _recommended(plans: tuple[PlanResult, ...], most_risk: float | None) -> int:
    """The cheapest plan, of those that keep to the owner's ceiling where any does."""
    allowed = [
        i for i, plan in enumerate(plans) if most_risk is None or plan.failure.value <= most_risk
    ]
    return min(allowed or range(len(plans)), key=lambda i: plans[i].cost.value)


def _failures(case: Case) -> int:
    assert case.records is not None
    failed = np.array([outcome == "failed" for outcome in case.records.outcome])
    return int(case.records.count[failed].sum())


def _nodes(weight: Floats, uniform: Floats) -> NDArray[np.int64]:
    edges = np.cumsum(weight)
    return np.searchsorted(edges / edges[-1], uniform).astype(np.int64)


def _risk(case: Case, curves: Curves, timing: Timing) -> tuple[Chance, ...]:
    horizons = {
        "next_oil_change": min(timing.first, timing.keep),
        "one_year": timing.per_year,
        "keep_until": timing.keep,
    }
    found = chance_ahead(curves, case.age, np.array(list(horizons.values())))
    return tuple(
        Chance(what, ahead, Interval(*map(float, ends)))
        for (what, ahead), ends in zip(horizons.items(), zip(*found, strict=True), strict=True)
    )


def _ahead(curves: Curves, age: float, keep: float) -> Ahead:
    usage = np.linspace(0.0, keep, AHEAD_POINTS)
    return Ahead(usage, *chance_ahead(curves, age, usage))


def _plan_results(
    counts: PlanCounts, weight: Floats, prices: Prices, possible: Possible, payments: Payments
) -> tuple[PlanResult, ...]:
    pair = possible.pair
    costs = np.einsum("pek,e,k->p", counts.counts, prices.means(), weight)
    drawn = np.einsum("pde,de->pd", counts.counts.transpose(0, 2, 1)[:, pair], possible.prices)
    cheapest = np.bincount(np.argmin(drawn, axis=0), minlength=len(costs)) / len(pair)
    faults, shares = prices.fault.points(FAULT_POINTS)
    failure = sum(w * counts.failure(f) @ weight for f, w in zip(faults, shares, strict=True))
    failure_drawn = 1 - counts.lasts[:, pair] * (1 - possible.fault) ** counts.fittings[:, None]
    present = counts.fails @ weight
    bad = payments.bad_case(counts.at.tolist())
    return tuple(
        PlanResult(
            at=None if np.isinf(counts.at[i]) else float(counts.at[i]),
            service=None if np.isinf(counts.at[i]) else i,
            failure=possible.interval(float(failure[i]), failure_drawn[i]),
            present_failure=_interval(float(present[i]), counts.fails[i], weight),
            cost=possible.interval(float(costs[i]), drawn[i]),
            bad_case=float(bad[i]),
            chance_cheapest=float(cheapest[i]),
        )
        for i in range(len(costs))
    )


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
        break_even_failure_price=_break_even_failure_price(present, weight, prices),
    )


def _break_even_failure_price(present: PresentPart, weight: Floats, prices: Prices) -> float | None:
    """The engine's failure price at which replacing now costs what the best later plan costs.

    At given rules for the parts to come both costs are linear in the price, so a Newton step
    is exact but for a change of those rules; it is kept within the bracket found so far.
    None where no price between nothing and a thousand times today's does.
    """
    today = prices.failure[0].mean
    low, high = 0.0, 1e3 * today  # replacing now is dearer at low, cheaper at high
    price = today
    for _ in range(40):
        gap, slope = _dearer_now(present, weight, prices.with_failure_price(price))
        if abs(gap) <= 1e-9 * today:
            return price
        low, high = (price, high) if gap > 0 else (low, price)
        newton = price - gap / slope if slope < 0 else np.nan
        halved = (low + high) / 2 if low else high / 4
        price = float(newton) if low <= newton <= high else halved
    return None


def _dearer_now(present: PresentPart, weight: Floats, prices: Prices) -> tuple[float, float]:
    """How much more replacing now costs than the best later plan, and how fast that grows
    with the engine's failure price."""
    counts, _ = present.evaluate(prices)
    per_event = np.einsum("pek,k->pe", counts.counts, weight)
    cost = per_event @ prices.means()
    later = 1 + int(np.argmin(cost[1:]))
    gap = per_event[0] - per_event[later]
    faulty = prices.fault.mean if prices.fault_price is None else 0.0
    return float(cost[0] - cost[later]), float(gap[FAILURE] + faulty * gap[FITTING])
