"""Scatter that all elements of one sample have in common.

A fill that was driven hard, an oil age noted wrong, oil drawn cold or after a top-up: each moves
all elements of a sample together. Taken as so many separate witnesses, elements that agree would
then say too much. With a share of ln scatter's variance in common, the score that tells distress
best, the elements weighed by how far it lifts them, scatters more widely by a factor; `widened`
gives it. Widening every element's scatter by it leaves that score as telling as it is (an
adjustment of the likelihood under working independence; Chandler & Bate 2007, Biometrika 94,
167-183, from memory). What the contrast between elements could still tell is given up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def widened(scatter: Floats, scale: Floats, log_rise: Floats, shared: float) -> Floats:
    """How many times wider the score of each sample scatters for what its elements share; (n,).

    `scatter` (E,) is ln of the elements' scatter, of whose variance the share `shared` is common;
    `scale` (E, n) their whole scatter in each sample, infinite where an element was not measured;
    `log_rise` (E,) how far distress lifts them.
    """
    pull = np.abs(log_rise)[:, None] / scale
    length = np.sqrt((pull**2).sum(axis=0))
    common = pull / np.where(length > 0, length, 1.0) * scatter[:, None] / scale
    extra = common.sum(axis=0) ** 2 - (common**2).sum(axis=0)
    return np.asarray(np.sqrt(1 + shared * np.maximum(extra, 0.0)))
