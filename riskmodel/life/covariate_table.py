"""What intervals and looks say at any scale, tabulated at given shapes.

They are the dear part of a likelihood, but at a given shape they are smooth functions of one
number, mu = ln H(reference), that run into straight lines at both ends.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.rows import BETWEEN, UNWORN, WORN
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

KNOT = 0.25
"""Greatest spacing of knots in mu: the spline then errs by less than 1e-4 per part."""

FIRST, LAST = -14.0, 4.5
"""Between these ln H the tabulated terms bend."""

HOPELESS = -1e3
"""A log-likelihood below which nothing need be told apart any more."""

FAR = 3.0
"""Standard deviations of the visible lead that the table reaches over."""


class Table:
    """The interval and look terms of one likelihood at shapes `b` (M,)."""

    def __init__(self, likelihood: Likelihood, lead: Quantity | None, b: Floats) -> None:
        from scipy.interpolate import CubicSpline

        low, high = _ends(likelihood, lead, b)
        self._knots = max(8, int(np.ceil((high - low).max() / KNOT)) + 1)
        self._low = low
        self._step = (high - low) / (self._knots - 1)
        mu = low[:, None] + self._step[:, None] * np.arange(self._knots)
        value = np.zeros(mu.shape)
        if len(likelihood.intervals):
            value += likelihood.intervals.log(b, mu)
        if len(likelihood.looks):
            value += likelihood.looks.log(b, mu)
        value = np.maximum(value, HOPELESS)
        self._spline = CubicSpline(np.arange(self._knots), value.T).c

    def at(self, row: Ints, mu: Floats) -> Floats:
        """The terms at shapes `row` and `mu`, which broadcast."""
        knot, d, outside = self._place(row, mu)
        third, second, first, value = self._spline[:, knot, row]
        value = value + ((third * d + second) * d + first) * d
        if outside.any():
            value += outside * ((3 * third * d + 2 * second) * d + first)
        return np.asarray(value)

    def slopes(self, row: Ints, mu: Floats) -> tuple[Floats, Floats]:
        """Their first and second derivative in `mu`."""
        knot, d, outside = self._place(row, mu)
        third, second, first, _ = self._spline[:, knot, row]
        step = self._step[row]
        bend = np.where(outside == 0, 6 * third * d + 2 * second, 0.0)
        return ((3 * third * d + 2 * second) * d + first) / step, bend / step**2

    def _place(self, row: Ints, mu: Floats) -> tuple[Ints, Floats, Floats]:
        """The knot before, how far after it, and how far outside of all knots, in steps."""
        t = (mu - self._low[row]) / self._step[row]
        inside = np.clip(t, 0.0, self._knots - 1)
        knot = np.minimum(inside.astype(np.int64), self._knots - 2)
        return knot, inside - knot, t - inside


def _ends(likelihood: Likelihood, lead: Quantity | None, b: Floats) -> tuple[Floats, Floats]:
    """Between which mu, at each shape, the terms of any row bend."""
    rows = likelihood.rows
    between, looked = rows.where(BETWEEN), rows.where(WORN) | rows.where(UNWORN)
    start, end = [rows.since[between]], [rows.age[between]]
    if lead is not None:
        for z in (-FAR, FAR):
            start.append(rows.age[looked])
            end.append(rows.age[looked] + float(lead.quantile(z)))
    starts, ends = np.concatenate(start), np.concatenate(end)
    with np.errstate(divide="ignore"):
        gap = np.log1p((starts - ends) / ends)
        base = np.multiply.outer(b, np.log(ends / likelihood.reference))
        base += np.log(-np.expm1(np.multiply.outer(b, gap)))
    return FIRST - base.max(axis=1), LAST - base.min(axis=1)
