"""A newly fitted part: the rule told when it was fitted, or asking again at every oil change?

The study has newly fitted parts replaced by the rule that the tool works out with the answer for
the first part. An owner who enters the new part and asks again is told otherwise: a case has no
place to say that a part is a later one, and `plan.new_part_life` is for parts to come only. Three
ways for the first new part, alike in all else: the rule; asking again, as the tool stands; asking
again with the factor on a new part's life in the curves of the part in the engine.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.weigh import recommended
from riskmodel.life.posterior import Curves, posterior
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from riskmodel.risk.life_curves import likelihood_of
from tests.studies.does_it_pay_plain import LIVES
from tests.studies.does_it_pay_tables import over
from tests.studies.owners import AS_MODELLED, NEW_PART_LIFE, Owner, case_of, draw_owner, stream
from tests.studies.owners_club import club
from tests.studies.owners_life import NEAR, Floats, Ints, Luck, Table, first_part, total
from tests.studies.owners_verdict import followed, new_rule

RECORDS, FACTORS = 150, 5


@dataclass(frozen=True, eq=False)
class FirstNew:
    """The rule `then`, but for parts fitted with usage `left`, which are replaced at `number`."""

    then: Table
    left: float
    number: int

    def service(self, left: Floats) -> Ints:
        own = np.abs(left - self.left) < NEAR
        return np.where(own, self.number, self.then.service(left))


def refitted(case: Case, owner: Owner, at: float, since: float) -> Case:
    """The case of a part fitted `at` a usage from today, so much usage `since` then."""
    reading = owner.age + at + since
    (stretch,) = case.use.stretches
    stretches = (replace(stretch, until=reading),) if since > 0 else ()
    return replace(
        case,
        machine=replace(case.machine, reading=reading),
        part=replace(case.part, fitted_at=owner.age + at, entered_at=0.0),
        use=replace(case.use, stretches=stretches),
        oil=replace(case.oil, next_change_in=owner.interval),
        plan=replace(case.plan, keep_usage=owner.keep - at - since),
    )


def shortened(case: Case) -> Curves:
    """The curves of a part that lives as parts to come are believed to, and lasts until now."""
    life = case.life
    plain = posterior(likelihood_of(case), life.shape_prior, life.b50_prior, None)
    factor, share = NEW_PART_LIFE.points(FACTORS)
    shape, scale = np.repeat(plain.shape, FACTORS), np.outer(plain.scale, factor).ravel()
    weight = np.outer(plain.weight, share).ravel() * np.exp(-((case.age / scale) ** shape))
    return Curves(shape, scale, weight / weight.sum())


def service_asked(case: Case, owner: Owner, at: float, shared: Shared, known: bool) -> int:
    """The service at which the new part is replaced where its owner asks at every oil change.

    `known`: its curves are those of `shortened`. A time between two services counts as the later.
    """
    left = owner.keep - at
    services = int(np.ceil(left / owner.interval - 1e-9)) - 1
    for number in range(services + 1):
        now = refitted(case, owner, at, number * owner.interval)
        curves = shortened(now) if known else shared.curves(now, False)[0]
        if known:  # those after it live as long as it does
            now = replace(now, plan=replace(now.plan, new_part_life=exactly(1.0)))
        plans, cost, failure = expected_costs(prepared(grounds(now, curves)))
        best = float(plans[recommended(now, plans, cost, failure)])
        if best <= owner.interval + NEAR:
            return number if best == 0 and number else min(number + 1, services)
    return 0


def compare(owners: int) -> str:
    """As a Markdown table, over those owners whose first part is replaced."""
    names = ("the rule", "asked again, as the tool stands", "asked again, the factor in the curves")
    costs: list[list[float]] = []
    lost: list[list[float]] = []
    chosen: list[list[int]] = []
    for number in range(owners):
        owner = draw_owner(number)
        case = case_of(owner, club(stream(number, 1), RECORDS, owner.shape, owner.scale))
        shared = Shared()
        at = followed(case, owner, shared)
        if at >= owner.keep - owner.interval:
            continue
        rule, left = new_rule(case, shared), owner.keep - at
        numbers = [int(rule.service(np.array([left]))[0])]
        numbers += [service_asked(case, owner, at, shared, known) for known in (False, True)]
        luck = Luck(owner, AS_MODELLED, LIVES)
        end = first_part(luck, at)
        told = [total(luck, end, FirstNew(rule, left, each)) for each in numbers]
        costs.append([each.cost for each in told])
        lost.append([each.lost for each in told])
        chosen.append(numbers)
    cost, failed, number = np.array(costs), np.array(lost), np.array(chosen)
    lines = [
        "| first new part | mean cost over the rule's [%] | engines lost per 100 "
        "| replaced later than by the rule | sooner |",
        "|---|---|---|---|---|",
    ]
    when = np.where(number == 0, 10_000, number)
    for i, name in enumerate(names):
        more, error = over(cost[:, i], cost[:, 0])
        later, sooner = (when[:, i] > when[:, 0]).sum(), (when[:, i] < when[:, 0]).sum()
        lines.append(
            f"| {name} | {more:+.2f} ({error:.2f}) | {100 * failed[:, i].mean():.1f} "
            f"| {later} of {len(cost)} | {sooner} |"
        )
    return "\n".join(lines)
