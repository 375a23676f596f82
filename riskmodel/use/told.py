"""How one engine was driven, as far as it is told: stretch by stretch, and its effective age."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.records.case import KindOfUse
from riskmodel.use.effective_age import Range, Use
from riskmodel.use.mix import UNKNOWN, Mix

Floats = NDArray[np.float64]

AHEAD = 0.25
"""How far beyond today ageing is drawn, as a share of the plain age."""


@dataclass(frozen=True, slots=True)
class StretchTold:
    """Usage of the part from plain age `start` to `end`, driven as `mix`.

    `counts` is what it aged the part by, in usage of the kind on record. `earlier` tells that it
    lies before this owner's watch began.
    """

    start: float
    end: float
    mix: Mix
    counts: Range
    earlier: bool


@dataclass(frozen=True, slots=True)
class UseTold:
    """`age` is the effective age today at `plain_age`, `ahead` the effective usage per unit of
    usage from now on, driven as `mix_ahead`. `at` are plain ages, those of the ends of stretches
    and one beyond today, and `ages` the effective ages there; `kinds` are those counted with."""

    kinds: tuple[KindOfUse, ...]
    plain_age: float
    age: Range
    stretches: tuple[StretchTold, ...]
    mix_ahead: Mix
    ahead: Range
    at: tuple[float, ...]
    ages: tuple[Range, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing at all is told, of the past or of the use ahead."""
        mixes = (self.mix_ahead, *(each.mix for each in self.stretches))
        return all(mix == UNKNOWN for mix in mixes)


def use_told(use: Use) -> UseTold:
    """What is believed of the use of one engine, before its own survival."""
    edges = use.edges.tolist()
    lengths = np.diff(use.edges)
    stretches = tuple(
        StretchTold(
            start=edges[i],
            end=edges[i + 1],
            mix=mix,
            counts=use.summary(use.rates[:, i] * lengths[i]),
            earlier=edges[i + 1] <= use.entered_at,
        )
        for i, mix in enumerate(use.mixes)
    )
    at = [*edges, use.plain_age * (1 + AHEAD)] if use.plain_age > 0 else edges
    ages = tuple(use.summary(age) for age in use.effective_age(at).T)
    return UseTold(
        use.kinds,
        use.plain_age,
        use.summary(use.age),
        stretches,
        use.mix_ahead,
        use.summary(use.ahead),
        tuple(at),
        ages,
    )
