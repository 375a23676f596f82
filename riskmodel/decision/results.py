"""What weighing a case gives: plain numbers, no words and no pictures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.occasions import Occasion, closed
from riskmodel.decision.sale import sold_instead
from riskmodel.records.case import Case
from riskmodel.use.effective_age import Range
from riskmodel.use.told import UseTold

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Interval:
    """A number with its central 90 % credible interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Chance:
    """Chance that the present part fails within `ahead` (usage from now) if left in.

    `what` is "next_oil_change", "one_year" or "keep_until". `without_oil` is the same with the
    samples taken so far left out, and `oil_factor` the one over the other; None without any.
    """

    what: str
    ahead: float
    chance: Interval
    without_oil: Interval | None = None
    oil_factor: float | None = None


@dataclass(frozen=True, slots=True)
class OilTold:
    """What the samples rest on: `used` of `samples` are evidence; of failures the share
    `silent` gives no signal in the oil, and of the others the share `short` gives less warning
    than one oil interval (both means over what is not known).
    """

    samples: int
    used: int
    silent: float
    short: float


@dataclass(frozen=True, slots=True)
class Spent:
    """What a plan's expected cost is made of, in money: `jobs` (the replacement, those that
    follow it, at short notice too), `failures` with all that comes with them, `fitting_faults`,
    `found_worn`, `oil` (oil changes, samples, looks into alarms), `alongside` (other jobs while
    access is open, or not yet done), and what is received at the `sale` at keep-until, below 0.
    They add up to the cost."""

    jobs: float
    failures: float
    fitting_faults: float
    found_worn: float
    oil: float
    alongside: float
    sale: float


@dataclass(frozen=True, slots=True)
class PlanResult:
    """One plan for the present part.

    `at` is the usage from now at which it is replaced (None: never); `service` counts the
    oil changes until then (0: now, before any; None: never, or on an `occasion` that is none).
    `failure` is the chance of at
    least one failure within keep-until, new parts and fitting faults included;
    `present_failure` that of the present part, by wear, before it is replaced; `alarm` that an
    alarm on a sample leads to its urgent replacement. `cost` is the discounted expected cost,
    its interval over what is not known; `bad_case` the 95th percentile of what is actually
    paid; `chance_cheapest` the chance, over what is not known and not over luck, that no other
    plan costs less.
    """

    at: float | None
    service: int | None
    failure: Interval
    present_failure: Interval
    alarm: Interval
    cost: Interval
    bad_case: float
    chance_cheapest: float
    occasion: Occasion | None = None
    spent: Spent | None = None
    """None for selling today."""


@dataclass(frozen=True, slots=True)
class RetestBranch:
    """One outcome of a retest: its `chance`, the plan then best, `at` in usage from today (None:
    never; `at_once`: as soon as the result is in, `hurried` at short notice), and the chance `soon`
    that the part, left in, fails by wear between then and the next oil change.
    """

    chance: Interval
    at: float | None
    at_once: bool
    soon: Interval
    hurried: bool = False


@dataclass(frozen=True, slots=True)
class Retest:
    """The plan to sample again `at` a usage from now and to decide at `acts_at`, the result known.

    The oil is `oil_age` old then. It counts as another surge above limits that oil without
    distress passes with chance `false_alarm`; `limits` are those of each element's reading [ppm]
    alone, the others being as usual. `first` is the chance that the part fails before anything is
    decided; the other chances as in `PlanResult`. `saves` is how much less the plan costs than
    the best one without it.
    """

    at: float
    acts_at: float
    oil_age: float
    limits: Mapping[str, float]
    false_alarm: float
    first: Interval
    if_surge: RetestBranch
    if_clear: RetestBranch
    failure: Interval
    present_failure: Interval
    alarm: Interval
    cost: Interval
    saves: Interval


@dataclass(frozen=True, slots=True)
class AfterLook:
    """What an inspection may show: its `chance`, the plan then best, `at` in usage from now (None:
    never), and the chance `soon` that the part, left in, fails before the next oil change."""

    chance: Interval
    at: float | None
    soon: Interval


