"""What was said against what was seen: stated chances of failure held against what came.

A decision told chances p that the part fails within usages d: points of a cumulative hazard
-ln(1 - p), with straight lines from 0 through them. A part is followed until it fails, is
replaced, the machine is given up or today or the last d is reached, and only the hazard of the
usage followed is expected, so that failures less what was expected are 0 on average whenever the
following ended (the ratio of observed to expected of cohort studies: Breslow & Day 1987,
Statistical Methods in Cancer Research II, chapter 2). The count is nearly Poisson; its interval is
the exact one: Garwood 1936, Biometrika 28, 437-442.

A replacement ends the following. What was then found is counted on its own: a part that came out
failed, worn or unworn says whether distress was to be seen, against the chance of that where one
was told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

FEWEST = 10.0
"""Under so many expected failures there is too little to judge by (judgement: the interval then
spans more than a factor of 3)."""
LEVEL = 0.90
SURE = 1 - 1e-9
"""A chance told as certain is taken as this: its hazard is not infinite."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with its exact 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class SaidAndSeen:
    """`decisions` of which a chance was told, `followed` of them for any usage. `expected` failures
    and `seen`, with the interval of the mean that may lie behind that count; `ratio` is seen over
    expected (None where nothing was expected)."""

    decisions: int
    followed: int
    expected: float
    seen: Interval
    ratio: Interval | None

    @property
    def few(self) -> bool:
        """Whether this is too little to judge by."""
        return self.expected < FEWEST

    @property
    def differs(self) -> bool:
        """Whether what was seen speaks against what was said."""
        return self.ratio is not None and not (self.ratio.low <= 1 <= self.ratio.high)


@dataclass(frozen=True, slots=True)
class Found:
    """What parts looked like that came out in time: counts, and how many were `expected` to show
    distress, over those of which a chance of that was told (`told`; of them `told_worn` did)."""

    worn: int
    unworn: int
    not_seen: int
    told: int
    told_worn: int
    expected: float


def poisson_interval(count: int, level: float = LEVEL) -> tuple[float, float]:
    """The exact interval of a Poisson mean of which `count` was seen (Garwood 1936)."""
    if count < 0:
        raise ValueError("a count is 0 or more")
    tail = (1 - level) / 2
    low = 0.0 if count == 0 else float(chi2.ppf(tail, 2 * count)) / 2
    return low, float(chi2.isf(tail, 2 * count + 2)) / 2


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """What one decision told: the chance (H,) of a failure within each usage `ahead` (H,), rising
    and above 0."""

    ahead: Floats
    chance: Floats

    def __post_init__(self) -> None:
        if len(self.ahead) == 0 or np.any(np.diff(self.ahead, prepend=0.0) <= 0):
            raise ValueError("usages ahead rise and are above 0")
        if np.any((self.chance < 0) | (self.chance > 1)) or np.any(np.diff(self.chance) < 0):
            raise ValueError("chances lie between 0 and 1 and do not fall")

    def expected(self, followed: float) -> float:
        """The failures expected in the usage `followed`, that up to the last `ahead` counted."""
        hazard = -np.log1p(-np.minimum(self.chance, SURE))
        return float(np.interp(followed, [0.0, *self.ahead], [0.0, *hazard]))


def said_and_seen(told: Sequence[Told], followed: Floats, failed: Bools) -> SaidAndSeen:
    """Of n decisions: what was `told`, the usage that the part was `followed` for (n,), and
    whether it `failed` by wear then (n,). A failure beyond what was told is none of theirs."""
    followed, failed = np.asarray(followed, dtype=float), np.asarray(failed, dtype=bool)
    ends = np.array([each.ahead[-1] for each in told], dtype=float)
    expected = float(sum(e.expected(f) for e, f in zip(told, followed.tolist(), strict=True)))
    count = int(np.sum(failed & (followed <= ends)))
    low, high = poisson_interval(count)
    ratio = None
    if expected > 0:
        ratio = Interval(count / expected, low / expected, high / expected)
    return SaidAndSeen(
        len(told), int(np.sum(followed > 0)), expected, Interval(count, low, high), ratio
    )


def found_when_replaced(worn: Bools, seen: Bools, chance: Floats) -> Found:
    """Of parts that came out before they failed: whether one was looked at (`seen`), whether it was
    then `worn`, and the chance told that it would show distress (NaN: none was told); all (n,)."""
    worn, seen = np.asarray(worn, dtype=bool), np.asarray(seen, dtype=bool)
    chance = np.asarray(chance, dtype=float)
    told = seen & np.isfinite(chance)
    return Found(
        worn=int(np.sum(worn & seen)),
        unworn=int(np.sum(~worn & seen)),
        not_seen=int(np.sum(~seen)),
        told=int(np.sum(told)),
        told_worn=int(np.sum(worn & told)),
        expected=float(chance[told].sum()),
    )
