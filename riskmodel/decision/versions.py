"""Two versions of a case side by side: which inputs differ, and what that does to the answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from riskmodel.decision.results import (
    Chance,
    Inspection,
    Interval,
    PlanResult,
    Retest,
    Weighing,
)
from riskmodel.records.case import Case
from riskmodel.records.inputs import INPUTS, Input
from riskmodel.records.tables import FleetSamples, LifeRecords, OilSamples

ALIKE = 0.05
"""Widths of intervals that differ by less than this share are called alike (judgement)."""

_TABLES = {"life.records": "records", "oil.samples": "samples", "oil.fleet": "fleet"}
_PRINTED = ("machine.name", "machine.invented", "cost.currency", "machine.unit")


@dataclass(frozen=True, slots=True)
class Difference:
    """An input that differs, by its `key`: the values in both versions. Of a table they are its
    rows (parts, of life records), of a list of tables its entries."""

    key: str
    before: object
    after: object


@dataclass(frozen=True, slots=True)
class Pair:
    """The same figure of both versions."""

    before: Interval
    after: Interval

    @property
    def change(self) -> float:
        """By how much the second is higher."""
        return self.after.value - self.before.value

    @property
    def widths(self) -> tuple[float, float]:
        """From end to end of each interval."""
        return self.before.high - self.before.low, self.after.high - self.after.low

    @property
    def narrower(self) -> bool:
        """Whether the second interval is clearly narrower."""
        first, second = self.widths
        return second < (1 - ALIKE) * first

    @property
    def wider(self) -> bool:
        """Whether the second interval is clearly wider."""
        first, second = self.widths
        return first < (1 - ALIKE) * second


@dataclass(frozen=True, slots=True)
class ChancePair:
    """The chance of failure over the same stretch of both versions; `ahead` is its usage in
    each."""

    what: str
    ahead: tuple[float, float]
    chance: Pair


@dataclass(frozen=True, slots=True)
class Versions:
    """Two answers side by side, `a` first.

    `entered` are both cases as they were entered, and `inputs` what differs in them. Where either
    has symptoms there are no figures to compare: `chances` are empty and the pairs None. `cost` and
    `failure` are those of the plan that each verdict names, or of what it names to find out first;
    `now` is the cost of the first plan that can be had. `same_plan` tells that both name the same.
    `held` is how much more than its own verdict the second version costs by what the first one
    names (None: it has no such plan).
    """

    a: Weighing
    b: Weighing
    entered: tuple[Case, Case]
    inputs: tuple[Difference, ...]
    chances: tuple[ChancePair, ...]
    cost: Pair | None
    now: Pair | None
    failure: Pair | None
    same_plan: bool
    held: float | None

    @property
    def same(self) -> bool:
        """Whether nothing differs."""
        return not self.inputs


def compared(a: Weighing, b: Weighing, entered: tuple[Case, Case] | None = None) -> Versions:
    """Two answers side by side; `entered` are their cases as they were entered, where walking away
    from a failure changed those weighed.

    Raises ValueError where their units differ: no figure of the one can then be held against one
    of the other.
    """
    cases = entered or (a.case, b.case)
    units = cases[0].machine.unit, cases[1].machine.unit
    if units[0] != units[1]:
        raise ValueError(f"versions in {units[0]} and {units[1]} can't be compared")
    inputs = differing(*cases)
    if a.chosen is None or b.chosen is None:
        same = a.chosen == b.chosen
        return Versions(a, b, cases, inputs, (), None, None, None, same, None)
    ours, theirs = _verdict(a, a.chosen), _verdict(b, b.chosen)
    held = _held_to(a, b)
    return Versions(
        a=a,
        b=b,
        entered=cases,
        inputs=inputs,
        chances=tuple(_chances(a.risk, b.risk)),
        cost=Pair(ours.cost, theirs.cost),
        now=Pair(*(w.plans[w.open_plans[0]].cost for w in (a, b))),
        failure=Pair(ours.failure, theirs.failure),
        same_plan=held is not None and held is theirs,
        held=None if held is None else held.cost.value - theirs.cost.value,
    )


def differing(a: Case, b: Case) -> tuple[Difference, ...]:
    """The inputs whose values differ, whether stated or not, in the order of the table of inputs;
    what is only printed counts as none, and so does the name of a table."""
    return tuple(_differing(a, b))


def _differing(a: Case, b: Case) -> Iterator[Difference]:
    for entry in INPUTS:
        if entry.key in _PRINTED or "." in entry.section:  # an entry of a list is told with it
            continue
        table = _TABLES.get(entry.key)
        before, after = (_held(case, entry, table) for case in (a, b))
        if before != after:
            if table is not None:
                before, after = rows_in(before), rows_in(after)
            yield Difference(entry.key, before, after)


def _held(case: Case, entry: Input, table: str | None) -> Any:
    if table is not None:
        return getattr(case, table)
    return getattr(getattr(case, entry.section), entry.name)


def rows_in(table: LifeRecords | OilSamples | FleetSamples | None) -> int:
    """Parts in life records, rows in other tables; 0 without one."""
    if table is None:
        return 0
    return int(table.count.sum()) if isinstance(table, LifeRecords) else len(table)


Costed = PlanResult | Retest | Inspection
"""A plan, or what to find out first."""


def _step(w: Weighing, name: str | None) -> Retest | Inspection | None:
    """A second sample or a look first, where it was weighed."""
    if name == "retest":
        return w.retest
    look = name == "inspection" and w.information is not None
    return w.information.inspection if look and w.information is not None else None


def _verdict(w: Weighing, chosen: int) -> Costed:
    return _step(w, w.first_step) or w.all_plans[chosen]


def _held_to(a: Weighing, b: Weighing) -> Costed | None:
    """What the verdict of `a` names, among the plans of `b`; None where `b` does not have it."""
    assert a.chosen is not None
    if a.first_step is not None:
        return _step(b, a.first_step)
    if a.sells:
        return b.all_plans[-1] if len(b.all_plans) > len(b.plans) else None
    had = [b.plans[i] for i in b.open_plans]
    return next((each for each in had if _alike(a.all_plans[a.chosen], each)), None)


def _alike(one: PlanResult, other: PlanResult) -> bool:
    """Whether two plans replace on the same occasion: the same oil change, the same other date
    or time, or both never."""
    if (one.at is None) or (other.at is None):
        return one.at is other.at
    if one.occasion is not None or other.occasion is not None:
        return (
            one.occasion is not None and other.occasion is not None and _name(one) == _name(other)
        )
    return one.service == other.service


def _name(plan: PlanResult) -> tuple[str, str | None, float | None]:
    assert plan.occasion is not None
    return plan.occasion.kind, plan.occasion.date, plan.occasion.reading


def _chances(a: tuple[Chance, ...], b: tuple[Chance, ...]) -> Iterator[ChancePair]:
    others = {each.what: each for each in b}
    for each in a:
        if each.what in others:
            other = others[each.what]
            pair = Pair(each.chance, other.chance)
            yield ChancePair(each.what, (each.ahead, other.ahead), pair)
