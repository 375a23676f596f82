"""How far distress lifts the wear that one fill of oil has gathered.

From its onset to failure the rate of wear climbs, evenly on the log scale, from the usual one
to `rise` times the usual one. A reading tells the average over the life of the oil, so distress
that began half a fill ago is half hidden by the oil from before it.

The delay from onset to failure is the delay time of Christer & Waller 1984 (Journal of the
Operational Research Society 35, 401-406) and the P-F interval of SAE JA1012; the course of wear
within it is a judgement.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def onset_age(failure: ArrayLike, lead: ArrayLike) -> Floats:
    """The age at which distress begins, max(failure - lead, 0); broadcasts."""
    failure, lead = np.asarray(failure, dtype=float), np.asarray(lead, dtype=float)
    return np.asarray(np.maximum(failure - lead, 0.0))


def distress(age: ArrayLike, onset: ArrayLike, failure: ArrayLike) -> Floats:
    """The share c of the way from onset to failure that is done at `age`: 0 until onset, 1 from
    failure on; broadcasts. With no way between the two it leaps from 0 to 1 just after them.
    """
    age, onset = np.asarray(age, dtype=float), np.asarray(onset, dtype=float)
    lead = np.asarray(failure, dtype=float) - onset
    done = age - onset
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        share = np.where(done > 0, np.where(lead > 0, done / lead, 1.0), 0.0)
    return np.asarray(np.minimum(share, 1.0))


def log_fill_mean(
    onset: ArrayLike,
    failure: ArrayLike,
    at: ArrayLike,
    oil_age: ArrayLike,
    log_rise: ArrayLike,
    top_up_rate: ArrayLike = 0.0,
) -> Floats:
    """ln m, m the mean of rise^c(s) over the life of the oil, s from at - oil_age to `at`.

    s weighs exp(-top_up_rate (at - s)): topping up thins what was worn off earlier. `onset`,
    `failure`, `at` and `oil_age` (above 0) are usages in one unit, `top_up_rate` (not below 0)
    is per that unit: the volume topped up per usage over the sump's. All broadcast.

    In closed form; no piece of it loses accuracy as the lead, `log_rise` or `top_up_rate` go to 0.
    """
    return fill_pieces(onset, failure, at, oil_age, top_up_rate).log_mean(log_rise)


@dataclass(frozen=True, eq=False, slots=True)
class FillPieces:
    """What does not depend on the rise, by pieces of the oil's life; arrays broadcast.

    `before` and `after` are the shares of the weight before the onset and after failure. Between
    the two wear climbs along an exponential: from its end, where distress has `reached` a share
    of its way, back over `climbed`; that piece weighs `weight` at its end and fades by `fades`.
    """

    before: Floats
    after: Floats
    weight: Floats
    reached: Floats
    climbed: Floats
    fades: Floats

    def log_mean(self, log_rise: ArrayLike) -> Floats:
        """ln of the mean of rise^c over the fill; broadcasts."""
        log_rise = np.asarray(log_rise, dtype=float)
        climbing = np.exp(log_rise * self.reached) * _mean_decay(
            self.fades + log_rise * self.climbed
        )
        mean = self.before + self.weight * climbing
        if np.any(self.after):
            mean = mean + self.after * np.exp(log_rise)
        return np.asarray(np.log(mean))


def fill_pieces(
    onset: ArrayLike,
    failure: ArrayLike,
    at: ArrayLike,
    oil_age: ArrayLike,
    top_up_rate: ArrayLike = 0.0,
) -> FillPieces:
    """The pieces of a fill, for one or many rises; arguments as of `log_fill_mean`."""
    onset, failure, at, age = (np.asarray(v, dtype=float) for v in (onset, failure, at, oil_age))
    rate = np.asarray(top_up_rate, dtype=float)
    start = at - age
    first = np.clip(onset, start, at)
    last = np.maximum(np.minimum(failure, at), first)
    whole = age * _mean_decay(rate * age)
    reached = distress(last, onset, failure)

    def weight(begin: Floats, end: Floats) -> Floats:
        """The share of the fill's weight between two usages."""
        width = end - begin
        return np.asarray(np.exp(-rate * (at - end)) * width * _mean_decay(rate * width) / whole)

    return FillPieces(
        before=weight(start, first),
        after=weight(last, at),
        weight=np.asarray(np.exp(-rate * (at - last)) * (last - first) / whole),
        reached=reached,
        climbed=np.asarray(reached - distress(first, onset, failure)),
        fades=np.asarray(rate * (last - first)),
    )


def _mean_decay(total: Floats) -> Floats:
    """The mean of exp(-total s) for s from 0 to 1: (1 - exp(-total)) / total, 1 at 0."""
    less, none = -total, total == 0
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.asarray(np.expm1(less) / less)
    return np.where(none, 1.0, mean) if none.any() else mean
