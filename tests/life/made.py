"""Records for tests, made of plain columns."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.records.tables import LifeRecords

REFERENCE = Path(__file__).parent.parent / "reference"

REFERENCES = (
    "nist_weibull",
    "ball_bearings",
    "shock_absorber",
    "bearing_cage",
    "locomotive_controls",
)


def records(
    age: ArrayLike,
    outcome: str | Sequence[str] = "failed",
    *,
    age_from: ArrayLike = np.nan,
    entered_at: ArrayLike = 0.0,
    count: ArrayLike = 1.0,
    cause: str | Sequence[str] = "wear",
    why: str | Sequence[str] = "scheduled",
) -> LifeRecords:
    """Columns as life records; a single value stands for every row."""
    ages = np.atleast_1d(np.asarray(age, dtype=float))
    n = len(ages)

    def numbers(column: ArrayLike) -> NDArray[np.float64]:
        return np.broadcast_to(np.asarray(column, dtype=float), (n,)).copy()

    def words(column: str | Sequence[str]) -> tuple[Any, ...]:
        return (column,) * n if isinstance(column, str) else tuple(column)

    return LifeRecords(
        age=ages,
        outcome=words(outcome),
        age_from=numbers(age_from),
        entered_at=numbers(entered_at),
        count=numbers(count),
        cause=words(cause),
        why=words(why),
    )


def joined(*parts: LifeRecords) -> LifeRecords:
    """The rows of several, one after the other."""
    names = ("age", "age_from", "entered_at", "count")
    columns: dict[str, Any] = {n: np.concatenate([getattr(p, n) for p in parts]) for n in names}
    for name in ("outcome", "cause", "why"):
        columns[name] = sum((getattr(p, name) for p in parts), ())
    return LifeRecords(**columns)


def reference(name: str) -> LifeRecords:
    """One of the data sets with published results."""
    with (REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return records(
        [float(row["age"]) for row in rows],
        [row["outcome"] for row in rows],
        count=[float(row["count"]) for row in rows],
    )


def observed(
    rng: np.random.Generator,
    n: int,
    shape: float,
    scale: float,
    *,
    censor: float = 1.0,
    enter: float = 0.0,
    between: float = 0.0,
) -> LifeRecords:
    """`n` lives as an owner would come to know of them.

    Watching stops at ages spread up to `censor` times twice the scale; a share `enter` of the
    parts is first met later than new (and only if it still runs then); a share `between` of
    the failures is known only to lie between two ages.
    """
    ages, outcomes, froms, entries = [], [], [], []
    while len(ages) < n:
        life = scale * rng.weibull(shape)
        end = censor * scale * rng.uniform(0.05, 2.0)
        entry = scale * rng.uniform(0.0, 1.0) if rng.uniform() < enter else 0.0
        if entry >= min(life, end):
            continue
        entries.append(entry)
        if life > end:
            ages.append(end)
            outcomes.append("running")
            froms.append(np.nan)
        elif rng.uniform() < between:
            width = 0.2 * scale
            low = width * np.floor(life / width)
            ages.append(low + width)
            outcomes.append("failed")
            froms.append(low)
        else:
            ages.append(life)
            outcomes.append("failed")
            froms.append(np.nan)
    return records(ages, outcomes, age_from=froms, entered_at=entries)


HOSTILE: dict[str, LifeRecords] = {
    "no failure": records([10, 20], "running"),
    "one failure alone": records([10]),
    "one failure last": records([10, 20, 30], ["running", "running", "failed"]),
    "all at one age": records([10, 10, 10]),
    "all at one age, one alive": records([10, 10, 10], ["failed", "failed", "running"]),
    "all late": records([50, 60, 70], ["failed", "running", "failed"], entered_at=[40, 45, 48]),
    "all late, no overlap": records([50, 60, 70], entered_at=[45, 55, 65]),
    "current status": records(
        [10, 20, 30], ["failed", "running", "failed"], age_from=[0, np.nan, 0]
    ),
    "one interval": records([20], age_from=[10]),
    "interval from entry": records(
        [20, 30], ["failed", "running"], age_from=[10, np.nan], entered_at=10
    ),
    "other causes only": records([10, 20], cause="other"),
    "unknown causes": records([10, 20, 30], cause="unknown"),
    "looks": records([10, 20, 30, 40], ["removed_worn", "removed_unworn", "failed", "removed"]),
    "failure at age 0": records([0, 20]),
    "tiny ages": records([1e-3, 2e-3, 5e-3]),
    "huge ages and counts": records([1e8, 2e8, 5e8], count=[1e9, 3, 1]),
    "decreasing": records([1, 2, 3, 1000, 1000, 1000], ["failed"] * 3 + ["running"] * 3),
}
"""Records that break curves and fits, by what is odd about them."""
