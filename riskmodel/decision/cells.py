"""Failure in small cells of usage, each shared out to its two ends."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.timing import AT_THE_END, Timing

Floats = NDArray[np.float64]


def cells(start: Floats, middle: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Failure probability in each cell, shared out to the cell's two edges.

    From survival at the start, middle and end of the cells (any one shape) to the weights
    with which a quantity that is linear within a cell is to be taken at its start and end.
    """
    mass = start - end
    late = np.clip((start + 4 * middle + end) / 6 - end, 0.0, mass)
    return mass - late, late


FINE, COARSE = 48, 16
"""Cells of the recursion to keep-until, at least: enough that J is nearly linear in each; and
where cases are only compared with one another, if an oil interval then has MANY."""
MANY, MOST = 4, 8
"""In one oil interval."""


def cells_per_interval(timing: Timing) -> int:
    """Cells of the recursion in one oil interval."""
    fine, coarse = (
        int(np.clip(np.ceil(cells * timing.interval / timing.keep), 1, MOST))
        for cells in (FINE, COARSE)
    )
    return min(fine, max(coarse, MANY)) if timing.coarse else fine


def edges_of(
    timing: Timing, step: float, stops: Floats
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Cell edges from now to keep-until, the cells' middles, and which edges end a segment
    (each stop, then keep-until)."""
    marks = np.concatenate([[0.0], timing.services, [timing.keep]])
    edges = [0.0]
    for start, end in pairwise(marks):
        # From a service on, cells of the grid's own step: the usage left falls on its points.
        inner = start + step * np.arange(1, int(np.ceil((end - start) / step - AT_THE_END)))
        edges.extend(inner.tolist())
        edges.append(float(end))
    ends = np.append(stops, timing.keep)
    at = np.union1d(edges, ends)
    at = at[np.concatenate([np.diff(at) > AT_THE_END * timing.keep, [True]])]
    breaks = np.searchsorted(at, ends - AT_THE_END * timing.keep)
    return at, (at[:-1] + at[1:]) / 2, breaks
