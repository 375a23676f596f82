"""The samples that are evidence, as arrays: of one engine, or of many side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Samples:
    """The used samples of E elements that the part sheds, of M engines with up to n samples each.

    `at`, `oil_age` (M, n) in the part's (effective) usage, oldest first, and `top_up_rate` (M, n)
    per unit of it. `low` and `high` (M, E, n) are the logarithms of the ends of each wear rate
    [ln ppm per 1,000], and `scale` (M, E, n) is sigma'_e, their scatter on that scale.
    `centre` and `spread` (M, E) are the mean and standard deviation of ln rate between engines;
    `log_rise`, `rise_spread` (M, E) those of ln rise between parts. `misleading` (M,) is the share
    of samples that tell of something else.

    Engines with fewer samples have the first places empty: `at` minus infinity, low minus and
    high plus infinity; so has what was not measured, in `low` and `high`.
    """

    at: Floats
    oil_age: Floats
    top_up_rate: Floats
    low: Floats
    high: Floats
    scale: Floats
    centre: Floats
    spread: Floats
    log_rise: Floats
    rise_spread: Floats
    misleading: Floats

    @property
    def engines(self) -> int:
        return int(self.at.shape[0])

    @property
    def taken(self) -> NDArray[np.bool_]:
        """Which places hold a sample; (M, n)."""
        return np.isfinite(self.at)

    @property
    def measured(self) -> NDArray[np.bool_]:
        """Which elements were measured; (M, E, n)."""
        return np.isfinite(self.high)

    @property
    def last(self) -> Floats:
        """The usage at the last sample; (M,)."""
        return np.asarray(self.at[:, -1])

    def alike(self, other: Samples) -> bool:
        """Whether they differ in no more than how often one misleads, where any may in both."""
        names = [each.name for each in fields(self) if each.name != "misleading"]
        same = all(np.array_equal(getattr(self, name), getattr(other, name)) for name in names)
        return same and bool(np.all(self.misleading > 0) and np.all(other.misleading > 0))


def side_by_side(parts: Sequence[Samples]) -> Samples:
    """Engines stacked, with empty places and unmeasured elements where one has fewer."""
    count = max(part.at.shape[1] for part in parts)
    elements = max(part.centre.shape[1] for part in parts)

    def stack(name: str, empty: float) -> Floats:
        rows = []
        for part in parts:
            values: Floats = getattr(part, name)
            pads = [(0, 0)] * values.ndim
            if name in _BY_SAMPLE:
                pads[-1] = (count - values.shape[-1], 0)
            if name in _BY_ELEMENT:
                pads[1] = (0, elements - values.shape[1])
            rows.append(np.pad(values, pads, constant_values=empty))
        return np.concatenate(rows)

    return Samples(**{name: stack(name, empty) for name, empty in _EMPTY.items()})


_EMPTY = {
    "at": -np.inf,
    "oil_age": 1.0,
    "top_up_rate": 0.0,
    "low": -np.inf,
    "high": np.inf,
    "scale": 1.0,
    "centre": 0.0,
    "spread": 0.0,
    "log_rise": 0.0,
    "rise_spread": 0.0,
    "misleading": 0.0,
}
_BY_SAMPLE = frozenset({"at", "oil_age", "top_up_rate", "low", "high", "scale"})
_BY_ELEMENT = frozenset({"low", "high", "scale", "centre", "spread", "log_rise", "rise_spread"})
