"""Mean usage until a part is replaced at an age or fails before, wear and other causes competing.

The integral from 0 to T of S(t) e^(-rt), S a Weibull survival and r the constant rate of failures
of other causes. Where r = 0 it is an incomplete gamma function. Otherwise it is summed over panels
even in ln(t), so narrow that neither the cumulative hazard nor the age grows by more than `GROWS`
in one. Where the shape is below 1, what lies before them is taken by parts, which has no pole.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import gamma, gammainc

Floats = NDArray[np.float64]

GROWS = 0.9
"""How far the logarithm of the cumulative hazard (below a shape of 1: of the age) goes up in a
panel."""
PANELS = 26
ORDER = 6
"""Gauss-Legendre points in a panel."""
BEFORE = 16
"""... and before the first."""
NOTHING = 1e-15
"""Cumulative hazard below which all are in service still."""
LONGEST = 38.0
"""Cumulative hazard, of wear or of other causes, beyond which nothing is left in service."""


def worn_out(age: Floats | float, shape: Floats, scale: Floats) -> Floats:
    """Were wear the only cause: (n / b) gamma(1 / b, (T / n)^b) at `age` (..., nodes), which may be
    infinite."""
    with np.errstate(over="ignore", divide="ignore"):
        hazard = np.exp(shape * np.log(age / scale))
    found = scale * gamma(1 + 1 / shape) * gammainc(1 / shape, hazard)
    return np.asarray(np.where(hazard < NOTHING, age, found))  # none has failed


class InService:
    """Time in service of parts of Weibull `shape` and `scale`, (nodes,), with failures of other
    causes at the rate `other` (one number or (nodes,), above 0) per usage.

    Within 1e-8 of itself for shapes of 0.3 to 50 (against adaptive quadrature).
    """

    def __init__(self, shape: Floats, scale: Floats, other: Floats | float) -> None:
        self.shape, self.scale = shape, scale
        self.other = np.broadcast_to(np.asarray(other, dtype=float), shape.shape)
        self._log_scale = np.log(scale)
        with np.errstate(divide="ignore"):
            wear = self._log_scale + np.log(LONGEST) / shape
            self._last = np.minimum(wear, np.log(LONGEST) - np.log(self.other))
        self._step = GROWS / np.maximum(shape, 1.0)
        self._first = self._last - PANELS * self._step
        self._place, weight = np.polynomial.legendre.leggauss(ORDER)
        self._place, self._weight = (self._place + 1) / 2, weight / 2
        starts = self._first + self._step * np.arange(PANELS)[:, None]
        panels = self._panel(starts, np.broadcast_to(self._step, starts.shape))
        before = self._before(np.exp(self._first))
        self._by = np.concatenate([before[None], before + np.cumsum(panels, axis=0)])

    def until(self, age: Floats | float) -> Floats:
        """Up to `age` (..., nodes), which may be infinite."""
        with np.errstate(divide="ignore"):
            log_age = np.minimum(np.log(age), self._last)
        log_age = np.broadcast_to(log_age, np.broadcast_shapes(log_age.shape, self.shape.shape))
        panel = np.clip(np.floor((log_age - self._first) / self._step), 0, PANELS).astype(np.int64)
        start = self._first + self._step * panel
        found = np.take_along_axis(
            self._by.reshape(PANELS + 1, *[1] * (panel.ndim - 1), -1), panel[None], axis=0
        )[0]
        found = found + self._panel(start, np.maximum(log_age - start, 0.0))
        early = log_age < self._first
        if early.any():
            found = np.where(early, self._before(np.exp(log_age)), found)
        return np.asarray(found)

    def _panel(self, start: Floats, width: Floats) -> Floats:
        """The integral over ln(t) from `start` on, `width` wide; (..., nodes) each."""
        total = np.zeros(start.shape)
        for x, weight in zip(self._place.tolist(), self._weight.tolist(), strict=True):
            at = start + x * width
            age = np.exp(at)
            hazard = np.exp(self.shape * (at - self._log_scale)) + self.other * age
            total += weight * age * np.exp(-hazard)
        return np.asarray(total * width)

    def _before(self, age: Floats) -> Floats:
        """Up to an age before the first panel. Parts that wear all last so far; for others by
        parts, the integral of e^(-rt) S(t) from that of S alone."""
        if (self.shape >= 1).all():
            gone = self.other * age
            some = gone > NOTHING
            return np.asarray(
                age * np.where(some, -np.expm1(-gone) / np.where(some, gone, 1.0), 1.0)
            )
        place, share = np.polynomial.legendre.leggauss(BEFORE)
        place, share = (place + 1) / 2, share / 2
        taken = np.zeros(np.broadcast_shapes(np.shape(age), self.shape.shape))
        for x, weight in zip(place.tolist(), share.tolist(), strict=True):
            at = age * x**2
            worn = worn_out(at, self.shape, self.scale)
            taken = taken + 2 * x * weight * age * np.exp(-self.other * at) * worn
        plain = np.exp(-self.other * age) * worn_out(age, self.shape, self.scale)
        return np.asarray(plain + self.other * taken)
