"""The first part of a simulated owner who samples the oil at every change, under any rule."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from riskmodel.decision.rank_shared import Shared
from riskmodel.records.case import Case
from tests.studies.owners import TURNAROUND, Floats, Owner, at_usage
from tests.studies.owners_life import NEAR, Ended, Ints, ended
from tests.studies.owners_oil import Oil
from tests.studies.owners_verdict import quick_verdicts

Ask = Callable[[float, Ints], Floats]
"""(usage from today, which lives) -> when the part is to be replaced, usage from today (inf: not
before the owner asks again)."""


def fixed(at: float) -> Ask:
    """The rule to replace `at` a usage from today, whatever happens; inf: on alarm only."""
    return lambda since, who: np.full(len(who), at)


def asking(case: Case, owner: Owner, oil: Oil, shared: Shared) -> Ask:
    """The tool's verdict, by its quick form, with all samples whose result is in."""

    def ask(since: float, who: Ints) -> Floats:
        now = at_usage(case, owner, since)
        cases = [replace(now, samples=oil.samples(int(life), since)) for life in who]
        at = np.array(quick_verdicts(cases, shared))
        return np.where(at <= now.oil.next_change_in + NEAR, since + at, np.inf)  # type: ignore[operator]

    return ask


def sampled_first_part(oil: Oil, ask: Ask) -> Ended:
    """The first part, sampled at every oil change until it is replaced or fails.

    The owner asks today, and then whenever a sample's result is in; what the answer says for the
    time up to the next oil change is done, and no sample is then taken at that.
    """
    owner, luck = oil.owner, oil.luck
    money, life, keep = owner.money, luck.first.life, owner.keep
    n = luck.lives
    over, paid = np.minimum(life, keep), np.zeros(n)
    failed = life < keep
    urgent, planned = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    going = np.full(n, True)
    asked, services = 0.0, owner.services.tolist()
    for number in range(len(services) + 1):
        who = np.flatnonzero(going & (life > asked))
        going[:] = False
        if not len(who) or asked >= keep - NEAR:
            break
        due = ask(asked, who)
        after = services[number] if number < len(services) else keep - 2 * NEAR
        job = (due <= after + NEAR) & (life[who] >= due)
        over[who[job]], planned[who[job]] = due[job], True
        if number == len(services):
            break
        held = who[~(due <= after + NEAR)]
        held = held[life[held] > after]
        worth = owner.worth(after)
        paid[held] += (money.oil_change + money.sample) * worth
        paid[held] += money.investigation * oil.alarm[number, held] * worth
        then = after + TURNAROUND
        soon = held[oil.seen[number, held] & (life[held] > then) & (then < keep - NEAR)]
        over[soon], urgent[soon] = then, True
        going[held] = True
        going[soon] = False
        asked = then
    # the oil changes of parts that a planned job ended are all paid above
    replaced = planned | urgent
    return ended(luck, over, failed & ~replaced, replaced, urgent, paid)
