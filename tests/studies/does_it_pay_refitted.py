"""A newly fitted part: the rule told when it was fitted, or asking again at every oil change?

The study has newly fitted parts replaced by the rule that the tool works out with the answer for
the first part. An owner who enters the new part asks again: the tool then takes
`plan.new_part_life` into that part's own curves, because it was not fitted with the machine
(`part.fitted_at`). Three ways for the first new part, alike in all else: the rule; asking again as
if it were the machine's first part; asking again as the tool stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.decision.rank_shared import Shared
from riskmodel.records.case import Case
from tests.studies.does_it_pay_plain import LIVES
from tests.studies.does_it_pay_tables import over
from tests.studies.owners import AS_MODELLED, Owner, case_of, draw_owner, stream
from tests.studies.owners_club import club
from tests.studies.owners_life import NEAR, Floats, Ints, Luck, Table, first_part, total
from tests.studies.owners_verdict import followed, new_rule, verdict

RECORDS = 150


@dataclass(frozen=True, eq=False)
class FirstNew:
    """The rule `then`, but for parts fitted with usage `left`, which are replaced at `number`."""

    then: Table
    left: float
    number: int

    def service(self, left: Floats) -> Ints:
        own = np.abs(left - self.left) < NEAR
        return np.where(own, self.number, self.then.service(left))


def refitted(case: Case, owner: Owner, at: float, since: float, told: bool) -> Case:
    """The case of a part fitted `at` a usage from today, so much usage `since` then; `told` that it
    is a later one, or passed for the first."""
    fitted = owner.age + at if told else 0.0
    reading = fitted + since
    (stretch,) = case.use.stretches
    stretches = (replace(stretch, until=reading),) if since > 0 else ()
    return replace(
        case,
        machine=replace(case.machine, reading=reading),
        part=replace(case.part, fitted_at=fitted, entered_at=0.0),
        use=replace(case.use, stretches=stretches),
        oil=replace(case.oil, next_change_in=owner.interval),
        plan=replace(case.plan, keep_usage=owner.keep - at - since),
    )


def service_asked(case: Case, owner: Owner, at: float, shared: Shared, told: bool) -> int:
    """The service at which the new part is replaced where its owner asks at every oil change.

    `told` as in `refitted`. A time between two services counts as the later.
    """
    left = owner.keep - at
    services = int(np.ceil(left / owner.interval - 1e-9)) - 1
    for number in range(services + 1):
        now = refitted(case, owner, at, number * owner.interval, told)
        best = verdict(now, shared)
        if best <= owner.interval + NEAR:
            return number if best == 0 and number else min(number + 1, services)
    return 0


def compare(owners: int) -> str:
    """As a Markdown table, over those owners whose first part is replaced."""
    names = ("the rule", "asked again, as a first part", "asked again, as the tool stands")
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
        numbers += [service_asked(case, owner, at, shared, told) for told in (False, True)]
        luck = Luck(owner, AS_MODELLED, LIVES)
        end = first_part(luck, at)
        paid = [total(luck, end, FirstNew(rule, left, each)) for each in numbers]
        costs.append([each.cost for each in paid])
        lost.append([each.lost for each in paid])
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
