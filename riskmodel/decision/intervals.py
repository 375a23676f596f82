"""How often to change and sample the oil: the same evaluation at other oil intervals.

Two effects are kept apart. Samples that come more often see trouble sooner, in readings that are
noisier because the oil has gathered less; this is the model's own. Fresher oil may lengthen life
by a factor, (interval now / interval)^life_gamma: an assumption, nothing unless stated. It is
worked in as wear that goes slower: from today on so much usage ages a part by 1 / factor of it. So
what is left of the present part's life, a new part's life and the warning leads all grow by the
factor, and what is believed of the part as it stands today does not change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.means import Means
from riskmodel.decision.pf_rule import ACCEPTED, Warned, needed, net_warning, warned
from riskmodel.decision.possible import drawn, over_nodes, possible
from riskmodel.decision.prepared import Grounds, grounds, prepared
from riskmodel.decision.prices import INVESTIGATION, OIL_CHANGE, SAMPLE, URGENT
from riskmodel.decision.results import Interval
from riskmodel.decision.weigh import recommended
from riskmodel.life.posterior import Curves
from riskmodel.oil.fleet import with_usual
from riskmodel.oil.history import history
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.use.leads import in_usage_from_now

Floats = NDArray[np.float64]

SHARES = (0.5, 0.75, 1.0, 1.5)
"""Intervals looked at where none are asked for, as shares of the one now."""
MOST_SERVICES = 120
"""Services within keep-until: more would take minutes."""
SAME = 1e-6
"""Intervals this close (relative) are one."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """The best plan at one interval, within keep-until.

    It replaces the part `at` a usage from now (0: now; None: never). `cost` is per year, `oil` what
    oil changes and samples take of it, `dearer` how much more it is than at the interval now.
    `failure` is the chance of at least one failure; `urgent` how many parts are replaced on an
    alarm and `other_alarms` how many alarms lead to no replacement (nothing found, or too
    late), both per engine, new parts included, with the rule for new parts that is best
    without discounting.
    """

    at: float | None
    cost: Interval
    oil: float
    dearer: Interval
    failure: Interval
    urgent: Interval
    other_alarms: Interval


@dataclass(frozen=True, slots=True)
class IntervalRow:
    """One interval `every` (usage). `sooner` is with life as it is, `longer` with life longer by
    `life_factor` besides (None where nothing is claimed); `warned` None without a sampled metal."""

    every: float
    now: bool
    life_factor: float
    sooner: Outcome
    longer: Outcome | None
    warned: Warned | None


@dataclass(frozen=True, slots=True, eq=False)
class IntervalStudy:
    """Rows in ascending order of the interval, that of `now` (usage) among them. `net` is the
    warning lead less the turnaround, not below 0: 5, 50 and 95 of 100 are shorter; `needed` the
    samples that the rule wants in it at the interval now (None without a sampled metal, infinite
    where a sample never sees it)."""

    case: Case
    now: float
    gamma: float
    years: float
    rows: tuple[IntervalRow, ...]
    net: tuple[float, float, float]
    needed: float | None


def usual_intervals(case: Case) -> tuple[float, ...]:
    """The intervals looked at where none are asked for: those of `SHARES` that can be weighed."""
    each = (share * case.interval for share in SHARES)
    return tuple(every for every in each if not _unfit(case, every))


def interval_study(
    case: Case, every: Sequence[float] = (), curves: Curves | None = None
) -> IntervalStudy:
    """Weigh `case` at each interval of `every` (usage) and at the one it has now.

    Without any, at `usual_intervals`. The next oil change stays where it is unless it is farther
    off than the interval; an interval of the calendar is dropped at others than the one now.
    Raises CannotAnswer where an interval cannot be weighed, or life is not settled.
    """
    case = with_usual(case)
    now = case.interval
    wanted = sorted(every or usual_intervals(case))
    for one in wanted:
        fault = _unfit(case, one)
        if fault:
            raise CannotAnswer(fault)
    found = grounds(case, curves)
    others = [one for i, one in enumerate(wanted) if not _same(one, [now, *wanted[:i]])]
    gamma, years = case.oil.life_gamma, case.keep / case.machine.usage_per_year
    base, taken = _weighed(found, 1.0), found.taken
    as_now = base.outcome(base)
    rows = [IntervalRow(now, True, 1.0, as_now, as_now if gamma else None, warned(case, taken))]
    for one in others:
        told, factor = at_interval(case, one), float((now / one) ** gamma)
        then = replace(found, case=at_interval(found.case, one))
        sooner = _weighed(then, 1.0).outcome(base)
        longer = _weighed(then, factor).outcome(base) if gamma else None
        rows.append(IntervalRow(one, False, factor, sooner, longer, warned(told, taken)))
    rows.sort(key=lambda row: row.every)
    told_now = next(row.warned for row in rows if row.now)
    return IntervalStudy(
        case,
        now,
        gamma,
        years,
        tuple(rows),
        net_warning(case),
        None if told_now is None else needed(told_now.sees, ACCEPTED),
    )


def at_interval(case: Case, every: float) -> Case:
    """The case with its oil changed at every so much usage from the next change on."""
    first = min(case.next_change_in, every)
    oil = replace(case.oil, interval=every, every_months=None, next_change_in=first)
    return replace(case, oil=oil)


def lasting_longer(found: Grounds, factor: float) -> Grounds:
    """The grounds of a case where usage from now on ages a part by 1 / `factor`.

    All is told in usage at the pace to come, a unit of ageing being `factor` units of it: the age
    so far and the samples' ages, lives and leads. The present part of age a on a curve of scale n
    then lasts d more with chance S(a + d / factor) / S(a), which is that of age factor * a on
    a curve of scale factor * n.
    """
    if factor == 1:
        return found
    case, warning = found.case, found.case.warning
    warning = replace(
        warning,
        lead=_times(warning.lead, factor),
        visible_lead=_times(warning.visible_lead, factor),
    )
    slower = replace(case, warning=warning)
    taken = history(slower, lambda ages: factor * in_usage_from_now(found.use, ages))
    part = replace(case.part, fitted_at=case.machine.reading - factor * case.age)
    curves = replace(found.curves, scale=factor * found.curves.scale)
    return replace(
        found,
        case=replace(slower, part=part),
        curves=curves,
        ages=factor * found.ages,
        taken=taken,
    )


def _times(quantity: Quantity, factor: float) -> Quantity:
    return Quantity(factor * quantity.low, factor * quantity.high)


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """One evaluation: the plan, and over the draws what it costs per year, `paid` (draws,)."""

    at: float
    cost: float
    oil: float
    paid: Floats
    failure: Interval
    urgent: Interval
    other_alarms: Interval

    def outcome(self, base: Told) -> Outcome:
        return Outcome(
            None if np.isinf(self.at) else self.at,
            drawn(self.cost, self.paid),
            self.oil,
            drawn(self.cost - base.cost, self.paid - base.paid),
            self.failure,
            self.urgent,
            self.other_alarms,
        )


def _weighed(found: Grounds, factor: float) -> Told:
    """The best plan where wear goes slower from now on by `factor`."""
    found = lasting_longer(found, factor)
    case, ready = found.case, prepared(found)
    means, (draws, _) = Means(ready.present).at(ready.prices), possible(ready)
    price, weight = ready.prices.means(), ready.weight
    costs, failure = means.counts @ price, 1 - means.lasts @ ready.fault_share
    best = recommended(case, means.at, costs, failure)
    counts, _ = ready.present.evaluate(ready.prices, (best,))
    years = ready.timing.keep / ready.timing.per_year
    mean = means.counts[best]
    if ready.timing.rate > 0:  # how many, not what they are worth today
        undiscounted = replace(case, cost=replace(case.cost, discount_rate=0.0))
        ready = prepared(found, undiscounted)
        happens = ready.present.evaluate(ready.prices, (best,))[0].counts[0]
    else:
        happens = counts.counts[0]
    return Told(
        at=float(means.at[best]),
        cost=float(costs[best]) / years,
        oil=float(price[OIL_CHANGE] * mean[OIL_CHANGE] + price[SAMPLE] * mean[SAMPLE]) / years,
        paid=draws.costs(counts.counts)[0] / years,
        failure=drawn(float(failure[best]), draws.failures(counts.lasts)[0]),
        urgent=over_nodes(happens[URGENT], weight),
        other_alarms=over_nodes(happens[INVESTIGATION] - happens[URGENT], weight),
    )


def _same(one: float, others: Sequence[float]) -> bool:
    return any(abs(one - other) <= SAME * other for other in others)


def _unfit(case: Case, every: float) -> str:
    """Why an interval cannot be weighed; empty where it can."""
    unit, least, keep = case.machine.unit, case.oil.turnaround, case.keep
    if not np.isfinite(every) or every <= least:
        return (
            f"an oil interval: found {every:g} {unit}, expected more than the {least:g} {unit} "
            "from a sample to its result (oil.turnaround)"
        )
    if keep / every > MOST_SERVICES:
        return (
            f"an oil interval: found {every:g} {unit}, which makes {keep / every:.0f} oil changes "
            f"before you give the machine up; expected at most {MOST_SERVICES}"
        )
    return ""
