"""The effective age of one engine's part, and how fast it ages from now on.

Past stretches give today's effective age; the same harshness drives past and future, so both are
told at the same nodes. What is not told is drawn the same way in every untold stretch: to split
one in two, or not to know one's own habits either, must not average the doubt away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.case import Case, KindOfUse
from riskmodel.use.kinds import standard_kinds
from riskmodel.use.mix import UNKNOWN, Mix, mix_rate
from riskmodel.use.nodes import Nodes, nodes_over

Floats = NDArray[np.float64]

TAIL = 0.05
"""Mass left out at each end of a 90 % interval."""


@dataclass(frozen=True, slots=True)
class Range:
    """Median and the ends of the central 90 %."""

    median: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Use:
    """How one engine was used and will be, at U nodes of what is not known of it.

    `edges` (S + 1,) are plain ages of the part at which stretches begin and end, from 0 to today;
    `mixes` (S) how it was used in each, `mix_ahead` how it will be. `rates` (U, S) is the effective
    usage per unit of usage in each stretch, `ahead` (U,) from now on. `entered_at` is the plain
    age at which this owner's watch began. All usage is in the case's unit.
    """

    kinds: tuple[KindOfUse, ...]
    edges: Floats
    mixes: tuple[Mix, ...]
    mix_ahead: Mix
    entered_at: float
    nodes: Nodes
    rates: Floats
    ahead: Floats

    @property
    def plain_age(self) -> float:
        """Usage since the part was new."""
        return float(self.edges[-1])

    @cached_property
    def weight(self) -> Floats:
        """How far each node is believed before this engine's own survival, (U,); sums to 1."""
        return self.nodes.weight

    @cached_property
    def age(self) -> Floats:
        """Effective age today, (U,)."""
        return self.effective_age([self.plain_age])[:, 0]

    @cached_property
    def entered(self) -> Floats:
        """Effective age when the watch began, (U,)."""
        return self.effective_age([self.entered_at])[:, 0]

    def effective_age(self, ages: ArrayLike) -> Floats:
        """Effective ages (U, n) at plain `ages` (n,).

        Beyond today the part ages as from now on, before it was new (oil older than the part) as
        in its first stretch.
        """
        at = np.asarray(ages, dtype=float)
        starts = self.edges
        lengths = np.append(np.diff(self.edges), np.inf)
        within = np.clip(at[:, None] - starts, 0.0, lengths)
        within[:, 0] = np.minimum(at - starts[0], lengths[0])
        rates = np.column_stack([self.rates, self.ahead])
        return np.asarray(rates @ within.T)

    def mean_effective_age(self, ages: ArrayLike) -> Floats:
        """Mean effective ages (n,) at plain `ages` (n,): one number for each sample."""
        return np.asarray(self.weight @ self.effective_age(ages))

    def summary(self, values: Floats) -> Range:
        """Median and 90 % interval of `values` (U,) over the nodes."""
        middle, low, high = weighted_quantile(values, self.weight, [0.5, TAIL, 1 - TAIL])
        return Range(float(middle), float(low), float(high))

    def with_ahead(self, mix: Mix) -> Use:
        """The same past with other habits from now on, at the same nodes (more of them where only
        the use ahead is not told)."""
        return _joined(self.kinds, self.edges, self.mixes, mix, self.entered_at)

    def coarse(self) -> Use:
        """The same at a few nodes, for tables over other things as well."""
        return _joined(self.kinds, self.edges, self.mixes, self.mix_ahead, self.entered_at, True)


def use_of(case: Case) -> Use:
    """How the engine of `case` was used.

    A case that names no kinds of use and tells no shares has the standard kinds; one that tells of
    none but ordinary use has none. Usage that no stretch covers is not told. Habits ahead that are
    not stated are those of the last stretch. Raises ValueError where stretches go beyond today or
    backwards, or shares name other kinds or add up to more than 1; the reader of cases refuses
    such.
    """
    stretches, habits = case.use.stretches, "use.ahead" in case.stated or bool(case.use.ahead)
    kinds = case.use.kinds
    if not kinds and not habits and all(stretch.shares is None for stretch in stretches):
        kinds = tuple(kind.as_stated() for kind in standard_kinds(case.machine.unit))
    edges, mixes = [0.0], []
    for stretch in stretches:
        edges.append(stretch.until - case.part.fitted_at)
        mixes.append(Mix(dict(stretch.shares or {}), stretch.unknown))
    if edges[-1] < case.age:
        edges.append(case.age)
        mixes.append(UNKNOWN)
    if habits:
        ahead = Mix(dict(case.use.ahead))
    elif stretches:
        ahead = mixes[len(stretches) - 1]
    else:
        ahead = UNKNOWN
    return joined_use(kinds, edges, mixes, ahead, case.part.entered_at)


def joined_use(
    kinds: Sequence[KindOfUse],
    edges: Sequence[float],
    mixes: Sequence[Mix],
    ahead: Mix,
    entered_at: float = 0.0,
) -> Use:
    """A `Use` from its parts, see there: `edges` (S + 1), `mixes` (S). Raises ValueError where
    they do not fit together."""
    names = [kind.name for kind in kinds]
    at = np.asarray(edges, dtype=float)
    if len(at) != len(mixes) + 1 or at[0] != 0 or np.any(np.diff(at) <= 0):
        raise ValueError(f"stretches need growing ends from 0, one mix each, not {at.tolist()}")
    if not 0 <= entered_at <= at[-1]:
        raise ValueError(f"a watch cannot begin at {entered_at:g} on a part aged {at[-1]:g}")
    if sum(kind.population_share for kind in kinds) > 1 + 1e-9:
        raise ValueError("population shares add up to more than 1")
    for mix in (*mixes, ahead):
        if not set(mix.shares) <= set(names):
            raise ValueError(f"shares of {sorted(set(mix.shares) - set(names))}, kinds are {names}")
        if (
            min(mix.shares.values(), default=0.0) < 0
            or sum(mix.shares.values(), mix.ordinary) > 1 + 1e-9
        ):
            raise ValueError(f"shares lie between 0 and 1 and add up to at most 1: {mix.shares}")
    return _joined(tuple(kinds), at, tuple(mixes), ahead, entered_at)


def _joined(
    kinds: tuple[KindOfUse, ...],
    edges: Floats,
    mixes: tuple[Mix, ...],
    ahead: Mix,
    entered_at: float,
    coarse: bool = False,
) -> Use:
    nodes = nodes_over(kinds, any(mix.unknown for mix in (*mixes, ahead)), coarse)
    names = [kind.name for kind in kinds]
    reference = np.array([kind.population_share for kind in kinds])

    def rate(mix: Mix) -> Floats:
        return mix_rate(mix, names, nodes.harshness, reference, nodes.deviate).ravel()

    rates = np.array([rate(mix) for mix in mixes]).reshape(len(mixes), len(nodes.weight)).T
    return Use(kinds, edges, mixes, ahead, entered_at, nodes, rates, rate(ahead))
