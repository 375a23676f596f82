"""How sure records are in which some stand for more parts than themselves.

Where failures are reported k times as readily as survivors, each survivor on record weighs k: the
curve then settles on the right one (choice-based samples: Manski & Lerman 1977, Econometrica 45,
1977-1988), but its log-likelihood is as sharp as if all those parts had been seen. It is made
blunter by one factor, so that it is as sharp as its score varies: the magnitude adjustment of
composite likelihoods (Ribatet, Cooley & Davison, arXiv:0911.5357; Pauli, Racugno & Ventura 2011,
Statistica Sinica 21, 149-164, from memory), of the score in ln H, on which chances hang most.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def surety(weight: Floats, stands: Floats, score: Floats) -> float:
    """What a weighed log-likelihood is to be multiplied by, from 1 / max(stands) to 1.

    Of each row: `weight`, the parts that it stands for in all; `stands`, those that one record of
    it stands for; `score`, the derivative of one record's log-likelihood by ln H at the fitted
    curve (for an age of failure or survival d - H, d 1 for a failure and H the hazard lived
    through). With w, k and s for them it is sum w s^2 / sum w k s^2: what the score varies by
    were every part seen, over what it varies by with so many seen. Exactly 1 where each stands
    for itself alone.
    """
    if not np.any(stands != 1):
        return 1.0
    squared = weight * score**2
    varies = float(squared @ stands)
    return float(squared.sum()) / varies if varies > 0 else 1.0
