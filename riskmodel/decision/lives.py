"""Curves of the part in the engine joined with those of the parts fitted after it.

A new part's life is the curve's, times a factor that is not known: a curve (shape, scale)
and a factor k give a new part of scale k * scale. What follows a replacement depends on the
shape and on that product alone, smoothly, so it is worked out at a few well-placed scales
for each shape and interpolated (Chebyshev points, barycentric formula; Berrut & Trefethen
2004, SIAM Review 46, 501-517) instead of at every pair of curve and factor.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import survival
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FACTOR_POINTS = 5
"""Quadrature points over the factor on a new part's life."""
FEWEST_SCALES, MOST_SCALES = 8, 40
ROUGHLY = -3
"""Scales more where a difference is asked for, down to FEWEST_SCALES less so many."""
VISIBLE_LEAD_POINTS = 12
"""Quadrature points over the visible lead, which varies from part to part."""


@dataclass(frozen=True, slots=True)
class Lives:
    """Life curves of new parts: Weibull shape, scale and weight of each node, all (nodes,).

    The weights sum to 1, but those of interpolation may be below 0. `other` is the constant
    rate of failures of other causes, per usage.
    """

    shape: Floats
    scale: Floats
    weight: Floats
    other: float = 0.0

    def survival(self, age: Floats) -> Floats:
        """Chance that neither wear nor another cause ends it by each age; (ages, nodes)."""
        age = np.asarray(age)[:, None]
        return survival(age, self.shape, self.scale) * np.exp(-self.other * age)

    def survival_and_worn(self, age: Floats, visible_lead: Quantity) -> Floats:
        """Chance to outlive each age and then be found worn, wear being due to end it within
        the visible lead V: (S(a) - E_V[S(a + V)]) times that of no other cause; (ages, nodes)."""
        age = np.asarray(age)[:, None]
        lead, weight = visible_lead.points(VISIBLE_LEAD_POINTS)
        worn = survival(age, self.shape, self.scale)
        for v, w in zip(lead, weight, strict=True):
            worn = worn - w * survival(age + v, self.shape, self.scale)
        return np.clip(worn, 0.0, None) * np.exp(-self.other * age)


@dataclass(frozen=True, eq=False)
class Joined:
    """Every curve with every factor ("pairs", factors running fastest), and the nodes at
    which a new part is worked out.

    `weight` (pairs,) and `share` (factors,) are how far each is believed. `row` (curves,)
    is each curve's shape among the nodes', which are ordered (shapes, scales); `blend`
    (curves, factors, scales) interpolates from a shape's scales to a pair.
    """

    lives: Lives
    weight: Floats
    share: Floats
    row: Ints
    blend: Floats

    def believed(self, curves: Floats) -> Floats:
        """How far each node is believed where the curves are so, (curves,): (nodes,)."""
        found = np.zeros((self.shapes, self.scales))
        np.add.at(found, self.row, curves[:, None] * self._mean_blend[:, 0])
        return found.ravel()

    def only(self, pairs: Ints) -> Joined:
        """The same at some `pairs` (P,) alone: each a curve of its own, with the one factor."""
        curve, factor = np.divmod(pairs, len(self.share))
        blend = self.blend[curve, factor][:, None]
        return Joined(self.lives, self.weight[pairs], np.ones(1), self.row[curve], blend)

    @property
    def scales(self) -> int:
        return int(self.blend.shape[2])

    @property
    def shapes(self) -> int:
        return len(self.lives.shape) // self.scales

    @cached_property
    def by_shape(self) -> tuple[tuple[int, Ints], ...]:
        """Each shape among the nodes' with its curves."""
        return tuple((shape, np.flatnonzero(self.row == shape)) for shape in np.unique(self.row))

    @cached_property
    def _mean_blend(self) -> Floats:
        """`blend` for a curve alone, the factors as believed; (curves, 1, scales)."""
        return np.asarray(np.einsum("q,kqc->kc", self.share, self.blend)[:, None])

    def to_pairs(self, values: Floats) -> Floats:
        """From nodes to pairs, along the last axis."""
        rows = values.reshape(-1, self.shapes, self.scales)
        found = np.empty((len(rows), *self.blend.shape[:2]))
        for shape, curves in self.by_shape:
            blend = self.blend[curves]
            own = rows[:, shape] @ blend.reshape(-1, self.scales).T
            found[:, curves] = own.reshape(len(rows), *blend.shape[:2])
        return found.reshape(*values.shape[:-1], len(self.weight))

    def to_nodes(self, weights: Floats) -> Floats:
        """Weights of pairs (..., pairs) as weights of nodes: the mean of `to_pairs(values)` under
        the one is that of `values` under the other; (..., nodes)."""
        found = self._gathered(weights.reshape(-1, *self.blend.shape[:2]), self.blend)
        return found.reshape(*weights.shape[:-1], len(self.lives.shape))

    def curves_to_nodes(self, weights: Floats) -> Floats:
        """The same for weights of curves (rows, curves), the factors as believed."""
        return self._gathered(weights[:, :, None], self._mean_blend)

    def _gathered(self, weights: Floats, blend: Floats) -> Floats:
        """Weights (rows, curves, factors) as those of nodes, each shape's from its own curves, by
        `blend` (curves, factors, scales); (rows, nodes)."""
        found = np.empty((len(weights), self.shapes, self.scales))
        for shape, curves in self.by_shape:
            own = blend[curves].reshape(-1, self.scales)
            found[:, shape] = weights[:, curves].reshape(len(weights), len(own)) @ own
        return found.reshape(len(weights), len(self.lives.shape))

    def of_curves(self, values: Floats) -> Floats:
        """What depends on the curve alone, at every pair, along the last axis."""
        return np.repeat(values, len(self.share), axis=-1)


