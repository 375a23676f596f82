"""A machine weighed quickly: its chance before the next service, and what its plans cost.

The same model as `weigh`, with what many machines have in common worked out once
(`rank_shared`), and four roundings. What follows a replacement is averaged over what is not known
of the warning and of a new part's life, at each curve of the group; the rule for the parts to come
is the best at prices nearby; samples to come see a part that would fail at T as the prior lead
has it, not as the samples taken have tilted it (those tilt T itself); and few pairs of a curve and
a node of use stand for all (`rank_pairs`). How far this comes out from `weigh` is measured in
tests/studies/README.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.occasions import occasions
from riskmodel.decision.prices import (
    FAILURE,
    FITTING,
    FOUND_WORN,
    IN_PLACE,
    INVESTIGATION,
    OIL_CHANGE,
    OPENED,
    SAMPLE,
    URGENT,
    prices_of,
)
from riskmodel.decision.rank_pairs import paired
from riskmodel.decision.rank_shared import Following, Shared, priced
from riskmodel.decision.results import Interval
from riskmodel.decision.sale import selling
from riskmodel.decision.timing import AT_THE_END, Timing, timing_of
from riskmodel.decision.visits import place
from riskmodel.decision.walk_away import lost, walking_away
from riskmodel.decision.watched import shows
from riskmodel.life import weibull
from riskmodel.life.quantile import weighted_quantile
from riskmodel.oil.fleet import with_usual
from riskmodel.oil.history import History, many_likelihoods
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.risk.driven import Driven, use_ahead
from riskmodel.risk.forecast import TAIL

Floats = NDArray[np.float64]

ORDER = 3
"""Gauss-Legendre nodes between two times at which something happens."""
BEYOND_DOUBT = 2.0
"""Walking away that loses so many times what follows a part fitted today is not looked at."""
BEYOND = 6
"""Panels of failure ages beyond keep-until."""
AGES = 14
"""Failure ages at which a machine's samples are weighed; between them they are smooth."""
SILENT = 3
"""Nodes over the silent share, for the interval."""
FAR = 4.0
"""Leads so many standard deviations long are the longest looked at."""


@dataclass(frozen=True, slots=True, eq=False)
class Quick:
    """What the quick form says of one machine.

    `until` is the usage to its next service (keep-until where none comes first), `chance` that its
    part fails before it with the samples taken, `without_oil` without them and `oil_factor` the
    one over the other (None without any). Of each plan: `at`, usage from now (0: now, inf:
    never), expected `cost`, and `failure`, the chance of at least one within keep-until. `sale` is
    what selling the machine today costs beside them, None where that is not stated.
    """

    until: float
    chance: Interval
    without_oil: float
    oil_factor: float | None
    at: Floats
    cost: Floats
    failure: Floats
    sale: float | None = None

    @property
    def waiting(self) -> float:
        """What waiting until the next service costs: the cheapest plan that does not replace
        before it, less replacing now. Below 0 it saves."""
        return waiting(self.at, self.cost, self.until)


def waiting(at: Floats, cost: Floats, until: float) -> float:
    """The cheapest of the plans at `until` or later, less the one now; from any form's plans."""
    later = at >= until * (1 - AT_THE_END)
    return float(cost[later].min() - cost[0])


def quick(
    cases: Sequence[Case], counted: Sequence[bool], shared: Shared
) -> list[Quick | CannotAnswer]:
    """The quick form of each case, or why there is none: records and beliefs do not settle a life
    curve. `counted` as in `Shared.curves`."""
    found: list[_Machine | CannotAnswer] = []
    for case, known in zip(cases, counted, strict=True):
        try:
            found.append(_Machine(with_usual(case), known, shared))
        except CannotAnswer as fault:
            found.append(fault)
    ready = [machine for machine in found if isinstance(machine, _Machine)]
    _weigh_samples([machine for machine in ready if machine.taken is not None])
    return [each.answer(shared) if isinstance(each, _Machine) else each for each in found]


