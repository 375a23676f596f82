"""What intervals and looks say at any scale, tabulated at given shapes.

They are the dear part of a likelihood, but at a given shape they are smooth functions of one
number, mu = ln H(reference), that run into straight lines at both ends.
"""

from __future__ import annotations

from collections.abc import Sequence

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


class Tables:
    """The interval and look terms of T likelihoods at shapes `b` (M,).

    All lie end to end in one array: a look-up in many small tables costs no more than in one.
    """

    def __init__(self, likelihoods: Sequence[Likelihood], lead: Quantity | None, b: Floats) -> None:
        made = [_table(likelihood, lead, b) for likelihood in likelihoods]
        self._low = np.stack([low for low, _, _ in made], axis=1)
        self._step = np.stack([step for _, step, _ in made], axis=1)
        pieces = [spline.shape[1] for _, _, spline in made]
        self._last = np.array(pieces) - 1
        self._first = len(b) * np.concatenate([[0], np.cumsum(pieces)[:-1]])
        self._spline = np.concatenate([spline.reshape(4, -1) for _, _, spline in made], axis=1)

    def at(self, row: Ints, mu: Floats) -> Floats:
        """The sum of the terms at shapes `row` and `mu` (..., T), which broadcast but for the T."""
        piece, d, outside = self._place(row, mu)
        third, second, first, value = (part.take(piece) for part in self._spline)
        value += ((third * d + second) * d + first) * d
        if outside.any():
            value += outside * ((3 * third * d + 2 * second) * d + first)
        return np.asarray(value.sum(axis=-1))

    def slopes(self, row: Ints, mu: Floats) -> tuple[Floats, Floats]:
        """First and second derivative of each in its `mu` (..., T)."""
        piece, d, outside = self._place(row, mu)
        third, second, first = (part.take(piece) for part in self._spline[:3])
        step = self._step[row]
        bend = np.where(outside == 0, 6 * third * d + 2 * second, 0.0)
        return ((3 * third * d + 2 * second) * d + first) / step, bend / step**2

    def _place(self, row: Ints, mu: Floats) -> tuple[Ints, Floats, Floats]:
        """The piece of the spline, how far into it, and how far outside of all knots, in steps."""
        t = (mu - self._low[row]) / self._step[row]
        inside = np.minimum(np.maximum(t, 0.0), self._last + 1)
        knot = np.minimum(inside.astype(np.int64), self._last)
        piece = self._first + knot * len(self._low) + row[..., None]
        return piece, inside - knot, t - inside


def _table(
    likelihood: Likelihood, lead: Quantity | None, b: Floats
) -> tuple[Floats, Floats, Floats]:
    """The first knot (M,) and their spacing (M,), in mu, and the spline (4, pieces, M) of one
    likelihood's terms."""
    from scipy.interpolate import CubicSpline

    low, high = _ends(likelihood, lead, b)
    knots = max(8, int(np.ceil((high - low).max() / KNOT)) + 1)
    step = (high - low) / (knots - 1)
    mu = low[:, None] + step[:, None] * np.arange(knots)
    value = np.zeros(mu.shape)
    if len(likelihood.intervals):
        value += likelihood.intervals.log(b, mu)
    if len(likelihood.looks):
        value += likelihood.looks.log(b, mu)
    spline = CubicSpline(np.arange(knots), np.maximum(value, HOPELESS).T)
    return low, step, spline.c


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
