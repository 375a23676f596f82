"""How each of many machines stands, and the order in which they want attention."""

from __future__ import annotations

import calendar
import datetime
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.occasions import closed
from riskmodel.decision.rank_quick import waiting
from riskmodel.decision.results import Interval
from riskmodel.decision.timing import AT_THE_END
from riskmodel.records.case import Case
from riskmodel.records.inputs import Unit

Floats = NDArray[np.float64]
Kind = Literal["sale", "inspection", "retest"]

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Instead:
    """What a verdict names instead of a plan that replaces the part: selling the machine, or a look
    or a second sample first; `at` in usage from now, its expected `cost`."""

    kind: Kind
    at: float
    cost: float


@dataclass(frozen=True, slots=True)
class Standing:
    """How one machine stands.

    `name` is what the source calls it, `machine` its own name, `code` its part's. `until` is the
    usage to its next service, `chance` that its part fails before it (with the samples taken;
    `without_oil` without, `oil_factor` the one over the other, None without samples). `waiting` is
    what waiting until then costs: the cheapest plan at it or later (`wait`) less replacing now
    (`now`). `best_at` is the usage from now at which the recommended of the plans that keep the
    machine replaces the part (None: never within keep-until, with `sampled` on an alarm only),
    `best_saves` what it costs less than replacing now.

    `instead` is what the verdict names instead of that plan (None: nothing), `instead_at` the usage
    from now to it, `instead_saves` what it costs less than that plan. `selling` is what selling
    today costs beside the plans (None: not stated). `unweighed` are steps that the quick form
    leaves out and that may be worth it here.

    `most_risk` is the owner's limit on the chance of a failure while the machine is kept (None:
    none), `failure` that chance under the recommended plan, `limit_costs` what that plan costs more
    than the cheapest that can be had.

    `due` is the day of what the verdict names, `book_by` the last on which it can be booked; None
    where never, where the machine is to be sold, or where the case has no date. With `symptoms`
    nothing is weighed: all of these are None. `full` says that it was weighed fully.
    """

    name: str
    machine: str
    code: str
    unit: Unit
    currency: str
    invented: bool
    age: float
    symptoms: tuple[str, ...]
    overdue_days: int
    until: float | None = None
    chance: Interval | None = None
    without_oil: float | None = None
    oil_factor: float | None = None
    waiting: float | None = None
    now: float | None = None
    wait: float | None = None
    best_at: float | None = None
    best_saves: float | None = None
    due: str | None = None
    book_by: str | None = None
    full: bool = False
    sampled: bool = False
    instead: Kind | None = None
    instead_at: float | None = None
    instead_saves: float | None = None
    selling: float | None = None
    unweighed: tuple[Kind, ...] = ()
    most_risk: float | None = None
    failure: float | None = None
    limit_costs: float | None = None

    @property
    def waits(self) -> bool:
        """Whether the next service can come first: waiting for it costs no more than replacing now,
        and the owner's limit on failures does not have the part replaced before it."""
        if self.waiting is not None and self.waiting > 0:
            return False
        limited = self.limit_costs is not None and self.limit_costs > 0 and self.instead is None
        if not limited or self.best_at is None or self.until is None:
            return True
        return self.best_at >= self.until * (1 - AT_THE_END)


@dataclass(frozen=True, slots=True)
class Unread:
    """A machine that could not be weighed, and why, line by line."""

    name: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ranking:
    """All machines, the most urgent first, and those that could not be weighed."""

    standings: tuple[Standing, ...]
    unread: tuple[Unread, ...] = ()

    @property
    def currencies(self) -> tuple[str, ...]:
        """The currencies that amounts are in: more than one cannot be compared."""
        return tuple(dict.fromkeys(each.currency for each in self.standings))


def place_of(standing: Standing) -> tuple[bool, bool, bool, float]:
    """What machines are ordered by: symptoms, an overdue sample, whether the part is to be replaced
    before the next service, what waiting for that costs."""
    cost = -math.inf if standing.waiting is None else -standing.waiting
    return not standing.symptoms, not standing.overdue_days, standing.waits, cost


def to_book(standings: Iterable[Standing], month: str) -> tuple[Standing, ...]:
    """Those of which what the verdict names, a replacement or what to find out first, has to be
    booked by the end of `month` ("2026-12"), the earliest first. Machines with symptoms are not
    among them (they are to stop), nor those to be sold."""
    year, number = (int(part) for part in month.split("-"))
    last = datetime.date(year, number, calendar.monthrange(year, number)[1]).isoformat()
    found = [s for s in standings if s.book_by is not None and s.book_by <= last]
    return tuple(sorted(found, key=lambda s: (s.book_by or "", place_of(s))))


def of_group(standings: Iterable[Standing], code: str) -> tuple[Standing, ...]:
    """Those whose part has this code, in the same order."""
    wanted = code.strip().casefold()
    return tuple(s for s in standings if s.code.strip().casefold() == wanted)


def with_verdict(
    standing: Standing,
    case: Case,
    at: Floats,
    cost: Floats,
    failure: Floats,
    best: int,
    today: datetime.date | None,
    instead: Instead | None = None,
) -> Standing:
    """A standing that has `until`, with its plans: they keep the machine and replace its part `at`
    usages from now (inf: never) at an expected `cost` and with a chance of a `failure`, (plans,);
    `best` is the recommended one and `instead` what the verdict names in its place."""
    assert standing.until is not None
    cost_of_waiting, best_at = waiting(at, cost, standing.until), float(at[best])
    never = math.isinf(best_at)
    due: str | None = None
    book_by: str | None = None
    acts = best_at if instead is None else instead.at
    if math.isfinite(acts) and not (instead is not None and instead.kind == "sale"):
        due, book_by = _days(case, acts, today)
    return replace(
        standing,
        waiting=cost_of_waiting,
        now=float(cost[0]),
        wait=float(cost[0]) + cost_of_waiting,
        best_at=None if never else best_at,
        best_saves=float(cost[0] - cost[best]),
        due=due,
        book_by=book_by,
        sampled=case.sampled,
        instead=None if instead is None else instead.kind,
        instead_at=None if instead is None else instead.at,
        instead_saves=None if instead is None else float(cost[best]) - instead.cost,
        most_risk=case.plan.most_risk,
        failure=float(failure[best]),
        limit_costs=float(cost[best] - cost[closed(case, at) :].min()),
    )


def _days(case: Case, at: float, today: datetime.date | None) -> tuple[str | None, str | None]:
    """The day of a job `at` usage from now, and the last on which it can be booked."""
    if today is None and case.machine.date is None:
        return None, None
    start = today or datetime.date.fromisoformat(case.machine.date or "")
    days = min(at / case.machine.usage_per_year * DAYS_PER_YEAR, 365_000.0)
    due = start + datetime.timedelta(days=round(days))
    book = max(due - datetime.timedelta(weeks=case.plan.booking_weeks), start)
    return due.isoformat(), book.isoformat()
