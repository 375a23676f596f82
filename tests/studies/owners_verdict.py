"""What the tool tells a simulated owner: its own code, asked again at every oil change.

Plans that the tool recommends before the next oil change, or at it, are carried out; otherwise the
owner drives on and asks again just after it, with what is then known.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskmodel.decision.long_run import LONGEST, Replaced, least
from riskmodel.decision.prepared import Prepared, expected_costs, grounds, prepared
from riskmodel.decision.prices import FAILURE, FITTING, FOUND_WORN
from riskmodel.decision.rank_quick import Quick, quick
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.weigh import recommended
from riskmodel.records.case import Case
from tests.studies.owners import Owner, at_usage
from tests.studies.owners_life import NEAR, Table


def ready(case: Case, shared: Shared) -> Prepared:
    """The case made ready as `weigh` does; its records are read once for all that share them."""
    curves, _ = shared.curves(case, False)
    return prepared(grounds(case, curves))


def verdict(case: Case, shared: Shared) -> float:
    """When the recommended plan replaces the part, in usage from now (inf: never): the full form,
    the expected costs of `weigh`."""
    at, cost, failure = expected_costs(ready(case, shared))
    return float(at[recommended(case, at, cost, failure)])


def quick_verdicts(cases: Sequence[Case], shared: Shared) -> list[float]:
    """The same by the quick form of the ranking, for many cases at once."""
    found = []
    for case, told in zip(cases, quick(cases, [False] * len(cases), shared), strict=True):
        if not isinstance(told, Quick):
            raise told
        found.append(float(told.at[recommended(case, told.at, told.cost, told.failure)]))
    return found


def new_rule(case: Case, shared: Shared) -> Table:
    """When newly fitted parts are replaced, as the answer for this case has it."""
    asked = ready(case, shared)
    solved = asked.present.new_part.solve(asked.prices)
    return Table(solved.left, solved.service, case.interval)


def decisions(owner: Owner) -> list[float]:
    """Usages from today at which the tool is asked: today, and just after every oil change."""
    return [0.0, *owner.services.tolist()]


def followed(case: Case, owner: Owner, shared: Shared) -> float:
    """When the owner of an unsampled part replaces it, if it lasts: usage from today, or inf."""
    for since in decisions(owner):
        now = at_usage(case, owner, since)
        at = verdict(now, shared)
        if at <= now.next_change_in + NEAR:
            return since + at
    return float("inf")


def long_run_age(case: Case, shared: Shared) -> float:
    """The age at which replacing for ever costs least, as `long_run_of` finds it; inf: none."""
    asked = ready(case, shared)
    new, lives = asked.present.new_part, asked.joined.lives
    weight = new.weight.reshape(-1, len(lives.shape)).sum(axis=0)
    price, lead = asked.prices.means(), asked.case.warning.visible_lead
    dear = (float(price[each]) for each in (FITTING, FAILURE, FOUND_WORN))
    nodes = Replaced(lives.shape, lives.scale, *dear, lives.other, lead)
    some = weight > 1e-9
    end = float(np.max((lives.scale * LONGEST ** (1 / lives.shape))[some]))
    start = 1e-3 * float(np.min(lives.scale[some]))
    found = least(
        lambda age: float(nodes.cost(age) @ weight), float(nodes.never() @ weight), start, end
    )
    return found.age


def first_service_at(owner: Owner, age: float) -> float:
    """Usage from today to the first oil change at which the part has reached `age`; 0 where it
    has today, inf where none comes before keep-until."""
    if owner.age >= age - NEAR:
        return 0.0
    later = owner.services[owner.age + owner.services >= age - NEAR]
    return float(later[0]) if len(later) else float("inf")
