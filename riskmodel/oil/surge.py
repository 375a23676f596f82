"""A surge beyond where readings speak loudest for distress counts as one that lies there.

How far wear rises before failure is a judgement, and a dirty bottle may show anything. Taken at
its word, a reading far above what a failing part is said to show would therefore speak for the
bottle, or for scatter, and against distress: the worse the report, the better the engine. So each
rate has a place, as far above the engine's own level as it speaks loudest for distress; one beyond
counts as one there; below it nothing is touched. The place leaves off that rise, lead and level are
not known, so places about it are tried for a surge, and all samples together tell which speaks
loudest (`history`): nearer for the last sample, whose elements rise together, and farther out while
the engine's own level is little known, as in its first samples.

The place is that of the model's own terms. A failing part shows the mean of a fill just before
failure, at the median rise and lead, its mark, with the scatter of that reading; no distress shows
the level, with the same scatter or, seldom, anything. How many times likelier the first makes a
reading climbs to its peak shortly above the mark where the rise stands out from the scatter, up to
two scatters above where it does not.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.evidence_student import normal_density, student_density
from riskmodel.oil.evidence_tables import MISLED
from riskmodel.oil.rise import log_fill_mean

Floats = NDArray[np.float64]

WIDTH = 0.02
"""How wide an interval of ln rate at its place stands for a reading beyond it."""
TRIED, CLOSER = 21, 3
"""Places tried for the loudest, and how many times those about the best are tried anew."""


def held(
    low: Floats,
    high: Floats,
    scale: Floats,
    centre: float,
    spread: float,
    place: Floats,
) -> tuple[Floats, Floats]:
    """The ends of ln rate (n,), oldest first, those beyond their place put there; the same arrays
    where none is.

    `scale` (n,) is their scatter, `centre` and `spread` the usual level between engines, `place`
    (n,) how far above the engine's own level, as its earlier samples tell it, counts as beyond.
    """
    given = low
    known = 1 / spread**2 if spread > 0 else np.inf
    total, precision = centre * known if np.isfinite(known) else centre, known
    for i in range(len(low)):
        level = total / precision if np.isfinite(precision) else centre
        beyond = level + place[i]
        middle = (low[i] + high[i]) / 2 if np.isfinite(low[i]) else high[i] - np.log(2.0)
        if low[i] > beyond:
            if low is given:
                low, high = low.copy(), high.copy()
            low[i], high[i] = beyond - WIDTH / 2, beyond + WIDTH / 2
            middle = beyond
        if np.isfinite(middle) and np.isfinite(precision):
            total += middle / scale[i] ** 2
            precision += 1 / scale[i] ** 2
    return low, high


def marks(at: Floats, oil_age: Floats, top_up_rate: Floats, lead: float, log_rise: float) -> Floats:
    """ln of the fill's mean rise in oil drawn just before failure, at a lead and a rise; (n,)."""
    return log_fill_mean(np.maximum(at - lead, 0.0), at, at, oil_age, log_rise, top_up_rate)


def loudest(mark: Floats, scale: Floats, spread: float, misleading: Floats) -> Floats:
    """How far above the engine's own level readings speak loudest for distress; (n,).

    `mark` (n,) is how far distress lifts them, `scale` (n,) their scatter, `spread` that of the
    level between engines, `misleading` (n,) the share of samples that tell of something else.
    Where none do, the ratio of a t4 shifted by d scatters over one that is not peaks at
    d / 2 + sqrt(d^2 / 4 + 4) scatters, from its derivative; those that mislead bring it nearer.
    """
    first, last = mark, mark / 2 + np.sqrt(mark**2 / 4 + 4 * scale**2)
    wide = np.hypot(spread, MISLED)
    best = first
    for _ in range(1 + CLOSER):
        x = first + (last - first) * np.linspace(0, 1, TRIED)[:, None]
        none = (1 - misleading) * student_density(x / scale) / scale
        none = none + misleading * normal_density(x / wide) / wide
        ratio = student_density((x - mark) / scale) / scale / none
        best = np.take_along_axis(x, np.argmax(ratio, axis=0)[None], axis=0)[0]
        step = (last - first) / (TRIED - 1)
        first, last = np.maximum(first, best - step), np.minimum(last, best + step)
    return np.asarray(best)
