"""A mixture of many Weibull curves brought down to a few of each shape."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from riskmodel.life import weibull
from riskmodel.life.in_order import in_order
from riskmodel.life.posterior import Curves, within_reason

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CELLS, FEW_CELLS, RARE = 36, 6, 2e-3
"""Curves of one shape that a mixture is brought down to, and of a shape that has less than the
share RARE of all mass."""

CELL_REACH = 3.3
"""How far such curves are told apart, in standard deviations."""


def gathered(shapes: Floats, row: Ints, y: Floats, mass: Floats) -> Curves:
    """Curves of given `shapes` (M,) from points of shape `row`, ln B50 `y` and `mass`, (P,) each.

    Of each shape, the points in order of y are divided into cells of masses as even steps of
    a normal would have. Each becomes one curve with its mass and its mean y, and all are then
    drawn apart until y varies as much as before.
    """
    return gathered_by(shapes, row, y, mass, np.zeros(len(y), dtype=np.int64))[0]


def gathered_by(
    shapes: Floats, row: Ints, y: Floats, mass: Floats, label: Ints
) -> tuple[Curves, Floats]:
    """The same, and of each curve the share of its points by their `label` (P,), counted from 0:
    (curves, labels)."""
    total, labels = mass.sum(), int(label.max()) + 1
    found: list[tuple[Floats, Floats, Floats, Floats]] = []
    believed = within_reason(shapes)
    for m, shape in enumerate(shapes):
        if not believed[m]:
            continue
        here = np.flatnonzero(row == m)
        ys, masses = y[here], mass[here] / total
        own = masses.sum()
        if not own > 0:
            continue
        cells = CELLS if own > RARE else FEW_CELLS
        edges = ndtr(np.linspace(-CELL_REACH, CELL_REACH, cells + 1))
        edges[0], edges[-1] = 0.0, 1.0
        share = np.diff(edges)
        mean = masses @ ys / own
        order, rising = in_order(ys)
        ranked = np.concatenate([[0.0], np.cumsum(masses[order])]) / own
        moment = np.concatenate([[0.0], np.cumsum(masses[order] * (rising - mean))]) / own
        centre = np.diff(np.interp(edges, ranked / ranked[-1], moment)) / share
        lost = (masses @ (ys - mean) ** 2 / own) / max(share @ centre**2, 1e-300)
        snake = slice(None, None, -1 if m % 2 else 1)  # so that neighbours are alike
        found.append(
            (
                np.full(cells, shape),
                (mean + centre * math.sqrt(lost))[snake],
                (share * own)[snake],
                _labels(ranked, edges, label[here][order], labels)[snake],
            )
        )
    shape, ln_b50, weight, by = (np.concatenate(column) for column in zip(*found, strict=True))
    return curves_of(shape, ln_b50, weight), by


def _labels(ranked: Floats, edges: Floats, label: Ints, labels: int) -> Floats:
    """Of each cell between `edges`, the share of mass by label; points lie between the shares
    `ranked`, a point that reaches over an edge being divided."""
    found = np.empty((len(edges) - 1, labels))
    if labels == 1:
        found[:] = 1.0
        return found
    ranked = ranked / ranked[-1]
    by = np.zeros((len(ranked), labels))
    by[np.arange(1, len(ranked)), label] = np.diff(ranked)
    upto = np.cumsum(by, axis=0)
    below = np.clip(np.searchsorted(ranked, edges, side="right") - 1, 0, len(ranked) - 2)
    gap = ranked[below + 1] - ranked[below]
    part = np.where(gap > 0, (edges - ranked[below]) / np.where(gap > 0, gap, 1.0), 1.0)
    at = upto[below] + np.minimum(part, 1.0)[:, None] * (upto[below + 1] - upto[below])
    found[:] = np.maximum(np.diff(at, axis=0), 0.0)
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def curves_of(shape: Floats, y: Floats, weight: Floats) -> Curves:
    """Curves from shapes, ln B50 and weights that need not sum to 1."""
    return Curves(shape, weibull.scale_of(np.exp(y), 0.5, shape), weight / weight.sum())