@dataclass(frozen=True, slots=True)
class Inspection:
    """To look at the part, then decide. `worth` is what knowing the outcome is worth, before the
    inspection's `price` and the risk that it does the damage; `saves` is how much less the plan
    costs, both counted, than the best one without it. `failure` as in `PlanResult`."""

    if_seen: AfterLook
    if_not: AfterLook
    failure: Interval
    cost: Interval
    price: float
    worth: float
    saves: Interval


@dataclass(frozen=True, slots=True)
class Sampled:
    """What the samples at the oil changes to come are worth: the best plan without them, `at` in
    usage from now (None: never), what it costs, and how much less the plan recommended does,
    the samples and the looks they lead to paid. Below 0 they cost more than they save."""

    at: float | None
    cost: float
    saves: float


@dataclass(frozen=True, slots=True)
class Information:
    """What knowing more would be worth, at most: `perfect` about all that is not known (the curve,
    prices, the warning), `foresight` about when this part and those after it fail as well."""

    perfect: float
    foresight: float
    inspection: Inspection | None
    samples: Sampled | None = None


@dataclass(frozen=True, slots=True)
class Sale:
    """Selling the machine today, the buyer told of the part, beside the plans that keep it.

    It fetches `value`; what it would fetch at keep-until is worth `later` today. Selling costs
    what the cheapest plan does where a year without the machine costs `even` more than a year's
    upkeep, less where it costs less. `plan` is selling as a plan, `at` 0 (None: what a year without
    it costs is not stated); its `bad_case` has no luck in it.
    """

    value: float
    later: float
    even: float
    plan: PlanResult | None


@dataclass(frozen=True, slots=True)
class TradeOff:
    """Replacing now against waiting, as the chance of failure before the next service varies.

    Waiting (the best later plan) costs `if_lasts` where the part lasts to the next service
    and `if_fails` where it does not, so at chance p it costs
    (1 - p) if_lasts + p if_fails; `now` is the cost of replacing now. They cross at
    `break_even_chance` and, all else as it is, at the failure price
    `break_even_failure_price` (each None where they do not cross; the price of an engine, and
    None where that one would be walked away from). `until` is the usage to the next service and
    `later` the index of the best later plan.
    """

    until: float
    later: int
    chance: Interval
    now: Interval
    wait: Interval
    if_lasts: float
    if_fails: float
    break_even_chance: float | None
    break_even_failure_price: float | None


@dataclass(frozen=True, slots=True)
class OtherCauses:
    """Failures of causes other than wear: a constant rate that no plan changes.

    `failures` of them are on record; `rate` is per usage; `chance` is that of at least one
    within keep-until.
    """

    failures: float
    rate: Interval
    chance: Interval


@dataclass(frozen=True, slots=True)
class Ahead:
    """Chance of failure against usage from now, for drawing; every array (points,)."""

    usage: Floats
    chance: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class NewPartRule:
    """When a newly fitted part is replaced: at its `service`-th service (0: never) where
    the usage left at its fitting is within `step` / 2 of `left`; arrays (points,)."""

    left: Floats
    service: NDArray[np.int64]
    step: float


