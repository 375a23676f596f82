"""Look at the part first, then decide: what an inspection is worth.

Distress that is there within the visible lead is seen with a certain chance; an inspection that
sees none leaves every plan open, weighed anew with that known. What it saw is the rest: chances
and costs of all cases together are those of "seen" and "not seen" added up, so the second outcome
follows from the first by subtraction. (Raiffa & Schlaifer 1961, on the value of sample
information.)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.means import Means
from riskmodel.decision.occasions import together
from riskmodel.decision.outlook import Given, outlook_of
from riskmodel.decision.plans import PlanCounts, PresentPart
from riskmodel.decision.prepared import Prepared
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.watched import shows
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TINY = 1e-12
"""A chance so small divides nothing."""
REACH = 3.5
"""The visible lead is followed this many standard deviations up."""


@dataclass(frozen=True, slots=True)
class NothingSeen:
    """What a look at the part of today's `age` that sees no distress says of when it fails; an
    `Outcome` of `Sampling`."""

    age: float
    lead: Quantity
    sees: float
    at: float = 0.0

    @property
    def reach(self) -> float:
        return float(self.lead.quantile(REACH))

    @property
    def of_oil(self) -> bool:
        return False

    def likelier(self, onset: Floats, failure: Floats, age: float, log_rise: Floats) -> Floats:
        return self.quietly(failure)[..., None]

    def quietly(self, failure: Floats) -> Floats:
        """Chance to see nothing of a part that fails at `failure`, (any shape): the look does not
        depend on the oil."""
        ahead = np.maximum(failure - self.age, 1e-9 * self.reach)  # none has failed yet
        return np.asarray(1 - self.sees * shows(self.lead, ahead))


@dataclass(frozen=True, slots=True)
class AfterSeeing:
    """One outcome: what is `told` of it, and the plan then taken, `at` in usage from now (None:
    never)."""

    told: Given
    at: float | None


@dataclass(frozen=True, slots=True, eq=False)
class InspectionPlan:
    """The plan to look first as `counts` (events, nodes) and `lasts` (faults, nodes) at the nodes
    asked for, see `PlanCounts`; its expected `cost` and the chance of a `failure` over all, the
    inspection's own `price` and the `risk` that it destroys the part apart. `damaged` (events,
    nodes) are the counts where it does, `damage` what that costs; `worth` is what knowing the
    outcome spares, before both."""

    if_seen: AfterSeeing
    if_not: AfterSeeing
    counts: Floats
    lasts: Floats
    cost: float
    failure: float
    price: Quantity
    risk: float
    damaged: Floats
    damage: float
    worth: float


def inspection_plan(
    ready: Prepared, counts: PlanCounts, open_plans: range, nodes: Ints
) -> InspectionPlan | None:
    """None where no inspection is offered.

    `counts` are those of today's plans at `nodes`, in rising order, `open_plans` which of them can
    be had afterwards.
    """
    case = ready.case
    if case.inspection.cost is None:
        return None
    look = NothingSeen(case.age, case.warning.visible_lead, case.inspection.sees)
    today = ready.present
    if today.watch is None:  # no oil to tell worlds apart: one, so that the nodes stay as they are
        today = _present(ready, Sampling(_one_world(case)))
        counts, _ = today.evaluate(ready.prices, nodes=nodes)
    assert today.watch is not None
    repair = case.plan.after_failure == "repair"
    if look not in ready.knowing:
        ready.knowing[look] = _present(ready, today.watch.knowing(look))
    blank = ready.knowing[look].repairing(repair)
    price, weight, some = ready.prices.means(), today.weight, list(open_plans)

    ratio = blank.likely / today.likely
    chance = np.clip(np.repeat(ratio, len(ready.joined.share), axis=1).reshape(-1), 0.0, 1.0)

    means = Means(today)
    of_all, of_unseen = means.at(ready.prices), Means(blank).at(ready.prices)
    missed = min(float(chance @ weight), 1.0)
    without, with_unseen = of_all.counts @ price, missed * (of_unseen.counts @ price)
    with_seen = without - with_unseen
    blind, found = (some[int(np.argmin(each[some]))] for each in (with_unseen, with_seen))
    unseen, _ = blank.evaluate(ready.prices, (blind, found), nodes)  # in order of time
    of_blind, of_found = int(blind > found), int(found > blind)

    def place(plan: int) -> float | None:
        return None if np.isinf(of_all.at[plan]) else float(of_all.at[plan])

    def decided(today: Floats, unseen: Floats) -> Floats:
        """Each outcome with its own plan, from (plans, .., nodes) of all and of the unseen."""
        return np.asarray(today[found] + chance[nodes] * (unseen[of_blind] - unseen[of_found]))

    fails, unseen_fails = (float(each @ weight) for each in (_soon(today), chance * _soon(blank)))
    if_seen, if_not = outlook_of(ready, today.watch).of_look(look)
    if_seen = if_seen.about(1 - missed, (fails - unseen_fails) / max(1 - missed, TINY))
    if_not = if_not.about(missed, unseen_fails / max(missed, TINY))
    lasts = of_all.lasts[found] + missed * (of_unseen.lasts[blind] - of_unseen.lasts[found])
    return InspectionPlan(
        if_seen=AfterSeeing(if_seen, place(found)),
        if_not=AfterSeeing(if_not, place(blind)),
        counts=decided(counts.counts, unseen.counts),
        lasts=decided(counts.lasts, unseen.lasts),
        cost=float(without[found] + with_unseen[blind] - with_unseen[found]),
        failure=float(1 - lasts @ ready.fault_share),
        price=case.inspection.cost,
        risk=case.inspection.risk,
        damaged=today.failing_now(ready.prices, nodes),
        damage=float(means.failing_now(ready.prices) @ price),
        worth=float(without[some].min() - with_unseen[blind] - with_seen[found]),
    )


def _one_world(case: Case) -> Case:
    """The case with what only samples could tell of taken as known."""
    warning = case.warning
    silent = exactly(warning.silent.mean, share=True)
    known = replace(warning, lead_factor=exactly(warning.lead_factor.median), silent=silent)
    return replace(case, warning=known)


def _present(ready: Prepared, watch: Sampling) -> PresentPart:
    case = ready.case
    return PresentPart(
        ready.ages,
        ready.curves,
        ready.joined,
        ready.timing,
        case.warning.visible_lead,
        case.plan.after_failure == "repair",
        ready.present.new_part.faults,
        watch,
        np.array([each.at for each in ready.occasions]),
        together(ready.occasions),
        ready.present.new_part if _alike(ready.present.watch, watch) else None,
    )


def _alike(today: Sampling | None, watch: Sampling) -> bool:
    """Whether new parts are told the same by both: either samples them, or neither does."""
    return watch.sampled == (today is not None and today.sampled)


def _soon(present: PresentPart) -> Floats:
    """Chance to fail by wear before the next oil change, (nodes,)."""
    return np.concatenate([world.wear[present.first] for world in present.worlds])
