"""Small uses of known make."""

from __future__ import annotations

from riskmodel.records.case import KindOfUse
from riskmodel.records.quantity import Quantity


def kind(
    name: str, low: float, high: float | None = None, population_share: float = 0.0
) -> KindOfUse:
    """A kind of use, its harshness exact or between two values."""
    return KindOfUse(name, Quantity(low, low if high is None else high), population_share)


TOWN = kind("town", 0.8, 2.0, 0.3)
TRACK = kind("track", 1.1, 3.0, 0.1)
