"""The tables a case brings along: life records, oil samples, and those of other engines."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Outcome = Literal["failed", "running", "removed", "removed_worn", "removed_unworn"]
Cause = Literal["wear", "other", "unknown"]
Why = Literal["scheduled", "suspected"]

OUTCOMES: tuple[Outcome, ...] = ("failed", "running", "removed", "removed_worn", "removed_unworn")
CAUSES: tuple[Cause, ...] = ("wear", "other", "unknown")
WHYS: tuple[Why, ...] = ("scheduled", "suspected")


@dataclass(frozen=True, eq=False)
class LifeRecords:
    """What became of other people's parts; every column has one entry per row.

    Ages are usage since the part was new, in the case's unit. `age_from` is NaN unless a
    failure is known only to lie between two ages; `entered_at` is 0 where the part was
    watched from new. `covariates` are numbers or words, by column name. `lines` are the
    lines of the file, for messages.
    """

    age: Floats
    outcome: tuple[Outcome, ...]
    age_from: Floats
    entered_at: Floats
    count: Floats
    cause: tuple[Cause, ...]
    why: tuple[Why, ...]
    covariates: dict[str, tuple[float | str, ...]] = field(default_factory=dict)
    lines: tuple[int, ...] = ()
    columns: tuple[str, ...] = ("age", "outcome")
    """The columns that were entered, in their order (what is written back)."""

    def __len__(self) -> int:
        return len(self.age)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, LifeRecords):
            return NotImplemented
        return (
            all(
                np.array_equal(getattr(self, name), getattr(other, name), equal_nan=True)
                for name in ("age", "age_from", "entered_at", "count")
            )
            and (self.outcome, self.cause, self.why) == (other.outcome, other.cause, other.why)
            and self.covariates == other.covariates
            and self.columns == other.columns
        )

    __hash__ = None  # type: ignore[assignment]


@dataclass(frozen=True, slots=True, order=True)
class Reading:
    """A concentration as the laboratory printed it: a number, or "less than" one [ppm]."""

    value: float
    below: bool = False

    def __str__(self) -> str:
        return f"<{self.value:g}" if self.below else f"{self.value:g}"


@dataclass(frozen=True, slots=True)
class OilSample:
    """One used-oil sample. `reading` is the meter, or `age` the part's usage: one is given.

    `oil_age` is the usage on that oil, `top_up` the litres added since the last drain.
    An element that was not measured is missing from `elements`.
    """

    reading: float | None
    age: float | None
    oil_age: float
    date: str | None
    top_up: float
    lab: str
    elements: dict[str, Reading]
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class OilSamples:
    """Samples in the order they were entered, with the columns of their file."""

    rows: tuple[OilSample, ...]
    columns: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.rows)


@dataclass(frozen=True, slots=True)
class FleetSamples:
    """Samples of other engines in the order they were entered, with the columns of their file.

    `engine` names the engine of each of the `rows`.
    """

    rows: tuple[OilSample, ...]
    engine: tuple[str, ...]
    columns: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.rows)

    def by_engine(self) -> dict[str, tuple[OilSample, ...]]:
        """The samples of each engine in their order, engines as they first come."""
        found: dict[str, list[OilSample]] = {}
        for name, row in zip(self.engine, self.rows, strict=True):
            found.setdefault(name, []).append(row)
        return {name: tuple(rows) for name, rows in found.items()}
