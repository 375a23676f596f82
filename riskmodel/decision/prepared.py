"""A case made ready to be weighed: its plans before prices, and what belongs to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.lives import ROUGHLY, Joined, join
from riskmodel.decision.means import Means
from riskmodel.decision.occasions import Occasion, occasions, together
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prices import Prices, prices_of
from riskmodel.decision.renewal import NewPart
from riskmodel.decision.sampling import Outcome, Sampling
from riskmodel.decision.timing import Timing, timing_of
from riskmodel.decision.watched import BELIEVED, GONE
from riskmodel.life.other_causes import Rate, other_causes
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import evenly_drawn
from riskmodel.oil.alarm import shed
from riskmodel.oil.fleet import with_usual
from riskmodel.oil.history import History, history
from riskmodel.oil.mass_balance import SampleRates
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.risk.distress import distress_today
from riskmodel.risk.driven import driven, own_curves
from riskmodel.risk.later import with_parts_alike
from riskmodel.use.effective_age import Use
from riskmodel.use.leads import in_usage_from_now

if TYPE_CHECKING:
    from riskmodel.decision.abreast import Abreast
    from riskmodel.decision.outlook import Outlook

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MONEY = ("value", "scrap", "value_later", "upkeep")
"""What a machine is worth and costs: nothing that its chances hang on."""
FAR = 3.0
"""A new part may live so many standard deviations longer than thought."""
FEW = 320
"""Curves that cases are compared on where a comparison is all that is asked: means are then within
half a hundredth of themselves, and a difference by so much of the difference."""
FAULT_POINTS, FEW_FAULTS = 5, 3
"""Quadrature points over the chance of a fitting fault, and where a difference is asked for."""


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """The plans of `case` on its life `curves`, before any price is applied.

    `ages` (curves,) are the part's age today on each curve, `taken` its used samples as evidence,
    `other` the rate of failures of other causes; None where there are none. `faults` (F,) are
    possible chances of a fitting fault, `fault_share` (F,) how far each is believed; `occasions`
    are the times to replace besides the oil changes.
    """

    case: Case
    curves: Curves
    ages: Floats
    timing: Timing
    prices: Prices
    taken: History | None
    other: Rate | None
    present: PresentPart
    joined: Joined
    fault_share: Floats
    occasions: tuple[Occasion, ...]
    knowing: dict[Outcome | tuple[float, bool], PresentPart] = field(default_factory=dict)
    """The same part with the outcome of a look known, or of a second sample (its chance of a
    surge without distress, and whether it shows one), as far as it was asked for: no price
    enters it."""
    few: list[Prepared] = field(default_factory=list)
    """The same on few curves, once it was asked for."""
    outlook: list[Outlook] = field(default_factory=list)
    """What may be found out first, in many worlds, once it was asked for."""

    @property
    def weight(self) -> Floats:
        """How far each node is believed today; (nodes,)."""
        return self.present.weight

    @property
    def alike(self) -> int:
        """Nodes in a row that differ in the life of new parts alone."""
        return len(self.joined.share)


@dataclass(frozen=True, slots=True, eq=False)
class Grounds:
    """What the plans of a case stand on that no price enters, in usage from now.

    `case` has its leads told so and parts to come living as a present one that is itself a later
    one (`new_part_life` is what was stated), `curves` are the life curves by how it was and will
    be driven, with the part's age today on each, `ages` (curves,); `taken` its used samples, None
    without, and `sampling` what those and samples to come lead to, worked out once.
    """

    case: Case
    curves: Curves
    ages: Floats
    taken: History | None
    use: Use
    sampling: Sampling | None
    new_part_life: Quantity

    @property
    def worn_today(self) -> float:
        """The chance that a look at the part would show distress today."""
        return distress_today(self.case, self.curves, self.taken, self.ages)

    def history(self, case: Case, rates: Sequence[SampleRates] | None = None) -> History | None:
        """The samples of a case that differs from this one in what they mean, as quickly as serves
        to compare it by; `rates` are those of `wear_rates`, if they are known already."""
        return history(case, lambda ages: in_usage_from_now(self.use, ages), rates, quick=True)


def grounds(case: Case, curves: Curves | None = None, use: Use | None = None) -> Grounds:
    """The grounds of `case`; `curves` stands in for the life curves of its own records, `use` for
    its habits from now on, node by node (see `driven`). Raises `CannotAnswer` where records and
    beliefs together do not settle a life curve."""
    case = with_usual(case)
    found = driven(case, own_curves(case) if curves is None else curves, use=use)
    taken = found.history()
    watch = sampling_of(found.case, taken, _lasting(found.curves, found.case))
    life = case.plan.new_part_life
    return Grounds(found.case, found.curves, found.aged.age, taken, found.use, watch, life)


def regrounded(found: Grounds, case: Case) -> Grounds:
    """The same grounds with the name, symptoms, prices, values and plans of `case`."""
    worth = {name: getattr(case.machine, name) for name in (*MONEY, "name", "symptoms")}
    machine = replace(found.case.machine, **worth)
    plan = with_parts_alike(case).plan
    changed = replace(found.case, machine=machine, cost=case.cost, plan=plan)
    return replace(found, case=replace(changed, inspection=case.inspection, stated=case.stated))


def prepared(found: Grounds, case: Case | None = None) -> Prepared:
    """The case of `found` made ready, or one that differs from it in its prices and plans."""
    case = found.case if case is None else case
    sampling = found.sampling
    if sampling is not None and found.taken is not None and not case.sampled:
        sampling = sampling.unsampled()
    if sampling is None or not sampling.serves(case, found.taken):
        sampling = sampling_of(case, found.taken, _lasting(found.curves, case))
    return prepare(case, found.curves, found.taken, sampling, found.ages)


def repriced(ready: Prepared, case: Case) -> Prepared:
    """The same for a case that differs in its prices, and in what is done after a failure, alone:
    no chance is worked out again."""
    present = ready.present.repairing(case.plan.after_failure == "repair")
    return replace(ready, case=case, prices=prices_of(case), present=present)


def prepare(
    case: Case,
    curves: Curves,
    taken: History | None,
    sampling: Sampling | Abreast | None,
    ages: Floats | None = None,
    fitted: NewPart | None = None,
    coarse: bool = False,
) -> Prepared:
    """Make a case ready on life `curves`; `sampling` is that of `sampling_of`, which nothing about
    life changes, `ages` the part's age today on each curve, left out: its plain age. `fitted` is
    the newly fitted part of a case that differs in no more than what is known of the present one,
    if it is at hand; `coarse` cases are to be compared with others that are."""
    timing, prices, other = timing_of(case), prices_of(case), _other_causes(case)
    timing = replace(timing, coarse=coarse)
    rate, more = 0.0 if other is None else other.rate, ROUGHLY if coarse else 0
    joined = join(curves, case.plan.new_part_life, rate, more)
    faults, share = prices.fault.points(FEW_FAULTS if coarse else FAULT_POINTS)
    extra = occasions(case, timing)
    own = np.full(len(curves), case.age) if ages is None else ages
    present = PresentPart(
        own,
        curves,
        joined,
        timing,
        case.warning.visible_lead,
        case.plan.after_failure == "repair",
        faults,
        sampling,
        np.array([each.at for each in extra]),
        together(extra),
        fitted,
    )
    return Prepared(case, curves, own, timing, prices, taken, other, present, joined, share, extra)


def thinned(ready: Prepared) -> Prepared:
    """The same on at most FEW of its curves, evenly spread over how far all are believed, and with
    what samples tell on average: to compare by, several times sooner."""
    if ready.timing.coarse:  # it is made to compare by already
        return ready
    if not ready.few:
        (curves, ages), watch = few_curves(ready), ready.present.watch
        mean = None if watch is None else watch.on_average()
        few = prepare(ready.case, curves, ready.taken, mean, ages, coarse=True)
        ready.few.append(few)
    return repriced(ready.few[0], ready.case)


def few_curves(
    ready: Prepared, many: int = FEW, among: tuple[Ints, float, float] | None = None
) -> tuple[Curves, Floats]:
    """At most so `many` of its curves, evenly spread over how far all are believed, and the part's
    age today on each; `among` the curves in an order (curves,), those from one share of the belief
    up to another alone."""
    believed = ready.present.believed.sum(axis=0)
    order, low, high = (np.arange(len(believed)), 0.0, 1.0) if among is None else among
    upto = np.cumsum(believed[order]) / believed.sum()
    inside = np.zeros(len(believed))
    inside[order] = np.diff(np.clip(upto, low, high), prepend=low)
    some, times = evenly_drawn(order, inside, many)
    curves = ready.curves
    # the samples weigh them once more: each is to count as often as it was drawn
    weight = curves.weight[some] / believed[some] * times
    return Curves(curves.shape[some], curves.scale[some], weight / weight.sum()), ready.ages[some]


def _lasting(curves: Curves, case: Case) -> float:
    """Usage beyond which no part lasts, today's or a later one."""
    some = curves.weight > BELIEVED
    longest = float((curves.scale * GONE ** (1 / curves.shape))[some].max())
    return longest * max(1.0, float(case.plan.new_part_life.quantile(FAR)))


def sampling_of(case: Case, taken: History | None, lasting: float = np.inf) -> Sampling | None:
    """What samples taken and to come can tell; None where there are none of either. No part lasts
    longer than `lasting`."""
    if not shed(case.oil.element):
        return None
    told = case.sampled or taken is not None
    return Sampling(case, taken, lasting=lasting) if told else None


def expected_costs(ready: Prepared) -> tuple[Floats, Floats, Floats]:
    """Of every plan: usage from now (inf: never), expected cost, chance of a failure; all
    (plans,). The part of `weigh` that a comparison of cases needs."""
    found = Means(ready.present).at(ready.prices)
    return found.at, found.counts @ ready.prices.means(), 1 - found.lasts @ ready.fault_share


def _other_causes(case: Case) -> Rate | None:
    """The rate of failures of other causes, where the records tell of any."""
    if case.records is None or "other" not in case.records.cause:
        return None
    return other_causes(case.records, case.life.reporting_ratio)
