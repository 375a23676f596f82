"""Readings of more than one laboratory: each has a level of its own for the same engine.

Two laboratories read the same oil differently, by more than one laboratory does from day to day
(ASTM D5185: reproducibility against repeatability), and by other methods, which see particles of
other sizes, by more again. Where an engine's samples go to another one, the step between them is
theirs and not the part's, and a level that was learned from the first speaks for the second only
as closely as two laboratories agree. A laboratory not named is that of the sample before.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.linings import precision
from riskmodel.records.tables import OilSample

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

APART = 0.3
"""One standard deviation of ln reading between two laboratories at the least (judgement: that of
lead at 10 ppm; what one method leaves is less for copper and iron)."""
OF_MEDIAN = np.pi / 2
"""Variance of a median over that of a mean, of many normal values."""


def laboratory_of(samples: Sequence[OilSample]) -> Ints:
    """Which laboratory each sample went to, counted from 0 in the order in which each was last
    gone to, so that the last one is the one in use; (n,)."""
    named, last = [], ""
    for sample in samples:
        last = " ".join(sample.lab.casefold().split()) or last
        named.append(last)
    first = next((name for name in named if name), "")
    named = [name or first for name in named]
    order = list(dict.fromkeys(reversed(named)))[::-1]
    return np.array([order.index(name) for name in named], dtype=np.int64)


def apart(symbol: str, ppm: float) -> float:
    """One standard deviation of the difference of ln reading between two laboratories at a reading
    [ppm]: what reproducibility has beyond repeatability, twice, but no less than `APART`."""
    within, between = precision(symbol, ppm) or (0.0, 0.0)
    return max(APART, float(np.sqrt(2 * max(between**2 - within**2, 0.0)) / ppm))


def level_elsewhere(
    centre: float, spread: float, log_rate: Floats, scale: Floats, apart: float
) -> tuple[float, float]:
    """Middle and spread of ln level in one laboratory, as far as readings in others tell it.

    `centre` and `spread` are those between engines; `log_rate` (m,) are the readings elsewhere,
    `scale` (m,) their scatter, `apart` how far laboratories differ. The readings stand for their
    median: distress that lifts the last few hardly moves it.

    Either laboratory sees engines as far apart as `spread` says, neither being the one that it is
    told of: levels in two are normal with one spread, and correlated so that their difference has
    that of `apart`. Where laboratories differ as much as engines do, one tells nothing of another.
    """
    if len(log_rate) == 0 or spread == 0:
        return centre, spread
    unlike = min((apart / spread) ** 2 / 2, 1.0)  # 1 less the correlation
    known = float(OF_MEDIAN / np.sum(1 / scale**2))
    told = (1 - unlike) * spread**2 / (spread**2 + known)
    left = (known + unlike * (2 - unlike) * spread**2) / (spread**2 + known)
    middle = centre + told * (float(np.median(log_rate)) - centre)
    return middle, float(spread * np.sqrt(left))
