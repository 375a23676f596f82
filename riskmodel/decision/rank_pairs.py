"""The life curves of one of many machines, paired with what is not known of how it was used.

`weigh` pairs every curve with as many nodes of use, thousands of pairs in all; here there is time
for some 450. So a curve has the more nodes the further it is believed, one at least, and
those hardly believed are left out; then the pairs are weighed so that their mean chances are those
of all pairs. (One node for every curve alike, whoever believed it, left chances where nothing is
told of the use up to 5 % low, and the upper ends of their intervals up to 17 %.)
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.life.joint_curves import JointCurves
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_failure, log_hazard_ahead
from riskmodel.use.aged import LATTICE, AgedCurves, aged_curves, by_hazard
from riskmodel.use.effective_age import Use

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

PAIRS = 200
"""So many pairs of equal belief there would be, were not every curve to have one at least."""
RARE = 1e-5
"""Curves believed less than this share of the likeliest are left out."""
MOST = 50_000
"""Where there are no more pairs in all they are of every node of use, else of a few: these have the
same mean chances."""
EACH_JOINT = 8
"""Where harshness is joined with the curves, so many nodes of use for each stand for all: a few
alike for all curves do not tell what belongs to one, and every node would take too long."""
LEAST, GREATEST = 0.25, 4.0
"""No pair is weighed anew by less or by more."""


def paired(
    curves: Curves, use: Use, known_survival: tuple[float, float], ahead: ArrayLike
) -> AgedCurves:
    """The pairs of one machine; mean chances to fail within each usage `ahead` are those of all
    pairs. `known_survival` as in `aged_curves`."""
    curves = believed(curves)
    joined = isinstance(curves, JointCurves)
    if not joined and len(curves) * len(use.weight) > MOST:
        use = use.coarse()
    every = aged_curves(curves, use, known_survival, EACH_JOINT if joined else None)
    if len(every) <= PAIRS:
        return every
    nodes = len(every) // len(curves)
    order = np.arange(nodes) if nodes < len(use.weight) else by_hazard(use)
    horizons = np.atleast_1d(ahead)
    if joined:
        chances = [conditional_failure(every.age, h, every.shape, every.scale) for h in horizons]
    else:
        chances = [_chance(curves, use, h) for h in horizons]
    some, weight = _some(every.weight.reshape(len(curves), nodes), order, curves)
    weight = _as_all(chances, every.weight, some, weight)
    return AgedCurves(
        every.shape[some],
        every.scale[some],
        weight,
        every.age[some],
        every.entered[some],
        every.curve[some],
        every.node[some],
    )


def believed(curves: Curves) -> Curves:
    """Without those hardly believed."""
    some = curves.weight > RARE * curves.weight.max()
    weight = curves.weight[some]
    found = replace(
        curves, shape=curves.shape[some], scale=curves.scale[some], weight=weight / weight.sum()
    )
    if isinstance(found, JointCurves):
        found = replace(found, share=found.share[some])
    return found


def _some(table: Floats, order: Ints, curves: Curves) -> tuple[Ints, Floats]:
    """Index of some of all pairs, of weights `table` (curves, nodes), and the weight of each. A
    curve's pairs are evenly spread over its nodes, in their `order` by hazard, and together weigh
    what all its nodes do; where they begin differs from curve to curve, as in `aged_curves`."""
    count, nodes = table.shape
    upto = np.cumsum(table[:, order])
    end = upto[nodes - 1 :: nodes]
    whole = np.diff(end, prepend=0.0)
    many = np.clip(np.ceil(PAIRS * whole), 1, nodes).astype(np.int64)
    curve = np.repeat(np.arange(count), many)
    number = np.arange(len(curve)) - np.repeat(np.cumsum(many) - many, many)
    _, first, row = np.unique(curves.shape, return_index=True, return_inverse=True)
    along = np.arange(count) - first[row]
    shift = (0.5 + row * LATTICE[0] + along * LATTICE[1]) % 1
    left = (1 - (number + shift[curve]) / many[curve]) * whole[curve]
    place = np.searchsorted(upto, end[curve] - left)
    place = np.clip(place, curve * nodes, curve * nodes + nodes - 1)
    return curve * nodes + order[place - curve * nodes], whole[curve] / many[curve] / end[-1]


def _chance(curves: Curves, use: Use, ahead: float) -> Floats:
    """The chance of every pair to fail within a usage `ahead`, nodes running fastest. Curves of one
    shape differ in a factor on the hazard alone."""
    shapes, row = np.unique(curves.shape, return_inverse=True)
    middle = np.exp(curves.weight @ np.log(curves.scale))
    there = np.exp(log_hazard_ahead(use.age, ahead * use.ahead, shapes[:, None], middle))
    hazard = there[row] * ((curves.scale / middle) ** -curves.shape)[:, None]
    return np.asarray(-np.expm1(-hazard).ravel())


def _as_all(chances: list[Floats], all_weight: Floats, some: Ints, weight: Floats) -> Floats:
    """The weights of `some` pairs, moved as little as makes their mean `chances` those of all: the
    regression estimator of a mean over a population of known totals (Deville & Särndal 1992,
    Journal of the American Statistical Association 87, 376-382, from memory)."""
    wanted = np.array([each @ all_weight for each in chances])
    told = np.array([each[some] for each in chances])
    mean = told @ weight
    off = (told - mean[:, None]) / np.where(mean > 0, mean, 1.0)[:, None]
    spread = (off * weight) @ off.T
    moved = np.linalg.lstsq(spread, wanted / np.where(mean > 0, mean, 1.0) - 1, rcond=1e-6)[0]
    found = weight * np.clip(1 + moved @ off, LEAST, GREATEST)
    return np.asarray(found / found.sum())
