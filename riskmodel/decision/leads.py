"""Warning leads averaged over, the same for every factor on them that is thought possible."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEADS, LEAD_REACH, LEAD_END = 48, 3.5, 4.0
"""Warning leads averaged over at one factor, and how far they reach in standard deviations of
ln(lead); where several factors share leads, these end so far beyond the outermost factor."""


def shared_leads(middles: Floats, spread: float, many: int = LEADS) -> tuple[Floats, Floats]:
    """How far in ln the leads averaged over lie from the usual one, (L,), and how far each counts
    where its middle is each of `middles` (F,), (F, L): normal about it, with a deviation `spread`;
    `many` of them about each middle.

    What is not known of the leads only weighs the same leads anew, as far as they overlap.
    """
    if spread == 0:
        return middles.copy(), np.eye(len(middles))
    step = 2 * LEAD_REACH / many
    to_middles = (middles - middles[len(middles) // 2]) / spread
    if len(middles) > 1 and np.diff(to_middles).min() > 2 * LEAD_END:  # they share none
        each, own = shared_leads(np.zeros(1), spread, many)
        apart = np.asarray(np.kron(np.eye(len(middles)), own), dtype=float)
        return (middles[:, None] + each).ravel(), apart
    end = LEAD_REACH if len(middles) == 1 else LEAD_END
    side = math.ceil((np.abs(to_middles).max() + end) / step)
    z = step * (np.arange(-side, side) + 0.5)
    away = np.abs(z - to_middles[:, None])
    weight = np.where(away < end, np.exp(-(away**2) / 2), 0.0)
    some = weight.any(axis=0)
    weight = weight[:, some] / weight.sum(axis=1, keepdims=True)
    return middles[len(middles) // 2] + spread * z[some], weight
