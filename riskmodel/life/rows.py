"""Life records as the numbers a likelihood needs, checked for what no likelihood can carry."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.records.errors import CannotAnswer
from riskmodel.records.tables import LifeRecords, Outcome

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Unknown = Literal["wear", "other"]

EXACT, BETWEEN, ALIVE, WORN, UNWORN = range(5)
"""Failed at an age; failed between two; in service at an age; removed, the look known."""

_KIND = {
    "failed": EXACT,
    "running": ALIVE,
    "removed": ALIVE,
    "removed_worn": WORN,
    "removed_unworn": UNWORN,
}


@dataclass(frozen=True)
class Rows:
    """One entry per record that tells something; all arrays of one length.

    `since` is the age up to which a part that failed BETWEEN two ages is known to have
    lived (its entry, if later), 0 for the others. `weight` is the count, times the reporting
    ratio for those that did not fail. `stands` is how many parts one record of the row stands
    for: that ratio, or 1 (None: 1 for all).
    """

    kind: NDArray[np.int8]
    age: Floats
    since: Floats
    entry: Floats
    weight: Floats
    stands: Floats | None = None

    def where(self, kind: int) -> Bools:
        return np.asarray(self.kind == kind)

    def keep(self, some: Bools | Ints) -> Rows:
        return Rows(
            self.kind[some],
            self.age[some],
            self.since[some],
            self.entry[some],
            self.weight[some],
            None if self.stands is None else self.stands[some],
        )

    def weighed(self, times: float) -> Rows:
        """The same with every weight multiplied, each row then standing for itself."""
        return replace(self, weight=times * self.weight, stands=None)

    def without_looks(self) -> Rows:
        """The same, with the looks of removed parts forgotten."""
        looked = (self.kind == WORN) | (self.kind == UNWORN)
        return replace(self, kind=np.where(looked, np.int8(ALIVE), self.kind))

    def merged(self) -> Rows:
        """The same with equal rows counted together, in order of age."""
        order = np.lexsort((self.entry, self.since, self.kind, self.age))
        rows = self.keep(order)
        new = np.ones(len(order), dtype=bool)
        new[1:] = rows.kind[1:] != rows.kind[:-1]
        for column in (rows.age, rows.since, rows.entry):
            new[1:] |= column[1:] != column[:-1]
        starts = np.flatnonzero(new)
        if len(starts) == len(order):
            return rows
        weight = np.add.reduceat(rows.weight, starts)
        merged = replace(rows.keep(new), weight=weight)
        if rows.stands is None:
            return merged
        # a failure of another cause may meet a survivor: alike in all but what they stand for
        stands = np.add.reduceat(rows.weight * rows.stands, starts) / np.maximum(weight, 1e-300)
        return replace(merged, stands=stands)

    def rounded(self, figures: int) -> Rows:
        """The same with every age to so many significant figures, equal rows together.

        An age that would reach another of its row stays apart from it by being left as it is.
        """
        since, age, entry = (_rounded(x, figures) for x in (self.since, self.age, self.entry))
        crossed = (entry >= age) | (since >= age) | ((since > 0) & (since < entry))
        return Rows(
            self.kind,
            np.where(crossed, self.age, age),
            np.where(crossed, self.since, since),
            np.where(crossed, self.entry, entry),
            self.weight,
            self.stands,
        ).merged()

    def from_threshold(self, threshold: float) -> Rows:
        """The same, with ages counted from `threshold`, before which nothing can fail."""
        rows = self.keep(self.age > threshold)
        return Rows(
            rows.kind,
            rows.age - threshold,
            np.maximum(rows.since - threshold, 0.0),
            np.maximum(rows.entry - threshold, 0.0),
            rows.weight,
            rows.stands,
        )


def _rounded(values: Floats, figures: int) -> Floats:
    with np.errstate(divide="ignore"):
        step = 10.0 ** (np.floor(np.log10(values)) - figures + 1)
    return np.asarray(
        np.where(values > 0, np.round(values / np.where(values > 0, step, 1)) * step, 0.0)
    )


def rows_of(
    records: LifeRecords, reporting_ratio: float = 1.0, unknown_as: Unknown = "wear"
) -> Rows:
    """Records as rows.

    A failure whose cause is "other" (or "unknown", where `unknown_as` says so) tells only
    that wear had not struck by then; known to lie between two ages, it is taken at the
    middle. Raises CannotAnswer, naming the lines, for a failure at age 0 and for numbers
    that cannot be (the reader of files refuses those earlier and more fully).
    """
    n = len(records)
    kind = np.fromiter(map(_KIND.__getitem__, records.outcome), dtype=np.int8, count=n)
    age, entry, weight = (
        np.asarray(column, dtype=float)
        for column in (records.age, records.entered_at, records.count)
    )
    since = np.asarray(records.age_from, dtype=float)
    failed = kind == EXACT
    between = failed & ~np.isnan(since)
    since = np.where(between, np.maximum(since, entry), 0.0)
    kind = np.where(between, np.int8(BETWEEN), kind)
    spared = {"other"} if unknown_as == "wear" else {"other", "unknown"}
    survived = (kind == ALIVE) | (kind == UNWORN)
    if not spared.isdisjoint(records.cause):
        other = failed & np.fromiter((c in spared for c in records.cause), dtype=bool, count=n)
        age = np.where(other & between, (age + since) / 2, age)
        since = np.where(other, 0.0, since)
        kind = np.where(other, np.int8(ALIVE), kind)
    stands = None
    if reporting_ratio != 1:
        weight = np.where(survived, weight * reporting_ratio, weight)
        stands = np.where(survived, reporting_ratio, 1.0)
    rows = Rows(kind, age, since, entry, weight, stands)
    _refuse(records, rows)
    return rows if weight.all() else rows.keep(weight > 0)


def _refuse(records: LifeRecords, rows: Rows) -> None:
    """Raise CannotAnswer with every fault of every row."""
    age, entry, weight = rows.age, rows.entry, rows.weight
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    faults = (
        (~(np.isfinite(age) & (age >= 0)), "an age must be a number of at least 0"),
        (~((entry >= 0) & (entry <= age)), "a part must enter between age 0 and its age"),
        (~(np.isfinite(weight) & (weight >= 0)), "a count must be a number of at least 0"),
        (
            exact & (age == 0),
            "a failure at age 0 fits no Weibull curve; enter the first age at which it had "
            "failed as age, with age_from 0",
        ),
        (
            between & ~(rows.since < age),
            "a failure must come after age_from and after entered_at",
        ),
    )
    told = [f"{name_rows(records, bad)}: {text}" for bad, text in faults if bad.any()]
    if told:
        raise CannotAnswer("; ".join(told))


def without_look(outcome: Outcome) -> Outcome:
    """The outcome of a removed part whose look is forgotten."""
    return "removed" if outcome.startswith("removed_") else outcome


def name_rows(records: LifeRecords, some: Bools) -> str:
    """The lines of the file (else the rows, counted from 1) that `some` points at."""
    where = np.flatnonzero(some)
    word = "line" if records.lines else "row"
    first = [records.lines[i] if records.lines else int(i) + 1 for i in where[:5]]
    more = f" and {len(where) - 5} more" if len(where) > 5 else ""
    return f"{word}{'s' if len(where) > 1 else ''} {', '.join(map(str, first))}{more}"