@dataclass(frozen=True, slots=True)
class LongRun:
    """Replacing new parts at one age for ever, against never before they fail.

    `age` is the usage at which it costs least, per unit of usage `cost` (None: never, and `cost` is
    `never`); `age_low` and `age_high` where it lies in 90 % of what is not known (None: never), and
    in the share `never_best` no age costs less than never. `window` are the ages between which
    the rate is within 5 % of the least (the upper None: however late). Of parts replaced at `age`
    the share `failure` fails before. `planned` and `failed` are all that either costs on average.
    For drawing, the mean `rate` at the ages `at` with its `low` and `high`; arrays (points,).
    """

    age: float | None
    age_low: float | None
    age_high: float | None
    never_best: float
    cost: Interval
    never: Interval
    window: tuple[float, float | None]
    failure: Interval
    planned: float
    failed: float
    at: Floats
    rate: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Weighing:
    """The answer for one case.

    `plans` keep the machine; `recommended` of them is the one of lowest expected cost, of those
    that keep to the owner's ceiling on the chance of a failure where one is stated and any does;
    with symptoms there is no verdict and it is None. `services` are the coming oil changes in
    usage from now. With `walks_away` a failure is cheaper to walk away from than to repair, and
    `case` says so; `stated` is then the case as it was entered. `use` is how it was driven.
    """

    case: Case
    age: float
    keep: float
    services: Floats
    risk: tuple[Chance, ...]
    plans: tuple[PlanResult, ...]
    recommended: int | None
    trade_off: TradeOff | None
    ahead: Ahead
    new_part_rule: NewPartRule
    records_used: int
    failures_used: int
    other_causes: OtherCauses | None = None
    oil: OilTold | None = None
    retest: Retest | None = None
    sale: Sale | None = None
    information: Information | None = None
    long_run: LongRun | None = None
    walks_away: bool = False
    stated: Case | None = None
    use: UseTold | None = None
    notes: tuple[str, ...] = field(default=())

    @property
    def effective_age(self) -> Range | None:
        """Usage of the kind on record that today's wear counts like."""
        return None if self.use is None else self.use.age

    @property
    def entered(self) -> Case:
        """The case as it was entered, whatever is done after a failure."""
        return self.case if self.stated is None else self.stated

    @property
    def stop(self) -> bool:
        """True where symptoms replace every verdict."""
        return bool(self.case.machine.symptoms)

    @property
    def open_plans(self) -> range:
        """The plans that can be had: none before the workshop's first slot."""
        at = np.array([np.inf if plan.at is None else plan.at for plan in self.plans])
        return range(closed(self.case, at), len(self.plans))

    @property
    def all_plans(self) -> tuple[PlanResult, ...]:
        """Those that keep the machine and, where it is weighed, selling it last."""
        sold = None if self.sale is None else self.sale.plan
        return self.plans if sold is None else (*self.plans, sold)

    @property
    def sells(self) -> bool:
        """Whether selling today is the verdict: it costs less than the plan recommended and than
        finding out more first, or alone keeps to the owner's ceiling."""
        best, sold = self.best, None if self.sale is None else self.sale.plan
        if best is None or sold is None:
            return False
        first, ceiling = self._find_out(), self.case.plan.most_risk
        failure, cost = best.failure.value, best.cost.value
        if first is not None:
            failure, cost = first.failure.value, first.cost.value
        return sold_instead(sold.cost.value, cost, failure, ceiling)

    @property
    def chosen(self) -> int | None:
        """Of `all_plans` the one that the verdict names, what to find out first aside."""
        return len(self.plans) if self.sells else self.recommended

    @property
    def first_step(self) -> Literal["retest", "inspection"] | None:
        """What to find out first, where that costs less than the plan recommended, and than
        selling, and keeps to the owner's ceiling as far as that plan does; the one that saves
        more."""
        first = None if self.sells else self._find_out()
        if first is None:
            return None
        return "retest" if isinstance(first, Retest) else "inspection"

    def _find_out(self) -> Retest | Inspection | None:
        """What of a second sample and a look saves more against the plan recommended, if any."""
        best, ceiling = self.best, self.case.plan.most_risk
        look = None if self.information is None else self.information.inspection
        found = [
            step
            for step in (self.retest, look)
            if step is not None
            and best is not None
            and step.saves.value > 0
            and (ceiling is None or step.failure.value <= max(ceiling, best.failure.value))
        ]
        return max(found, key=lambda step: step.saves.value, default=None)

    @property
    def retest_first(self) -> bool:
        return self.first_step == "retest"

    @property
    def best(self) -> PlanResult | None:
        return None if self.recommended is None else self.plans[self.recommended]
