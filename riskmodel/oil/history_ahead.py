"""The likelihood at many failure ages from a few: from today on it is smooth in the age."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.history import History

Floats = NDArray[np.float64]

WIDTH = 0.45
"""Between nodes on average, in spreads of the log lead."""
FEWEST, MOST = 12, 80
STEEP = 2.0
"""Where the log likelihood falls by more than this ahead, nodes are twice as dense."""
WIDE = 0.15
"""A lead of less spread makes the likelihood bend sharply: then each age is worked out."""


def likelihood_ahead(found: History, age: Floats, today: float | None = None) -> Floats:
    """`History.likelihood` at ages (J,) from `today` on, the history's own if left out: (F, J).

    Worked out at Chebyshev points in the logarithm of the usage since shortly before the last
    sample, and interpolated (Berrut & Trefethen 2004, SIAM Review 46, 501-517).
    """
    if len(age) == 0:  # the samples are older than any lead: they tell nothing of what is ahead
        return np.ones((len(found.factor_points[0]), 0))
    begin = found.today if today is None else today
    spread = found.lead.spread
    near = float(np.median(found.samples.oil_age)) / 4 - found.last
    ends = np.log(np.array([begin, max(float(age.max(initial=begin)), begin)]) + near)
    if spread < WIDE or len(age) <= FEWEST:
        return found.likelihood(age)
    steep = np.max(np.abs(np.log(found.likelihood(begin)))) > STEEP
    width = WIDTH * spread / (2 if steep else 1)
    count = int(np.clip(np.ceil(4 + (ends[1] - ends[0]) / width), FEWEST, MOST))
    turn = np.pi * np.arange(count) / (count - 1)
    place = (1 - np.cos(turn)) / 2
    nodes = np.exp(ends[0] + (ends[1] - ends[0]) * place) - near
    nodes[0], nodes[-1] = begin, max(float(age.max()), begin)
    told = np.log(found.likelihood(nodes))  # a surge leaves it millions wide
    blend = _blend(place, (np.log(age + near) - ends[0]) / (ends[1] - ends[0]))
    return np.exp(told @ blend.T)


def _blend(nodes: Floats, at: Floats) -> Floats:
    """Weights (J, nodes) that interpolate from Chebyshev points to `at` (J,), in (0, 1)."""
    sign = (-1.0) ** np.arange(len(nodes))
    sign[[0, -1]] /= 2
    gap = at[:, None] - nodes
    hit = np.abs(gap) < 1e-14
    part = sign / np.where(hit, 1.0, gap)
    part = np.where(hit.any(axis=1, keepdims=True), hit.astype(float), part)
    return np.asarray(part / part.sum(axis=1, keepdims=True))
