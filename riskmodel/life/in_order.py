"""Values in order."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def in_order(values: Floats) -> tuple[Ints, Floats]:
    """Places of `values` (K,) from the least to the greatest, equal ones as they stand, and the
    values there: what a stable `argsort` gives, in a fraction of its time if none is below 0.

    Such numbers are in the same order as their bits read as whole numbers. These are sorted much
    faster alone than with their places, so the last bits of each make room for its place.
    """
    if not values.min(initial=0.0) >= 0:
        place = np.argsort(values, kind="stable")
        return place, values[place]
    room = (1 << len(values).bit_length()) - 1
    place = np.abs(values).view(np.int64)  # a zero may have a sign
    place &= ~room
    place |= np.arange(len(values))
    place.sort()
    place &= room
    found = values[place]
    if np.any(found[1:] < found[:-1]):  # some differ in those last bits alone
        again = np.argsort(found, kind="stable")
        place, found = place[again], found[again]
    return place, found
