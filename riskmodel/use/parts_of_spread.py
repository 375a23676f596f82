"""How much of what is not known about a chance comes from each thing that is not known.

The law of total variance: Var(f) = Var(E[f | X]) + E[Var(f | X)]. The first term over the whole
is the share of the variance that goes away on average once X is known: the first-order index of
Sobol' (2001, Mathematics and Computers in Simulation 55, 271-280). What no single thing explains
comes from several acting together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_failure
from riskmodel.use.aged import aged_curves
from riskmodel.use.effective_age import Use

Floats = NDArray[np.float64]

RECORDS, HARSHNESS, HISTORY, LEAD, OIL = ("records", "harshness", "history", "lead", "oil")


@dataclass(frozen=True, slots=True)
class SpreadParts:
    """Shares of a variance, `names` and `shares` in one order; with `together` they add up to 1
    (all are 0 where nothing varies). `deviation` is the standard deviation explained."""

    names: tuple[str, ...]
    shares: tuple[float, ...]
    together: float
    deviation: float


def parts_of_spread(values: Floats, weight: Floats, names: Sequence[str]) -> SpreadParts:
    """Split the variance of `values` under `weight`, both with one axis for each of `names`.

    Where evidence has made the axes depend on one another, shares overlap; those that then add
    up to more than 1 are scaled down to it.
    """
    if values.shape != weight.shape or values.ndim != len(names):
        raise ValueError(f"{values.shape} values, {weight.shape} weights, {len(names)} names")
    weight = weight / weight.sum()
    mean = float((values * weight).sum())
    about = values - mean
    variance = float((about**2 * weight).sum())
    if variance <= (1e-12 * mean) ** 2:
        return SpreadParts(tuple(names), (0.0,) * len(names), 0.0, 0.0)
    shares = []
    for axis in range(values.ndim):
        others = tuple(i for i in range(values.ndim) if i != axis)
        mass = weight.sum(axis=others)
        sums = (about * weight).sum(axis=others)
        with np.errstate(invalid="ignore", divide="ignore"):
            explained = np.where(mass > 0, sums**2 / mass, 0.0).sum()
        shares.append(float(explained) / variance)
    whole = max(sum(shares), 1.0)
    shares = [share / whole for share in shares]
    return SpreadParts(
        tuple(names), tuple(shares), max(0.0, 1 - sum(shares)), float(np.sqrt(variance))
    )


def chance_table(
    curves: Curves, use: Use, ahead: float, known_survival: tuple[float, float] | None
) -> tuple[Floats, Floats]:
    """P(fail within usage `ahead` | lasts today) and weights, (curves, A, B) each: by life curve,
    by harshness and by what is not told of the past. See `aged_curves` for the rest."""
    aged = aged_curves(curves, use, known_survival, each=None)
    chance = conditional_failure(aged.age, ahead, aged.shape, aged.scale)
    shape = (len(curves), *use.nodes.shape)
    return chance.reshape(shape), aged.weight.reshape(shape)


def chance_parts(
    curves: Curves, use: Use, ahead: float, known_survival: tuple[float, float] | None
) -> SpreadParts:
    """Where the uncertainty of the chance ahead comes from, without oil samples: life records,
    harshness, history. With samples, a table of the same first three axes and two more, the
    factor on the lead and the silent share, goes to `parts_of_spread` with `LEAD` and `OIL`."""
    values, weight = chance_table(curves, use.coarse(), ahead, known_survival)
    return parts_of_spread(values, weight, (RECORDS, HARSHNESS, HISTORY))