def join(curves: Curves, new_part_life: Quantity, other: float = 0.0, more: int = 0) -> Joined:
    """Join the curves with the possible factors on a new part's life; `other` is the rate of
    failures of other causes, per usage, which no replacement resets; so many scales `more` than
    plans need, whose means are then within a millionth."""
    factor, share = new_part_life.points(FACTOR_POINTS)
    scale = np.outer(curves.scale, factor)
    weight = np.outer(curves.weight, share)
    shapes, row = np.unique(curves.shape, return_inverse=True)
    low = np.full(len(shapes), np.inf)
    high = np.zeros(len(shapes))
    np.minimum.at(low, row, scale.min(axis=1))
    np.maximum.at(high, row, scale.max(axis=1))
    mass = np.bincount(row, curves.weight).astype(np.float64)
    points = _points(shapes, np.log(high / low), mass) + more
    if len(shapes) * points >= scale.size:
        lives = Lives(np.repeat(curves.shape, len(factor)), scale.ravel(), weight.ravel(), other)
        blend = np.broadcast_to(np.eye(len(factor)), (len(curves.shape), len(factor), len(factor)))
        return Joined(lives, weight.ravel(), share, np.arange(len(curves.shape)), blend)
    place = (1 - np.cos(np.pi * np.arange(points) / (points - 1))) / 2
    at = np.log(low)[:, None] + np.log(high / low)[:, None] * place
    blend = _barycentric(at[row], np.log(scale))
    believed = np.zeros((len(shapes), points))
    np.add.at(believed, row, np.einsum("kq,kqc->kc", weight, blend))
    lives = Lives(np.repeat(shapes, points), np.exp(at).ravel(), believed.ravel(), other)
    return Joined(lives, weight.ravel(), share, row, blend)


def _points(shapes: Floats, reach: Floats, mass: Floats) -> int:
    """Scales enough to follow the steepest curve believed: a survival curve bends over a
    range of 1 / shape in the log of its scale."""
    bends = float(np.max((shapes * reach)[mass > 1e-4 * mass.max()]))
    return int(np.clip(np.ceil(4 + bends), FEWEST_SCALES, MOST_SCALES))


def _barycentric(nodes: Floats, at: Floats) -> Floats:
    """Weights (curves, factors, scales) that interpolate from Chebyshev points `nodes`
    (curves, scales) to `at` (curves, factors)."""
    sign = (-1.0) ** np.arange(nodes.shape[1])
    sign[[0, -1]] /= 2
    gap = at[:, :, None] - nodes[:, None, :]
    span = np.ptp(nodes, axis=1)[:, None, None]
    hit = np.abs(gap) < 1e-13 * np.maximum(span, 1e-300)
    part = sign / np.where(hit, 1.0, gap)
    part = np.where(hit.any(axis=2, keepdims=True), hit.astype(float), part)
    return np.asarray(part / part.sum(axis=2, keepdims=True))
