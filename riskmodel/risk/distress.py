"""The chance that a look at the part today would show visible distress."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.posterior import Curves
from riskmodel.oil.history import History
from riskmodel.records.case import Case
from riskmodel.risk.with_oil import chance_with_oil

Floats = NDArray[np.float64]

POINTS = 12
"""Quadrature points over the visible lead, which varies from part to part."""


def distress_today(
    case: Case, curves: Curves, taken: History | None = None, ages: Floats | None = None
) -> float:
    """P(V > T - age): the part would fail within the usage V before which distress shows, given
    that it lasts today and what its samples say. A wrong look is not counted. `taken` are its
    samples if they are known, `ages` (curves,) its age today on each curve where it has one."""
    lead, weight = case.warning.visible_lead.points(POINTS)
    return float(chance_with_oil(case, curves, lead, taken, ages).with_oil.value @ weight)