class _Machine:
    """One machine on its way to an answer."""

    def __init__(self, case: Case, counted: bool, shared: Shared) -> None:
        curves, _ = shared.curves(case, counted)
        known = (case.part.entered_at, case.age)
        self.new_part_life = case.plan.new_part_life
        self.case, use = use_ahead(shared.learned(case))
        case = self.case
        self.timing = timing_of(case)
        services, keep = self.timing.services, self.timing.keep
        self.until = float(services[0]) if len(services) else keep
        aged = paired(curves, use, known, (self.until, keep))
        self.curves, self.ages = aged.curves, aged.age
        self.taken: History | None = Driven(case, use, aged).history(quick=True)
        extra = [each.at for each in occasions(case, self.timing)]
        self.stops = np.sort(np.concatenate([services, extra]))
        self.grid = _Grid(case, self.timing, self.stops, self.taken)
        self.told: Floats | None = None  # E[L] by factor on the lead and failure age (F, T)

    def answer(self, shared: Shared) -> Quick:
        case, grid = self.case, self.grid
        age, shape, scale = (
            each[:, None] for each in (self.ages, self.curves.shape, self.curves.scale)
        )
        lived = weibull.conditional_survival(age, grid.at, shape, scale)
        # (curves, T): the chance to fail near each failure age, given survival to today
        fails = weibull.hazard(age + grid.at, shape, scale) * lived * grid.weight
        tail = weibull.conditional_survival(self.ages, grid.end, shape[:, 0], scale[:, 0])
        fails *= ((1 - tail) / np.maximum(fails.sum(axis=1), 1e-300))[:, None]
        soon = grid.at < self.until
        plain = weibull.conditional_failure(self.ages, self.until, shape[:, 0], scale[:, 0])
        without = float(plain @ self.curves.weight)
        factor = None
        if self.taken is None or self.told is None:
            chance = _interval(plain, self.curves.weight)
        else:
            chance = self._with_oil(fails, tail, soon)
            factor = chance.value / without if without > 0 else 1.0
        at, cost, failure = self._plans(fails, tail, case, shared)
        if self._may_walk_away(cost):  # after a failure the cheaper of the two
            other = self._plans(fails, tail, walking_away(case), shared)
            if other[1].min() < cost.min():
                at, cost, failure = other
        sold = selling(case, self.timing)
        sale = None if sold is None or sold.without is None else sold.cost
        return Quick(self.until, chance, without, factor, at, cost, failure, sale)

    def _may_walk_away(self, cost: Floats) -> bool:
        """Whether a failure may be walked away from: it is open, and what that loses beyond the
        price of the failure is not far above all that follows a part fitted today."""
        price = lost(self.case)
        if price is None:
            return False
        prices = prices_of(self.case)
        means = prices.means()
        whole = price + float(sum(line.mean for line in prices.failure[1:]))
        follows = float(cost[0] - means[FITTING] - means[OPENED])
        return whole - float(means[FAILURE]) < BEYOND_DOUBT * max(follows, 0.0)

    def _with_oil(self, fails: Floats, tail: Floats, soon: NDArray[np.bool_]) -> Interval:
        """The chance before the next service, over curves, lead factor and silent share."""
        assert self.taken is not None
        assert self.told is not None
        silent, silent_weight = self.taken.silent.points(SILENT)
        told = self.told.T
        plain, near = fails[:, soon].sum(axis=1), fails[:, soon] @ told[soon]
        whole = fails @ told + tail[:, None]
        beyond = silent + (1 - silent) * whole[..., None]
        failing = silent * plain[:, None, None] + (1 - silent) * near[..., None]
        prior = self.curves.weight[:, None, None] * (
            self.taken.factor_points[1][:, None] * silent_weight
        )
        weight = prior * beyond
        value = float(np.sum(prior * failing) / weight.sum())
        return _interval((failing / beyond).ravel(), (weight / weight.sum()).ravel(), value)

    def _plans(
        self, fails: Floats, tail: Floats, case: Case, shared: Shared
    ) -> tuple[Floats, Floats, Floats]:
        """Usage from now, expected cost and chance of a failure, of every plan."""
        timing, grid, stops, prices = self.timing, self.grid, self.stops, prices_of(case)
        following = shared.following(case, self.curves, prices, self.taken, self.new_part_life)
        price, keep, services = prices.means(), timing.keep, timing.services
        lead = case.warning.visible_lead
        repair = case.plan.after_failure == "repair"
        at, discount = grid.at, timing.discount(grid.at)
        seen, rings, tilt = self._samples(following)
        after = services + (case.oil.turnaround if seen is not None else 0.0)
        happens = after < keep * (1 - AT_THE_END)
        mass = fails * tilt * self.curves.weight[:, None]
        rest = tail * self.curves.weight
        total = mass.sum() + rest.sum()
        mass, rest = mass / total, rest / total
        sold, unsold = (priced(following.renewal, price, sold=s) for s in (True, False))
        other, blend = following.other, following.blend
        # what follows a replacement now, at each stop and after each sample's urgent job
        # (in intervals: then as many services are held as in this machine's own)
        own = following.renewal.interval / timing.interval
        left = own * np.maximum(np.concatenate([[keep], keep - stops, keep - after]), 0.0)
        then = sold.counts_from(left)[:, 0] @ blend
        lasting = following.renewal.lasts_from(left)[:, 0] @ blend
        (now, *_), at_stop, urgently = np.split(then, [1, 1 + len(stops)])
        (now_well, *_), goes_well, urgently_well = np.split(lasting, [1, 1 + len(stops)])

        if seen is None:
            seen = np.zeros((len(at), len(services)))
            happens = np.zeros(len(services), dtype=bool)
        gone = (at[:, None] > after) & happens
        taken = seen * gone
        in_place = 1 - taken.sum(axis=1)
        spared = np.exp(-other * at)
        # failures of the present part until each stop
        inside = at < keep
        lost = mass[:, inside] * (in_place * spared)[inside]
        if other > 0:
            there = 1 - (np.cumsum(mass * in_place, axis=1) - mass * in_place / 2).sum(axis=0)
            extra = other * grid.weight * spared * there
            lost = lost + extra[inside] * self.curves.weight[:, None]
        due = price[FAILURE] * lost.sum(axis=0)
        if repair:
            follows = unsold.counts_at(own * (keep - at[inside]))[:, 0] @ blend
            due = due + np.einsum("kt,tk->t", lost, follows)
        spent = np.concatenate([[0.0], np.cumsum(due * discount[inside])])
        # jobs that samples lead to
        caught = mass @ taken  # (curves, S)
        paid = timing.discount(after) * np.exp(-other * after)
        shown = shows(lead, at[:, None] - after)
        urgent = (price[URGENT] + price[OPENED]) * caught.sum(axis=0) + np.einsum(
            "ks,sk->s", caught, urgently
        )
        urgent += price[FOUND_WORN] * (mass.sum(axis=0) @ (taken * shown))
        urgent *= paid
        right = 1 - prices.fault.mean
        mended = right * np.einsum("ks,sk->s", caught, urgently_well)
        mended *= np.exp(-other * after)
        ends = np.append(stops, np.inf)
        near = AT_THE_END * keep
        done = (services < ends[:, None] - near) & (after <= ends[:, None] + near) & happens
        # visits
        here = self._here(services, services, after, taken, mass, rest) * np.exp(-other * services)
        visit = price[OIL_CHANGE] * here
        if rings is not None:
            rung = case.oil.false_alarm * here
            rung = rung + (mass.sum(axis=0) @ (rings * (at[:, None] > services)))
            visit = visit + price[SAMPLE] * here + price[INVESTIGATION] * rung
        visit = visit * timing.discount(services)
        visited = services < ends[:, None] - near
        plans = len(stops) + 2
        cost, lasts = np.empty(plans), np.empty(plans)
        worn = mass.sum(axis=0) @ shows(lead, at)
        believed = mass.sum(axis=1) + rest
        cost[0] = price[FITTING] + price[OPENED] + float(now @ believed)
        cost[0] += price[FOUND_WORN] * float(worn)
        lasts[0] = right * float(now_well @ believed)
        held, before, since = 0.0, 1.0, 0.0  # usage in place, discounted
        for i, end in enumerate(ends):
            until = int(np.searchsorted(at[inside], end))
            cost[i + 1] = spent[until] + done[i] @ urgent + visited[i] @ visit
            lasts[i + 1] = done[i] @ mended
            still = 1 - taken[:, done[i]].sum(axis=1)
            by, later = min(float(end), keep), at > min(float(end), keep)
            alive_by = mass[:, later] @ still[later] + rest
            alive = float(alive_by.sum()) * math.exp(-other * by)
            worth = alive * float(timing.discount(by))
            held += (by - since) * (before + worth) / 2
            before, since = worth, by
            cost[i + 1] += price[IN_PLACE] * held
            if np.isinf(end):
                lasts[-1] += alive
                break
            kept = math.exp(-other * by)
            lasts[i + 1] += right * kept * float(alive_by @ goes_well[i])
            worn_then = mass[:, later].sum(axis=0) @ (still[later] * shows(lead, at[later] - end))
            job = (price[FITTING] + price[OPENED]) * alive_by.sum() + float(alive_by @ at_stop[i])
            cost[i + 1] += (
                kept * float(timing.discount(end)) * (job + price[FOUND_WORN] * worn_then)
            )
        return np.concatenate([[0.0], stops, [np.inf]]), cost, 1 - lasts

    def _here(
        self,
        times: Floats,
        services: Floats,
        after: Floats,
        taken: Floats,
        mass: Floats,
        rest: Floats,
    ) -> Floats:
        """Chance to be in place at `times`, no other cause counted."""
        total, beyond = mass.sum(axis=0), rest.sum()
        found = np.empty(len(times))
        for i, time in enumerate(times):
            later = self.grid.at > time
            still = 1 - taken[:, after <= time].sum(axis=1)
            found[i] = total[later] @ still[later] + beyond
        return found

    def _samples(self, following: Following) -> tuple[Floats | None, Floats | None, Floats]:
        """By failure age, given the samples taken: the chance that each service's sample is
        the one that finds the distress (T, S), how much likelier than a false alarm it rings
        (T, S), both None without samples to come; and the tilt of the failure age (T,)."""
        at, silent = self.grid.at, self.case.warning.silent.mean
        tilt = np.ones(len(at))
        told = None
        if self.taken is not None and self.told is not None:
            told = self.told
            tilt = silent + (1 - silent) * (self.taken.factor_points[1] @ told)
        if following.table is None:
            return None, None, tilt
        timing, table = self.timing, following.table
        services = timing.services
        shift = at - timing.first + timing.interval
        shift = shift * following.renewal.interval / timing.interval
        below, share = place(table.at, np.maximum(shift, 0.0))
        share = np.where(shift < 0, 0.0, share)

        def read(values: Floats) -> Floats:
            values = values[:, : len(services)]
            return np.asarray((1 - share) * values[..., below] + share * values[..., below + 1])

        seen, rings = read(table.seen), read(table.alarms)  # (F, S, T)
        if told is None:
            weight = np.broadcast_to(following.share[:, None], (len(following.share), len(at)))
        else:
            assert self.taken is not None
            known = np.log(self.taken.factor_points[0])
            wanted = np.log(following.factors)
            like = told
            if len(known) > 1:
                like = np.array([_between(known, told, x) for x in wanted])
            weight = following.share[:, None] * like / tilt
        seen = np.einsum("ft,fst->ts", weight, seen)
        rings = np.einsum("ft,fst->ts", weight, rings)
        return np.clip(seen, 0.0, 1.0), rings, tilt


