"""Rows that are equal in every column, more often than rounding makes them so by chance.

Of parts alike in all other columns, ages a few steps apart are as common as equal ages, if
ages vary smoothly and are rounded to a step. So among the pairs at most K steps apart a
share 1 / (2 K + 1) would be equal by chance; more than that are the same part told twice.
People round to different steps, so only ages that stand on the same step are compared.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.check_remark import Remark, at_start, counted, lines_of, named
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

STEPS = (1.0, 5.0, 10.0, 50.0, 100.0, 500.0, 1e3, 5e3, 1e4, 5e4, 1e5)
"""Steps that people round to."""

FRACTION = 0.01
"""The step of figures that are no whole numbers."""

REACH = 0.25
"""Ages that differ by up to this share count as near (judgement)."""

CHANCE = 0.005
"""Equal rows likelier than this by chance are not told (judgement)."""

MANY = 2.0
"""How many times the pairs expected there must be: that ages vary smoothly is only roughly
true, and in a long list a small excess proves nothing (judgement)."""

MORE_PAIRS = 0.5
"""Added to the pairs found nearby, so that few of them cannot make chance look impossible."""


def duplicates(records: LifeRecords) -> list[Remark]:
    """One remark on the rows that are probably the same part."""
    equal = _equal_rows(records)
    if not equal:
        return []
    told: list[int] = []
    for column in (records.age, records.entered_at):
        told += _beyond_chance(records, equal, column)
    if not told:
        return []
    lines = lines_of(records, sorted(set(told)))
    left = sum(len(group) for group in equal) - len(lines)
    also = (
        f"; {counted(left, 'more row')} equal another, on figures so round that chance may do it"
        if left
        else ""
    )
    return [
        Remark(
            "duplicates",
            f"{at_start(named(records, lines))} are equal to another row in every column, more "
            "often than chance explains: a club list often holds the same engine twice, and each "
            f"should stand there once (several equal parts go into one row, with count){also}.",
            lines,
        )
    ]


def _keys(records: LifeRecords, without: Floats | None) -> list[tuple[object, ...]]:
    """What tells rows apart, one column left out."""
    columns: list[Sequence[object]] = [records.outcome, records.cause, records.why]
    for numbers in (records.age, records.entered_at, records.count):
        if numbers is not without:
            columns.append(numbers.tolist())
    columns.append(np.nan_to_num(records.age_from, nan=-1.0).tolist())
    columns += [records.covariates[name] for name in records.covariates]
    return list(zip(*columns, strict=True))


def _groups(keys: list[tuple[object, ...]]) -> list[list[int]]:
    """Rows of the same key, where there are two or more."""
    by_key: dict[tuple[object, ...], list[int]] = {}
    for row, key in enumerate(keys):
        by_key.setdefault(key, []).append(row)
    return [rows for rows in by_key.values() if len(rows) > 1]


def _equal_rows(records: LifeRecords) -> list[list[int]]:
    return _groups(_keys(records, None))


def _step(values: Floats) -> Floats:
    """The coarsest step that each value stands on; 0 for a fraction."""
    found = np.zeros(len(values))
    for step in STEPS:
        found[values % step == 0] = step
    return found


def _beyond_chance(records: LifeRecords, equal: list[list[int]], column: Floats) -> list[int]:
    """Rows equal in all columns at a step of `column` where that is beyond chance."""
    steps = _step(column)
    steps[column == 0] = -1.0  # not stated: no figure that could differ
    pairs = dict.fromkeys(np.unique(steps[steps >= 0]), 0.0)
    near, share = dict(pairs), dict(pairs)
    for rows in _groups(_keys(records, column)):
        for step in np.unique(steps[rows]):
            if step < 0:
                continue
            some = column[rows][steps[rows] == step]
            same, close, cells = _count_pairs(some, float(step) or FRACTION)
            pairs[step] += same
            near[step] += close
            share[step] += cells
    told: list[int] = []
    for step, same in pairs.items():
        if not same:
            continue
        cells = share[step] / same
        many = same * (cells - 1) > MANY * (near[step] + MORE_PAIRS)
        if many and _chance(same, near[step], cells) < CHANCE / len(pairs):
            told += [row for group in equal for row in group if steps[row] == step]
    return told


def _count_pairs(values: Floats, step: float) -> tuple[float, float, float]:
    """Of one column, at figures of one step: rows equal to an earlier one, unequal pairs
    within REACH, and the figures possible within REACH, summed over the equal rows."""
    distinct, counts = np.unique(values, return_counts=True)
    same = (counts - 1).astype(float)  # rows too many: pairs would count three equal rows thrice
    ends = np.searchsorted(distinct, distinct * (1 + REACH), side="right")
    total = np.concatenate(([0], np.cumsum(counts)))
    close = counts * (total[ends] - total[1:])
    cells = 2 * _figures(distinct, step) + 1
    return float(same.sum()), float(close.sum()), float(same @ cells)


def _figures(start: Floats, step: float) -> Floats:
    """How many figures of just this step lie within REACH above each of `start`."""

    def multiples(of: float) -> Floats:
        return np.asarray(np.floor(start * (1 + REACH) / of) - np.floor(start / of))

    coarser = next((other for other in STEPS if other > step), None)
    return multiples(step) - (0.0 if coarser is None else multiples(coarser))


def _chance(same: float, near: float, cells: float) -> float:
    """P(at least `same` of the pairs within reach are equal), each with chance 1 / cells."""
    from scipy.special import betainc

    return float(betainc(same, near + MORE_PAIRS, 1 / cells)) if cells > 1 else 1.0
