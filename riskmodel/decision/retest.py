"""A plan of its own: sample again soon, then decide.

The retest is drawn `at` some usage from now, and acted upon a turnaround later. Whatever it shows,
every plan is then open again, weighed anew with the result known: to replace at once, too, at the
price of today's "now", or at that of a job at short notice where the workshop has no slot by then.
What it is worth is what the
best plan costs without it less what this one costs, the sample's price included: the expected
value of sample information (Raiffa & Schlaifer 1961).

Until it is acted upon the part may fail; such a failure costs what any failure costs. From then
on each outcome is a case of its own: the part is older, the curves are those that lasted, and what
the samples say has been joined by the outcome.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.lives import Joined, join
from riskmodel.decision.means import Means
from riskmodel.decision.occasions import at_a_service, before_slot, booked_until
from riskmodel.decision.outlook import Given, about, outlook_of
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prepared import Prepared, thinned
from riskmodel.decision.prices import (
    EVENTS,
    FAILURE,
    FITTING,
    IN_PLACE,
    SALE,
    SAMPLE,
    URGENT,
)
from riskmodel.decision.renewal import NewPart
from riskmodel.decision.renewed import Renewal
from riskmodel.decision.results import Interval
from riskmodel.decision.sampling import Retested, Sampling
from riskmodel.decision.timing import AT_THE_END
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_survival
from riskmodel.oil.alarm import shed
from riskmodel.oil.retest import RetestAlarm, retest_alarm
from riskmodel.records.tables import Reading

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FALSE_ALARMS = (0.02, 0.1, 0.3)
"""Chances of a surge without distress among which the cheapest limit is sought."""


@dataclass(frozen=True, slots=True)
class Branch:
    """After one outcome: what is `told` of it, and the plan then taken, `at` in usage from today
    (None: never; `at_once`: when the result is in, `hurried` at short notice)."""

    told: Given
    at: float | None
    at_once: bool
    hurried: bool


@dataclass(frozen=True, slots=True, eq=False)
class RetestPlan:
    """The plan as counts over the nodes of `PresentPart`, discounted to today.

    `counts` (events, nodes), `fails`, `urgent` (nodes,) and `lasts` (faults, nodes) as in
    `PlanCounts`, counts and lasts at the nodes asked for; `first` the chance that it
    fails before the result is acted upon. `limits` are the readings [ppm] from which each element
    alone counts as another surge, what the last drain left of the old oil included; `cost` is the
    expected cost, `failure` the chance of any failure.
    """

    at: float
    acts_at: float
    alarm: RetestAlarm
    limits: Mapping[str, float]
    if_surge: Branch
    if_clear: Branch
    first: Interval
    counts: Floats
    fails: Floats
    urgent: Floats
    lasts: Floats
    cost: float
    failure: float


def retest_plan(ready: Prepared, renewal: Renewal, nodes: Ints) -> RetestPlan | None:
    """The plan with the cheapest of a few limits, compared on few curves; None where a retest
    makes no sense: the part sheds nothing that is measured, or the next oil change comes before
    its result.

    `renewal` is what follows a replacement in the case as it stands today; `nodes` are in rising
    order.
    """
    case, timing, taken = ready.case, ready.timing, ready.taken
    at, acts_at = case.oil.retest_in, case.oil.retest_in + case.oil.turnaround
    soonest = min(timing.first, timing.keep) * (1 - AT_THE_END)
    if ready.present.watch is None or not acts_at < soonest:
        return None
    oil_age = max(timing.interval - timing.first, 0.0) + at
    alarms = [
        retest_alarm(
            shed(case.oil.element),
            oil_age,
            case.oil.resolution,
            {} if taken is None else taken.used,
            false_alarm,
            case.oil.shared_scatter,
        )
        for false_alarm in FALSE_ALARMS
    ]
    made, few = _Retest(ready, renewal, nodes), thinned(ready)
    then, _ = few.present.new_part.follows(few.prices)
    assert few.present.watch is not None
    compared = _Retest(few, then, np.empty(0, dtype=np.int64), few.present.watch.later(acts_at))
    price = ready.prices.means()
    costs = [float(price @ compared.limit(each).counts) for each in alarms]
    return made.plan(made.limit(alarms[int(np.argmin(costs))]))


def _hurry(counts: Floats) -> None:
    """Make the job at once in `counts` (events, ..) one at short notice."""
    counts[FITTING] -= 1
    counts[URGENT] += 1


def _point(reading: Reading) -> float:
    return reading.value / 2 if reading.below else reading.value


@dataclass(frozen=True, slots=True, eq=False)
class _Then:
    """One outcome: the `chance` of it (nodes,) as seen today, and given it the mean chance to fail
    by wear before the next oil change, `soon`; the part as it is `known` then, which plan is
    `best`, `at` in usage from then (inf: never) and `hurried` where at short notice; the means of
    its counts (events,), discounted to the time of acting, and lasts (faults,)."""

    chance: Floats
    soon: float
    known: PresentPart
    best: int
    at: float
    hurried: bool
    counts: Floats
    lasts: Floats

    def branch(self, told: Given, weight: Floats, acts_at: float) -> Branch:
        at = None if np.isinf(self.at) else self.at + acts_at
        told = told.about(float(self.chance @ weight), self.soon)
        return Branch(told, at, self.best == 0, self.hurried)


@dataclass(frozen=True, slots=True, eq=False)
class _Limit:
    """What one limit leads to: both outcomes, and the mean counts (events,) of the whole plan."""

    alarm: RetestAlarm
    surge: _Then
    clear: _Then
    counts: Floats


class _Retest:
    """What all limits have in common. `watch` is that of another such, to compare limits by:
    `roughly` then, with the rule for new parts alike after every outcome."""

    def __init__(
        self, ready: Prepared, renewal: Renewal, nodes: Ints, watch: Sampling | None = None
    ) -> None:
        self.roughly = watch is not None
        self.nodes, self.fault_share, self.known = nodes, ready.fault_share, ready.knowing
        case, curves, present = ready.case, ready.curves, ready.present
        self.ready = ready
        self.case, self.prices, self.ages = case, ready.prices, ready.ages
        self.present, self.renewal = present, renewal
        timing = present.timing
        self.at = case.oil.retest_in
        self.acts_at = acts_at = self.at + case.oil.turnaround
        self.timing = replace(timing, keep=timing.keep - acts_at, first=timing.first - acts_at)
        self.slot = booked_until(case) - acts_at
        """Usage from then to the workshop's first slot."""
        self.wear = conditional_survival(ready.ages, acts_at, curves.shape, curves.scale)
        weight = curves.weight * self.wear
        self.curves = Curves(curves.shape, curves.scale, weight / weight.sum())
        other = present.joined.lives.other
        self.spared = float(np.exp(-other * acts_at))
        assert present.watch is not None
        self.watch = present.watch.later(acts_at) if watch is None else watch
        self.joined: Joined = join(self.curves, case.plan.new_part_life, other)
        self.fitted: NewPart | None = None  # alike after every outcome but for what is believed

    def limit(self, alarm: RetestAlarm) -> _Limit:
        """The limit that `alarm` sets, with what it costs on average."""
        outcome = Retested(alarm, True, self.at)
        told = zip((outcome, outcome.opposite), self.watch.either(outcome), strict=True)
        surge, clear = (self._then(*each) for each in told)
        paid, weight = self.present.timing.discount, self.present.weight
        both = surge.chance, clear.chance
        lives = both[0] + both[1]
        counts = self._failed_first(np.maximum(1 - lives, 0.0))[1]
        self._until_it_acts(counts, lives @ weight)
        for chance, then in zip(both, (surge, clear), strict=True):
            counts += chance @ weight * float(paid(self.acts_at)) * then.counts
        return _Limit(alarm, surge, clear, counts)

    def plan(self, limit: _Limit) -> RetestPlan:
        """The plan with that limit."""
        surge, clear, nodes = limit.surge, limit.clear, self.nodes
        both = surge.chance, clear.chance
        lives = both[0] + both[1]
        first = np.maximum(1 - lives, 0.0)
        acts, weight = float(self.present.timing.discount(self.acts_at)), self.present.weight
        counts = self._failed_first(first)[0]
        self._until_it_acts(counts, lives[nodes])
        fails, urgent = np.maximum(1 - lives / self.spared, 0.0), np.zeros(len(lives))
        lasts = np.zeros((len(self.fault_share), len(nodes)))
        mean_lasts = np.zeros(len(self.fault_share))
        for chance, then in zip(both, (surge, clear), strict=True):
            found, _ = then.known.evaluate(self.prices, [then.best], nodes)
            if then.hurried:
                _hurry(found.counts[0])
                urgent += chance
            counts += chance[nodes] * acts * found.counts[0]
            lasts += chance[nodes] * found.lasts[0]
            fails += chance * found.fails[0]
            urgent += chance * found.alarm[0]
            mean_lasts += chance @ weight * then.lasts
        asked = Retested(limit.alarm, True, self.at), self.acts_at
        fails_first, if_surge, if_clear = outlook_of(self.ready).of_retest(*asked)
        return RetestPlan(
            self.at,
            self.acts_at,
            limit.alarm,
            self._limits(limit.alarm),
            surge.branch(if_surge, weight, self.acts_at),
            clear.branch(if_clear, weight, self.acts_at),
            about(fails_first, float(first @ weight)),
            counts,
            fails,
            urgent,
            lasts,
            float(self.prices.means() @ limit.counts),
            float(1 - mean_lasts @ self.fault_share),
        )

    def _until_it_acts(self, counts: Floats, alive: Floats | float) -> None:
        """Add what parts in service, `alive` (nodes,) or on average, meet until then, in place."""
        counts[IN_PLACE] += self.acts_at * (1 + alive) / 2
        counts[SAMPLE] += alive * float(self.present.timing.discount(self.at))

    def _limits(self, alarm: RetestAlarm) -> dict[str, float]:
        samples = self.case.samples
        left = dict.fromkeys(alarm.symbols, 0.0)
        for row in () if samples is None else samples.rows:
            for symbol in alarm.symbols:
                if symbol in row.elements:
                    left[symbol] = self.case.oil.carry_over * _point(row.elements[symbol])
        return {symbol: left[symbol] + gained for symbol, gained in alarm.alone().items()}

    def _then(self, outcome: Retested, watch: Sampling) -> _Then:
        """One outcome, with the best plan then."""
        today, key = self.present, outcome.key
        if key not in self.known:
            self.known[key] = self._part(watch)
        then = self.known[key].repairing(today.new_part.repair)
        if self.roughly and self.fitted is not None:
            then.new_part = self.fitted
        self.fitted = then.new_part
        ratio = self.wear * then.likely / today.likely * outcome.usual_chance * self.spared
        chance = np.repeat(ratio, len(self.joined.share), axis=1).reshape(-1)
        means = Means(then).at(self.prices)
        booked = before_slot(self.slot, means.at)
        if booked:
            _hurry(means.counts[0])
        costs = means.counts @ self.prices.means()
        costs[1:booked] = np.inf
        best = int(np.argmin(costs))
        soon = np.concatenate([world.wear[then.first] for world in then.worlds])
        return _Then(
            chance,
            float(soon @ then.weight),
            then,
            best,
            float(means.at[best]),
            best == 0 and booked > 0,
            means.counts[best],
            means.lasts[best],
        )

    def _part(self, watch: Sampling) -> PresentPart:
        """The part as `watch` knows it when the result is in."""
        case, today = self.case, self.present
        return PresentPart(
            self.ages + self.acts_at,
            self.curves,
            self.joined,
            self.timing,
            case.warning.visible_lead,
            case.plan.after_failure == "repair",
            today.new_part.faults,
            watch,
            others=self._slots(),
            fitted=self.fitted,
        )

    def _slots(self) -> Floats:
        """The workshop's first slot, where it comes later than the result and at no service."""
        slot, timing = self.slot, self.timing
        inside = AT_THE_END * timing.keep < slot < timing.keep * (1 - AT_THE_END)
        alone = not at_a_service(slot, timing.services, timing.interval)
        return np.array([slot] if inside and alone else [])

    def _failed_first(self, first: Floats) -> tuple[Floats, Floats]:
        """Counts of failures before the result is acted upon, half way, near enough: at the nodes
        asked for (events, nodes), and the mean over all (events,)."""
        today, middle = self.present, self.acts_at / 2
        weight = today.weight * first
        counts = np.zeros((len(EVENTS), len(self.nodes)))
        mean = np.zeros(len(EVENTS))
        if today.new_part.repair:
            many = today.new_part.worlds
            left = np.array([today.timing.keep - middle])
            after = [
                self.renewal.of_world(w, many).counts_at(left)[0] for w in range(len(today.worlds))
            ]
            some = (joined for _, joined in today.at_nodes(self.nodes))
            counts = np.concatenate(
                [joined.to_pairs(then) for joined, then in zip(some, after, strict=True)], axis=-1
            )
            by_world = weight.reshape(len(after), -1)
            mean = sum(
                then @ today.joined.to_nodes(part)
                for then, part in zip(after, by_world, strict=True)
            )
            counts[SALE] = mean[SALE] = 0.0
        paid = float(today.timing.discount(middle))
        counts = counts * first[self.nodes]
        counts[FAILURE] += first[self.nodes]
        mean[FAILURE] += weight.sum()
        return counts * paid, mean * paid