class _Grid:
    """Failure ages from today: `at` (T,) in usage from now, with `weight` (T,), up to `end`."""

    def __init__(self, case: Case, timing: Timing, stops: Floats, taken: History | None) -> None:
        warning, keep = case.warning, timing.keep
        longest = float(warning.lead_factor.points(5)[0].max())
        reach = float(warning.lead.quantile(FAR)) * longest
        if not case.sampled and taken is None:
            reach = 0.0
        reach = max(reach, float(warning.visible_lead.quantile(2.0)), keep / 2)
        self.end = keep + reach
        after = timing.services + case.oil.turnaround if case.sampled else np.zeros(0)
        times = np.concatenate([[0.0], stops, after[after < keep], [keep]])
        times = np.unique(times)
        times = times[np.concatenate([np.diff(times) > 1e-9 * keep, [True]])]
        beyond = keep + reach * np.linspace(0, 1, BEYOND + 1)[1:] ** 2
        edges = np.concatenate([times, beyond])
        z, w = np.polynomial.legendre.leggauss(ORDER)
        half = np.diff(edges)[:, None] / 2
        self.at = ((edges[:-1] + edges[1:])[:, None] / 2 + half * z).ravel()
        self.weight = (half * w).ravel()


def _weigh_samples(machines: Sequence[_Machine]) -> None:
    """Weighs the samples of many machines, those at once that can be."""
    groups: dict[object, list[_Machine]] = {}
    for machine in machines:
        found = machine.taken
        assert found is not None
        varies = tuple((found.samples.rise_spread[0] > 0).tolist())
        key = (found.lead, found.lead_factor, len(found.symbols), varies)
        groups.setdefault(key, []).append(machine)
    for group in groups.values():
        known = [machine.taken for machine in group if machine.taken is not None]
        place_of = (1 - np.cos(np.pi * np.arange(AGES) / (AGES - 1))) / 2
        ages, near = np.empty((len(group), AGES)), np.empty(len(group))
        for i, (machine, found) in enumerate(zip(group, known, strict=True)):
            near[i] = float(np.median(found.samples.oil_age)) / 4 - found.last
            ends = np.log(np.array([found.today, found.today + machine.grid.end]) + near[i])
            ages[i] = np.exp(ends[0] + (ends[1] - ends[0]) * place_of) - near[i]
            ages[i, 0] = found.today
        told = np.log(many_likelihoods(known, ages))  # (M, F, A)
        for i, (machine, found) in enumerate(zip(group, known, strict=True)):
            begin, end = np.log(ages[i, [0, -1]] + near[i])
            at = (np.log(found.today + machine.grid.at + near[i]) - begin) / (end - begin)
            machine.told = np.exp(told[i] @ _blend(place_of, at).T)


def _blend(place_of: Floats, at: Floats) -> Floats:
    """Weights (J, nodes) that interpolate from Chebyshev points to `at` (J,) in (0, 1)."""
    sign = (-1.0) ** np.arange(len(place_of))
    sign[[0, -1]] /= 2
    gap = at[:, None] - place_of
    part = sign / np.where(np.abs(gap) < 1e-14, 1e-14, gap)
    return np.asarray(part / part.sum(axis=1, keepdims=True))


def _between(known: Floats, values: Floats, at: float) -> Floats:
    """Row of `values` (F, T) at `at`, straight lines between the rows at `known` (F,)."""
    below = int(np.clip(np.searchsorted(known, at) - 1, 0, len(known) - 2))
    share = float(np.clip((at - known[below]) / (known[below + 1] - known[below]), 0.0, 1.0))
    return np.asarray((1 - share) * values[below] + share * values[below + 1])


def _interval(values: Floats, weight: Floats, mean: float | None = None) -> Interval:
    some = weight > 1e-7 * weight.max()
    low, high = weighted_quantile(values[some], weight[some], [TAIL, 1 - TAIL])
    value = float(values @ weight) if mean is None else mean
    return Interval(value, float(low), float(high))


__all__ = ["Quick", "quick", "waiting"]
