"""How fast a mix of kinds of use ages a part, and what is not known where a mix is not told.

A stretch under shares s of kinds with harshness k ages the part by its length times
(1 + sum s (k - 1)) / (1 + sum ref (k - 1)), ref the population's own shares: cumulative
exposure, in which only the exposure gathered counts, not its order (Nelson 1980, IEEE
Transactions on Reliability R-29, 103-108; Nelson, Accelerated Testing, chapter 10).

Shares that are not told are drawn about the population's: from engine to engine they follow a
Dirichlet distribution whose mean is the population's mix, so that such a stretch ages as the
population does on average, whatever the harshness. Of the ageing rate that gives the exact mean
and variance; its form is taken as lognormal. `UNNAMED` widens it by what no kind names.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

ALIKE = 4.0
"""How alike engines are in their mix (the Dirichlet's concentration): a share that is 0.3 in the
population is 0.3 with standard deviation 0.2 in one engine. Judgement."""

UNNAMED = Quantity(0.9, 1 / 0.9)
"""Ageing by uses that no kind names, where a stretch is not told: judgement."""


@dataclass(frozen=True, slots=True)
class Mix:
    """Shares of usage by kind. What they leave is ordinary use or, with `unknown`, is shared among
    the other kinds and ordinary use as nobody knows; `ordinary` of it is known to be ordinary."""

    shares: Mapping[str, float] = field(default_factory=dict)
    unknown: bool = False
    ordinary: float = 0.0

    @property
    def left(self) -> float:
        """The share of which nothing is told."""
        return max(0.0, 1.0 - sum(self.shares.values()) - self.ordinary)

    def without(self, names: Sequence[str]) -> Mix:
        """The same with nothing of the kinds `names`: what was known of them becomes ordinary use;
        among what is not told they are left out."""
        if not self.unknown:
            return Mix({name: share for name, share in self.shares.items() if name not in names})
        given_up = sum(self.shares.get(name, 0.0) for name in names)
        shares = {**self.shares, **dict.fromkeys(names, 0.0)}
        return Mix(shares, True, self.ordinary + given_up)


UNKNOWN = Mix(unknown=True)


def ageing_rate(shares: ArrayLike, harshness: ArrayLike, reference: ArrayLike) -> Floats:
    """Effective usage per unit of usage under a mix; 1 under the population's own.

    `shares` (..., C), `harshness` (..., C) and `reference` (C,) broadcast; gives (...).
    """
    above = np.asarray(harshness, dtype=float) - 1
    mix = 1 + (np.asarray(shares, dtype=float) * above).sum(axis=-1)
    usual = 1 + (np.asarray(reference, dtype=float) * above).sum(axis=-1)
    return np.asarray(mix / usual)


def mix_rate(
    mix: Mix, names: Sequence[str], harshness: Floats, reference: Floats, deviate: Floats
) -> Floats:
    """The ageing rate of `mix` at each harshness (A, C) and each deviate (B,) of what is not told:
    (A, B). `names` and `reference` (C,) are the kinds and the population's shares."""
    shares = np.array([mix.shares.get(name, 0.0) for name in names])
    rate = ageing_rate(shares, harshness, reference)[:, None]
    if not mix.unknown or mix.left == 0:
        return np.broadcast_to(rate, (len(harshness), len(deviate))).copy()
    other = np.array([name not in mix.shares for name in names])
    usual = ageing_rate(reference, harshness, np.zeros(len(names)))[:, None]
    rest = _not_told(harshness, reference, other)
    drawn = rest.mean[:, None] * np.exp(
        rest.spread[:, None] * deviate - rest.spread[:, None] ** 2 / 2
    )
    return np.asarray(rate + mix.left * (drawn - 1) / usual)


@dataclass(frozen=True, slots=True)
class NotTold:
    """Ageing by a part of usage of which no shares are told, against ordinary use: mean and spread
    of its logarithm at each harshness; (A,) each."""

    mean: Floats
    spread: Floats


def _not_told(harshness: Floats, reference: Floats, other: NDArray[np.bool_]) -> NotTold:
    """Of usage divided among the kinds `other` (C,) and ordinary use."""
    ordinary = max(0.0, 1.0 - float(reference.sum()))
    share = np.append(np.where(other, reference, 0.0), ordinary)
    every = np.column_stack([harshness, np.ones(len(harshness))])
    whole = float(share.sum())
    varying = math.exp(UNNAMED.spread**2)
    if whole <= 0:  # nothing of this in the population: taken as ordinary use
        mean, varies = np.ones(len(harshness)), np.zeros(len(harshness))
    else:
        share = share / whole
        mean = every @ share
        # some components of a Dirichlet, given the others, are Dirichlet with their own share
        # of the concentration
        about = ((every - mean[:, None]) ** 2) @ share
        varies = about / (ALIKE * whole + 1) / mean**2
    return NotTold(mean, np.sqrt(np.log((1 + varies) * varying)))
