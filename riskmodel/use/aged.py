"""Life curves and use together, told in usage from now.

Failure comes at effective age T. At a node of use with effective age a today that ages by `ahead`
per unit of usage from now on, failure within usage d means T <= a + ahead d. For a Weibull life
(shape b, scale n) that is a Weibull life of shape b and scale n / ahead of a part whose present
age is a / ahead: a curve at a node is again a curve, with a present age of its own, and whatever
is still to come (services, turnarounds, keep-until) stays in plain usage.

This engine's survival is a record in effective ages: it speaks of the curve and of the use both,
so that a part which outlived a hard past makes long life likelier, and a gentler past.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.life.joint_curves import JointCurves
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import quantiles_of_rows
from riskmodel.life.weibull import conditional_failure, hazard_ahead, log_hazard_ahead
from riskmodel.use.effective_age import TAIL, Use

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

EACH, FEWEST = 8, 400
"""Nodes of use that each life curve is paired with, and pairs that there are at least. Over some
500 curves a mean chance is then within 0.2 % of itself and an end of its interval within 2 %; with
four nodes a curve within 0.5 % and 3 %, with one within 1 % and 10 %."""
LATTICE = (0.7548776662466927, 0.5698402909980532)
"""Steps of the evenly spread points of `spread_points` in two dimensions: by these a shape's nodes
of use differ from the next shape's, and a scale's from the next scale's."""
BLOCK = 1 << 15
"""Pairs worked on at once: they stay in the processor's cache."""
STEEP = 1.5
"""Nodes of use are ordered by ahead * age^STEEP, roughly the hazard that they lead to."""


@dataclass(frozen=True, slots=True, eq=False)
class AgedCurves:
    """Weibull curves in usage from now, each with the part's present age on it; (N,) each.

    `shape`, `scale` and `weight` as `Curves`, `age` today's effective age and `entered` that when
    the watch began, both over the ageing ahead. `curve` and `node` tell which life curve and which
    node of use each came from.
    """

    shape: Floats
    scale: Floats
    weight: Floats
    age: Floats
    entered: Floats
    curve: Ints
    node: Ints

    def __len__(self) -> int:
        return len(self.weight)

    @property
    def curves(self) -> Curves:
        """The same as curves alone: what a part fitted from now on lives by."""
        return Curves(self.shape, self.scale, self.weight)


def aged_curves(
    curves: Curves,
    use: Use,
    known_survival: tuple[float, float] | None,
    each: int | None = EACH,
) -> AgedCurves:
    """Every curve with `each` nodes of use, evenly spread over them (more where there are few
    curves); None: with all of them.

    `known_survival` are the plain (entered_at, age) by which `curves` know of this engine's
    survival already: it is taken back and told in effective ages instead. None where they know
    nothing of it. `JointCurves` bring how far each harshness is believed beside each of them.
    """
    pace, believed = _joined_with(curves, use)
    curve, node, weight = _pairs(curves, use, pace, believed, known_survival, each)
    ahead = use.ahead[node]
    return AgedCurves(
        curves.shape[curve],
        curves.scale[curve] / (pace[node] * ahead),
        weight,
        use.age[node] / ahead,
        use.entered[node] / ahead,
        curve,
        node,
    )


