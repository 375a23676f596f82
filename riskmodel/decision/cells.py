"""Failure in small cells of usage, each shared out to its two ends."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.timing import Timing

Floats = NDArray[np.float64]


def cells(start: Floats, middle: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Failure probability in each cell, shared out to the cell's two edges.

    From survival at the start, middle and end of the cells (any one shape) to the weights
    with which a quantity that is linear within a cell is to be taken at its start and end.
    """
    mass = start - end
    late = np.clip((start + 4 * middle + end) / 6 - end, 0.0, mass)
    return mass - late, late


def cells_per_interval(timing: Timing) -> int:
    """Cells of the recursion in one oil interval: enough that J is nearly linear in each."""
    return int(np.clip(np.ceil(48 * timing.interval / timing.keep), 1, 8))
