"""An input at the settings that it may have, and the plans weighed at each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

POINTS: Floats = np.array([-1.6448536269514722, 0.0, 1.6448536269514722])
"""The settings of an input: the ends and the middle of its central 90 %."""

Settings = tuple[float, float, float]
Weighed = tuple[Floats, Floats, Floats]
"""Usage from now, expected cost and chance of a failure of every plan."""


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """An input at its settings `at`, and the plans that keep the machine `weighed` at each; `bare`
    the same without samples to come, where samples are planned and the input bears on them."""

    key: str
    at: Settings
    weighed: Sequence[Weighed]
    bare: Sequence[Weighed] | None = None


def three(values: Sequence[float] | Floats) -> Settings:
    low, middle, high = (float(each) for each in values)
    return low, middle, high


def moved(stands: Weighed, before: Weighed, after: Weighed) -> Weighed:
    """The case as it `stands` with what a change makes of it elsewhere, from `before` to `after`"""
    chance = np.clip(stands[2] + after[2] - before[2], 0.0, 1.0)
    return stands[0], stands[1] + after[1] - before[1], chance
