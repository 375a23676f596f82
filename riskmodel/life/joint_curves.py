"""Life curves joined with the effects of a column that were fitted with them.

A curve and an effect come from the same records: where parts at a level lived shorter than it
looks, those at the base level lived longer. What is told of both keeps them together: of each
curve, how far each of a few given sets of effects is believed beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.covariate_curves import Points
from riskmodel.life.mixture import gathered_by
from riskmodel.life.posterior import Curves
from riskmodel.life.terms import CHUNK

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class JointCurves(Curves):
    """Curves of parts at the base level of a column; `share` (curves, A) is how far each of A sets
    of harshness is believed beside each curve, `pace` (A,) how many units of usage at the base
    level one of average usage is worth there."""

    share: Floats
    pace: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Harshness:
    """Of a `column`, its `levels` but the base. Beforehand ln harshness of each against the base is
    normal, `mean` (L,) and `covariance` (L, L)."""

    column: str
    levels: tuple[str, ...]
    mean: Floats
    covariance: Floats


def joint(points: Points, believed: Harshness, sets: Floats, pace: Floats) -> JointCurves:
    """The curves of `points`, those of an engine at the base level of a column, joined with `sets`
    (A, L): harshness of its other levels against the base, 1 over their factors on life.

    What was `believed` of harshness takes the place of the weak prior of the effects. Each
    point's own harshness is shared out to the sets: to the two about it where there is one
    level, else to the nearest. `pace` as in `JointCurves`.
    """
    known = {(column.name, level): i for i, (column, level) in enumerate(points.design.terms)}
    terms = [known[believed.column, level] for level in believed.levels]
    log_harsh = -points.g[:, :, terms]
    points = replace(points, mass=points.mass * _tilt(points, terms, believed)[:, :, None])
    label, part = _shared_out(log_harsh, np.log(sets))  # (K, R, J) each
    if points.known:
        curves, share = points.curves(), np.zeros((len(points.row), len(sets)))
        node = np.broadcast_to(np.arange(len(share))[:, None, None], label.shape)
        np.add.at(share, (node, label), part * points.mass)
        whole = share.sum(axis=1, keepdims=True)
        share = np.where(whole > 0, share / np.where(whole > 0, whole, 1.0), 1.0 / len(sets))
    else:
        mass = points.mass[..., None] * part[:, :, None, :]
        row = np.broadcast_to(points.row[:, None, None, None], mass.shape).ravel()
        y = np.broadcast_to(points.ys[..., None], mass.shape).ravel()
        labels = np.broadcast_to(label[:, :, None, :], mass.shape).ravel()
        curves, share = gathered_by(points.shapes, row, y, mass.ravel(), labels)
        share = np.pad(share, ((0, 0), (0, len(sets) - share.shape[1])))
    return JointCurves(curves.shape, curves.scale, curves.weight, share, pace)


def _tilt(points: Points, terms: list[int], believed: Harshness) -> Floats:
    """By how much each point is likelier by what was believed of harshness, (K, R)."""
    g = points.g[:, :, terms]
    off = -g - believed.mean
    weak = points.precision[np.ix_(terms, terms)]
    log = ((g @ weak) * g).sum(axis=2) - ((off @ np.linalg.inv(believed.covariance)) * off).sum(
        axis=2
    )
    log = np.where(points.mass.sum(axis=2) > 0, log / 2, -np.inf)
    return np.asarray(np.exp(log - log.max()))


def _shared_out(at: Floats, sets: Floats) -> tuple[Ints, Floats]:
    """Which of the `sets` (A, L) points `at` (K, R, L) belong to, and by how much: (K, R, J)."""
    if sets.shape[1] == 1:
        order = np.argsort(sets[:, 0], kind="stable")
        grid, x = sets[order, 0], at[:, :, 0]
        below = np.clip(np.searchsorted(grid, x) - 1, 0, max(len(grid) - 2, 0))
        above = np.minimum(below + 1, len(grid) - 1)
        gap = np.where(above > below, grid[above] - grid[below], 1.0)
        up = np.clip((x - grid[below]) / np.where(gap > 0, gap, 1.0), 0.0, 1.0)
        return np.stack([order[below], order[above]], axis=2), np.stack([1 - up, up], axis=2)
    flat = at.reshape(-1, at.shape[2])
    nearest = np.empty(len(flat), dtype=np.int64)
    rows = max(1, CHUNK // max(1, sets.size))
    for start in range(0, len(flat), rows):
        some = slice(start, start + rows)
        far = ((flat[some, None, :] - sets) ** 2).sum(axis=2)
        nearest[some] = far.argmin(axis=1)
    return nearest.reshape(*at.shape[:2], 1), np.ones((*at.shape[:2], 1))
