"""What is not known of how an engine was used, as a fixed set of nodes.

The harshness of each kind is not known, but it is the same for past and future and for every
engine; how an untold stretch was driven is another matter, of this engine alone. Nodes are
every combination of points over the one and points over the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.records.case import KindOfUse
from riskmodel.use.spread import even_grid, gauss_hermite, normal_points

Floats = NDArray[np.float64]

ALONE, OF_TWO = (0.25, 4.0), (0.5, 4.0)
"""Step and reach, in standard deviations, of the grid over one harshness, and over each of two."""
RARE = 1e-6
"""Nodes of less weight are left out."""
SPREAD = 256
"""Points, each with its mirror image, over more than two harshnesses."""
UNTOLD_FINE, UNTOLD = (0.25, 5.0), (1.0, 5.0)
"""Step and reach of the grid over what is not told: alone, and beside harshnesses."""
COARSE, COARSE_SPREAD = 3, 16
"""Gauss-Hermite points over each, and points over more than two, for a table over other things as
well."""


@dataclass(frozen=True, slots=True, eq=False)
class Nodes:
    """`harshness` (A, C) with weights (A,), `deviate` (B,) of what is not told with weights (B,);
    all U = A B nodes together run with the deviate fastest."""

    harshness: Floats
    harshness_weight: Floats
    deviate: Floats
    deviate_weight: Floats

    @property
    def weight(self) -> Floats:
        """(U,), sums to 1."""
        return np.outer(self.harshness_weight, self.deviate_weight).ravel()

    @property
    def shape(self) -> tuple[int, int]:
        """(A, B)."""
        return len(self.harshness_weight), len(self.deviate_weight)


def nodes_over(kinds: Sequence[KindOfUse], untold: bool, coarse: bool = False) -> Nodes:
    """Nodes over the harshness of `kinds` and, where anything is `untold`, over that; with `coarse`
    some thirty at most for the harshnesses and three for the rest."""
    z, weight = _normals(sum(not kind.harshness.exact for kind in kinds), coarse)
    columns = iter(z.T)
    still = np.zeros(len(weight))
    harshness = np.array(
        [k.harshness.quantile(still if k.harshness.exact else next(columns)) for k in kinds]
    ).reshape(len(kinds), len(weight))
    deviate, share = np.zeros(1), np.ones(1)
    if untold:
        fine = even_grid(*(UNTOLD_FINE if len(weight) == 1 else UNTOLD))
        deviate, share = gauss_hermite(COARSE) if coarse else fine
    return Nodes(harshness.T, weight, deviate, share)


def _normals(dimensions: int, coarse: bool) -> tuple[Floats, Floats]:
    """Standard normal deviates (A, dimensions) and their weights (A,)."""
    if dimensions == 0:
        return np.zeros((1, 0)), np.ones(1)
    if dimensions > 2:
        z = normal_points(COARSE_SPREAD if coarse else SPREAD, dimensions)
        return z, np.full(len(z), 1 / len(z))
    fine = even_grid(*(ALONE if dimensions == 1 else OF_TWO))
    at, share = gauss_hermite(COARSE) if coarse else fine
    z = np.stack(np.meshgrid(*[at] * dimensions, indexing="ij"), axis=-1).reshape(-1, dimensions)
    weight = np.stack(np.meshgrid(*[share] * dimensions, indexing="ij"), axis=-1)
    weight = weight.reshape(-1, dimensions).prod(axis=1)
    some = weight > RARE
    return z[some], weight[some] / weight[some].sum()