def _weights(
    curves: Curves,
    entered: Floats,
    age: Floats,
    believed: Floats,
    known_survival: tuple[float, float] | None,
) -> Iterator[tuple[slice, Floats]]:
    """How far each of a few curves is believed beside each node of use, up to a factor: which they
    are, and (few, U), block by block. `entered` and `age` (U,) are on the curves' own terms."""
    # of curves of one shape the hazards lived through differ in a factor alone
    shapes, row = np.unique(curves.shape, return_inverse=True)
    at_one = log_hazard_ahead(entered, age - entered, shapes[:, None], 1.0)
    over, log = curves.shape * np.log(curves.scale), np.zeros(len(curves))
    if known_survival is not None:
        since, today = known_survival
        log = log + hazard_ahead(since, today - since, curves.shape, curves.scale)
    some, size = curves.weight > 0, max(1, BLOCK // len(age))
    with np.errstate(under="ignore", over="ignore"):
        likeliest = log - np.exp(at_one.min(axis=1)[row] - over)
        log = np.where(some, log - likeliest[some].max(), -np.inf)
        for start in range(0, len(curves), size):
            few = slice(start, start + size)
            table = at_one[row[few]]
            table -= over[few, None]
            np.subtract(log[few, None], np.exp(table, out=table), out=table)
            np.exp(table, out=table)
            table *= curves.weight[few, None]
            table *= believed if believed.ndim == 1 else believed[few]
            yield few, table


def _joined_with(curves: Curves, use: Use) -> tuple[Floats, Floats]:
    """Usage that a unit of average usage is worth on the curves' own terms, (U,), and how far each
    node of use is believed beside each curve, (curves, U) or alike for all (U,)."""
    if not isinstance(curves, JointCurves):
        return np.ones(len(use.weight)), use.weight
    untold = use.nodes.deviate_weight
    believed = (curves.share[:, :, None] * untold).reshape(len(curves), -1)
    return np.repeat(curves.pace, len(untold)), believed


def with_habits(aged: AgedCurves, before: Use, after: Use) -> AgedCurves:
    """The same pairs of curve and node, equally believed, under the habits ahead of `after`."""
    if before.ahead.shape != after.ahead.shape:
        raise ValueError("the two uses have other nodes; pair the curves with the second anew")
    slower = (before.ahead / after.ahead)[aged.node]
    return AgedCurves(
        aged.shape,
        aged.scale * slower,
        aged.weight,
        aged.age * slower,
        aged.entered * slower,
        aged.curve,
        aged.node,
    )


def chance_ahead(aged: AgedCurves, ahead: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """P(fail within each usage `ahead` (points,) | lasts today): posterior mean and the ends of the
    90 % credible interval, (points,) each."""
    usage = np.atleast_1d(np.asarray(ahead, dtype=float))
    chances = conditional_failure(aged.age, usage[:, None], aged.shape, aged.scale)
    ends = quantiles_of_rows(chances, aged.weight, [TAIL, 1 - TAIL])
    return chances @ aged.weight, ends[:, 0], ends[:, 1]


def _pairs(
    curves: Curves,
    use: Use,
    pace: Floats,
    believed: Floats,
    known_survival: tuple[float, float] | None,
    each: int | None,
) -> tuple[Ints, Ints, Floats]:
    """Index of the curve and of the node of each pair, and its weight. A curve's pairs together
    weigh what all its nodes do."""
    count, nodes = len(curves), len(use.weight)
    each = nodes if each is None else max(each, math.ceil(FEWEST / count))
    curve = np.repeat(np.arange(count), min(each, nodes))
    order = np.arange(nodes) if each >= nodes else by_hazard(use, pace)
    tables = _weights(
        curves,
        (use.entered * pace)[order],
        (use.age * pace)[order],
        believed[..., order],
        known_survival,
    )
    if each >= nodes:
        weight = np.concatenate([table.ravel() for _, table in tables])
        return curve, np.tile(order, count), weight / weight.sum()
    _, first, row = np.unique(curves.shape, return_index=True, return_inverse=True)
    along = np.arange(count) - first[row]
    shift = (0.5 + row * LATTICE[0] + along * LATTICE[1]) % 1
    share = (np.arange(each) + shift[:, None]) / each
    whole, found = np.empty(count), np.empty((count, each), dtype=np.int64)
    for few, table in tables:
        edges = np.cumsum(table, axis=1, out=table)
        whole[few] = edges[:, -1]
        at = share[few] * whole[few, None]
        found[few] = [edge.searchsorted(each_at) for edge, each_at in zip(edges, at, strict=True)]
    node = order[np.minimum(found, nodes - 1)].ravel()
    return curve, node, (whole / whole.sum())[curve] / each


def by_hazard(use: Use, pace: Floats | float = 1.0) -> Ints:
    """The nodes of use from the gentlest to the harshest, (U,), at each one's `pace`."""
    aged = np.log(use.age) if use.plain_age > 0 else np.zeros(len(use.weight))
    hazard = np.log(use.ahead) + STEEP * aged + (1 + STEEP) * np.log(pace)
    return np.argsort(hazard, kind="stable")
