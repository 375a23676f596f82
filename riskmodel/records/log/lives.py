"""Parts that came out, or are still in, as life records for the next decision.

A replaced part becomes a record once its job is in the log: failed, removed_worn,
removed_unworn or (nobody looked) removed, by the worst look over its shells; a part in service
is a `running` record for the other machines of its group. No record has a name.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from riskmodel.records.life_table import MOST_LEVELS, read_records, write_records
from riskmodel.records.log.entries import Group
from riskmodel.records.log.state import LogState, MachineState, PartState, group_of
from riskmodel.records.tables import Cause, LifeRecords, Outcome, Why

_OUTCOMES: Mapping[str, Outcome] = {
    "failed": "failed",
    "worn": "removed_worn",
    "unworn": "removed_unworn",
    "not_seen": "removed",
}
UNKNOWN = "unknown"
"""The word of a covariate column of words where a machine does not state it."""


@dataclass(frozen=True, slots=True)
class Life:
    """What became of one part; ages are usage since it was new. `age_from` is None unless a
    failure is known only to lie between two ages."""

    age: float
    outcome: Outcome
    entered_at: float
    age_from: float | None
    cause: Cause
    why: Why
    traits: Mapping[str, float | str]


def life_of(machine: MachineState, part: PartState) -> Life | None:
    """The record of one part; None where it was not watched for any usage.

    It is entered when its watch began. Where life records that were brought along have a line
    of it already, it is entered at the age it had then: what came before is counted by that
    line, and the two together say what one would.
    """
    entered = max(part.entered_at, part.counted_to)
    if part.ended is None:
        age = machine.reading - part.fitted_at
        if age <= entered:
            return None
        return Life(age, "running", entered, None, "wear", "scheduled", part.traits)
    job = part.ended.job.what
    age = job.reading - part.fitted_at
    if age <= entered:
        return None
    outcome: Outcome = "failed" if job.failed else _OUTCOMES[part.ended.worst]
    failed = outcome == "failed"
    age_from = None
    if failed and job.whole_at is not None:
        age_from = max(job.whole_at - part.fitted_at, entered)
    return Life(
        age=age,
        outcome=outcome,
        entered_at=entered,
        age_from=age_from,
        cause=job.cause if failed else "wear",
        why="scheduled" if failed else job.why,
        traits=part.traits,
    )


def lives_of(state: LogState, group: Group, but: str | None = None) -> Iterator[Life]:
    """The records of a group's parts: all that came out, and those in service.

    `but` is the id of the machine that is to be weighed: its own part in service is not among
    them, for the case itself counts it.
    """
    for machine in state.machines.values():
        for part in machine.parts:
            if group_of(machine, part) != group or (part.ended is None and machine.id == but):
                continue
            if (life := life_of(machine, part)) is not None:
                yield life


def own_lives(machine: MachineState) -> Iterator[Life]:
    """The records of a machine's own earlier parts where they belong to no group."""
    for part in machine.parts:
        alone = part.ended is not None and group_of(machine, part) is None
        if alone and (life := life_of(machine, part)) is not None:
            yield life


def with_lives(
    table: LifeRecords | None, lives: Iterable[Life], traits: Mapping[str, float | str]
) -> tuple[LifeRecords | None, int]:
    """A table of life records with further lives below it, and how many had to be left out.

    The covariate columns are those of the table; without one, those of the machine to be weighed
    (`traits`) that some life shares. A life that does not state one counts as "unknown" among
    words; among numbers nothing can stand for it, so it is left out. Returns (None, left out)
    without any row.
    """
    lives = list(lives)
    columns = _columns(table, lives, traits)
    rows: list[tuple[Life, dict[str, float | str]]] = []
    left_out = 0
    for life in lives:
        values = {name: column.value(life.traits) for name, column in columns.items()}
        known = {name: value for name, value in values.items() if value is not None}
        if len(known) < len(values):
            left_out += 1
            continue
        for name, value in known.items():
            columns[name].take(value)
        rows.append((life, known))
    if not rows:
        return table, left_out
    lives_in = [life for life, _ in rows]
    added = LifeRecords(
        age=np.array([life.age for life in lives_in]),
        outcome=tuple(life.outcome for life in lives_in),
        age_from=np.array(
            [math.nan if life.age_from is None else life.age_from for life in lives_in]
        ),
        entered_at=np.array([life.entered_at for life in lives_in]),
        count=np.ones(len(rows)),
        cause=tuple(life.cause for life in lives_in),
        why=tuple(life.why for life in lives_in),
        covariates={name: tuple(known[name] for _, known in rows) for name in columns},
        columns=("age", "outcome", *columns),
    )
    return (added if table is None else _joined(table, added)), left_out


def _joined(one: LifeRecords, two: LifeRecords) -> LifeRecords:
    return LifeRecords(
        age=np.concatenate([one.age, two.age]),
        outcome=(*one.outcome, *two.outcome),
        age_from=np.concatenate([one.age_from, two.age_from]),
        entered_at=np.concatenate([one.entered_at, two.entered_at]),
        count=np.concatenate([one.count, two.count]),
        cause=(*one.cause, *two.cause),
        why=(*one.why, *two.why),
        covariates={name: (*v, *two.covariates[name]) for name, v in one.covariates.items()},
        columns=one.columns,
    )


class _Covariate:
    """What a covariate column may take in."""

    def __init__(self, name: str, values: Sequence[float | str]) -> None:
        self.name = name
        self.words = isinstance(values[0], str)
        self.levels = {str(value).lower(): str(value) for value in values} if self.words else {}

    def value(self, traits: Mapping[str, float | str]) -> float | str | None:
        """What stands in the column for a part with these traits; None where nothing can."""
        stated = traits.get(self.name)
        if not self.words:
            return stated if isinstance(stated, int | float) else None
        word = stated if isinstance(stated, str) else UNKNOWN
        if word.lower() not in self.levels and len(self.levels) >= MOST_LEVELS:
            return None
        return self.levels.get(word.lower(), word)  # one spelling for one word

    def take(self, value: float | str) -> None:
        if isinstance(value, str):
            self.levels.setdefault(value.lower(), value)


def _columns(
    table: LifeRecords | None, lives: Sequence[Life], traits: Mapping[str, float | str]
) -> dict[str, _Covariate]:
    if table is not None:
        return {name: _Covariate(name, values) for name, values in table.covariates.items()}
    return {
        name: _Covariate(name, [value])
        for name, value in traits.items()
        if any(_shares(life.traits.get(name), value) for life in lives)
    }


def _shares(one: float | str | None, other: float | str) -> bool:
    """Whether two parts have a trait in common: the same word, or any number at all."""
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return one is not None


def records_csv(state: LogState, group: Group) -> bytes | None:
    """The life records of a group as a CSV file: its shared table, and every part that the log
    knows. Without names; None where there is no row."""
    held = state.records.get(group)
    table = None
    if held is not None and held.what.csv is not None:
        table = read_records(held.what.csv.encode("utf-8"))
    records, _ = with_lives(table, lives_of(state, group), {})
    return None if records is None else write_records(records)
