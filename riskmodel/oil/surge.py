"""A surge beyond what the stated rise explains counts as what it explains.

How far wear rises before failure is a judgement, and a dirty bottle may show anything. Taken at
its word, a reading far above what a failing part is said to show would therefore speak for the
bottle and against distress: the worse the report, the better the engine. So a rate above what a
fill would show on average just before failure, at the median rise and lead, counts as that, its
mark. What the samples say then neither falls nor leaps where a reading passes the mark, and no
higher reading lowers it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.rise import log_fill_mean

Floats = NDArray[np.float64]

WIDTH = 0.02
"""How wide an interval of ln rate at the mark stands for a reading beyond it."""


def held(
    low: Floats,
    high: Floats,
    scale: Floats,
    centre: float,
    spread: float,
    mark: Floats,
) -> tuple[Floats, Floats]:
    """The ends of ln rate (n,), oldest first, those beyond their mark put there.

    `scale` (n,) is their scatter, `centre` and `spread` the usual level between engines, `mark`
    (n,) how far above the engine's own level, as its earlier samples tell it, counts as beyond.
    """
    low, high = low.copy(), high.copy()
    known = 1 / spread**2 if spread > 0 else np.inf
    total, precision = centre * known if np.isfinite(known) else centre, known
    for i in range(len(low)):
        level = total / precision if np.isfinite(precision) else centre
        beyond = level + mark[i]
        middle = (low[i] + high[i]) / 2 if np.isfinite(low[i]) else high[i] - np.log(2.0)
        if low[i] > beyond:
            low[i], high[i] = beyond - WIDTH / 2, beyond + WIDTH / 2
            middle = beyond
        if np.isfinite(middle) and np.isfinite(precision):
            total += middle / scale[i] ** 2
            precision += 1 / scale[i] ** 2
    return low, high


def marks(at: Floats, oil_age: Floats, top_up_rate: Floats, lead: float, log_rise: float) -> Floats:
    """ln of the fill's mean rise in oil drawn just before failure, at a lead and a rise; (n,)."""
    return log_fill_mean(np.maximum(at - lead, 0.0), at, at, oil_age, log_rise, top_up_rate)
