"""One owner whose oil is sampled at every change: every rule followed to keep-until."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from riskmodel.decision.rank_shared import Shared
from riskmodel.records.case import Case
from tests.studies.does_it_pay_plain import (
    KNOWN,
    LONG_RUN,
    NEVER,
    ONCE,
    ROUND,
    TOOL,
    Row,
    round_name,
)
from tests.studies.owners import Misfit, Owner, case_of, draw_owner, stream
from tests.studies.owners_club import club
from tests.studies.owners_life import (
    Alarms,
    AtAge,
    Ended,
    Luck,
    NewRule,
    first_part,
    services_paid,
    total,
)
from tests.studies.owners_oil import Oil
from tests.studies.owners_sampled import asking, fixed, sampled_first_part
from tests.studies.owners_verdict import first_service_at, followed, long_run_age, new_rule

LIVES, AFTER = 8, 25
"""Fates of the first part, each with its samples; and of what follows each."""
ON_ALARM, NO_SAMPLES = "on alarm only", "this tool, no samples"


@dataclass(frozen=True, eq=False)
class Believed:
    """What an owner believes and what follows from it alone, whatever becomes of the part: the case
    with samples and that of a `known` curve, the rule of each for new parts, and for rules without
    samples when the first part is replaced and the rule for new ones."""

    owner: Owner
    shared: Shared
    case: Case
    known: Case
    case_new: NewRule
    known_new: NewRule
    unsampled: dict[str, tuple[float, NewRule]]


def believed(number: int, misfit: Misfit, parts: int) -> Believed:
    """The same for worlds that differ in what becomes of the engine only, so it is kept."""
    return _believed(number, Misfit("", misfit.other, misfit.reporting, misfit.told), parts)


@lru_cache(maxsize=4)
def _believed(number: int, misfit: Misfit, parts: int) -> Believed:
    owner = draw_owner(number)
    data = club(stream(number, 1), parts, owner.shape, owner.scale, misfit.other, misfit.reporting)
    shared, interval, infinite = Shared(), owner.interval, float("inf")
    told, known = (case_of(owner, each, True, misfit.told) for each in (data, None))
    without = case_of(owner, data, told=misfit.told)
    age, nothing = long_run_age(without, shared), AtAge(infinite, interval)
    unsampled: dict[str, tuple[float, NewRule]] = {
        NO_SAMPLES: (followed(without, owner, shared), new_rule(without, shared)),
        ONCE: (0.0, nothing),
        LONG_RUN: (first_service_at(owner, age), AtAge(age, interval)),
        NEVER: (infinite, nothing),
    }
    for each in ROUND:
        rule = first_service_at(owner, each), AtAge(each, interval)
        unsampled[round_name(each)] = rule
    rules = new_rule(told, shared), new_rule(known, shared)
    return Believed(owner, shared, told, known, *rules, unsampled)


def sampled(number: int, misfit: Misfit, parts: int) -> tuple[float, Row]:
    """As `plain`, the last figure the share of lives in which the first part is replaced. The tool,
    the curve known and on alarm only sample; the others neither sample nor pay for it."""
    own = believed(number, misfit, parts)
    owner, shared = own.owner, own.shared
    luck = Luck(owner, misfit, LIVES, AFTER)
    oil = Oil(owner, luck)
    nothing, rings = AtAge(float("inf"), owner.interval), oil.of_new_parts

    def asked(case: Case) -> Ended:
        return sampled_first_part(oil, asking(case, owner, oil, shared))

    on_alarm = sampled_first_part(oil, fixed(float("inf")))
    ends: dict[str, tuple[Ended, NewRule, Alarms | None]] = {
        TOOL: (asked(own.case), own.case_new, rings),
        KNOWN: (asked(own.known), own.known_new, rings),
        ON_ALARM: (on_alarm, nothing, rings),
    }
    for name, (at, new) in own.unsampled.items():
        ends[name] = first_part(luck, at), new, None
    rows: Row = {}
    for name, (end, new, alarms) in ends.items():
        found = total(luck, end, new, alarms)
        rows[name] = [found.cost, found.lost, found.fitted, float(np.mean(end.replaced))]
    changes = float(services_paid(owner, np.array([owner.keep]))[0])
    return changes, rows
