"""What is not known of the warning as possible worlds: a factor on the lead and a silent share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.records import case
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

FACTORS, SILENT = 3, 2
"""Quadrature points over the lead's factor and over the silent share, where means are wanted."""

STEP, END = 0.75, 3.0
"""Where quantiles are wanted too, both are followed by such steps to such an end, in deviates: an
even grid stays close however samples tilt it."""


@dataclass(frozen=True, slots=True, eq=False)
class Worlds:
    """Possible worlds (W,), those of one factor side by side: the `factor` on the lead, the
    `silent` share, and how far each is believed before any sample, `weight`, which sums to 1."""

    factor: Floats
    silent: Floats
    weight: Floats


def few_worlds(warning: case.Warning) -> Worlds:
    """Gauss's rule for both: means are theirs."""
    return _every(warning.lead_factor.points(FACTORS), warning.silent.points(SILENT))


def fewest_worlds(warning: case.Warning) -> Worlds:
    """The same with the silent share at its mean: of what hangs on it once, means are theirs."""
    silent, weight = warning.silent.points(SILENT)
    return _every(warning.lead_factor.points(FACTORS), (np.array([silent @ weight]), np.ones(1)))


def many_worlds(warning: case.Warning) -> Worlds:
    """Enough of both that quantiles over them are theirs as well."""
    return _every(_evenly(warning.lead_factor), _evenly(warning.silent))


def _every(factors: tuple[Floats, Floats], shares: tuple[Floats, Floats]) -> Worlds:
    (factor, factor_weight), (silent, silent_weight) = factors, shares
    return Worlds(
        np.repeat(factor, len(silent)),
        np.tile(silent, len(factor)),
        np.outer(factor_weight, silent_weight).ravel(),
    )


def _evenly(quantity: Quantity) -> tuple[Floats, Floats]:
    if quantity.exact:
        return quantity.points(1)
    steps = round(END / STEP)
    deviate: Floats = np.linspace(-END, END, 2 * steps + 1)
    weight = np.exp(-(deviate**2) / 2)
    return quantity.quantile(deviate), weight / weight.sum()
