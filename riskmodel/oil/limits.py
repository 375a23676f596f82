"""Alarm limits to draw for people: against the engine's own level, and against other engines.

The decision does not use them: it weighs every sample by its likelihood. Two kinds:

- own level: ln rate of a sample against the mean and scatter of the engine's other samples. With
  few samples the limit must lie farther out than two or three standard deviations, by the
  prediction limit of a normal (Hahn & Meeker 1991, Statistical Intervals, chapter 4, from memory).
- statistical, after ASTM D7720: mean plus k standard deviations only where the samples are
  many and look normal on the log scale, else percentages of their sorted distribution. The
  standard's own percentages were not at hand; those here are a judgement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr, stdtr, stdtrit

from riskmodel.oil.mass_balance import SampleRates

Floats = NDArray[np.float64]

FEWEST = 3
"""Samples from which a level of one's own can be told at all (common practice, no source)."""
FEWEST_NORMAL = 30
"""Samples for a usable normal range of one kind of engine (common practice, no source)."""
DEVIATIONS = (2.0, 3.0)
"""Warning and action limit, in standard deviations (common practice, no source)."""
FRACTIONS = (0.90, 0.95, 0.98)
"""Shares of other engines' samples that lie below a limit (judgement)."""
CONFIDENCE = 0.95
ALIKE = 1e-9
"""Samples of so small a range of ln rate are all alike but for rounding by the computer."""
MOST_TESTED = 5000
"""The Shapiro-Wilk test is made for no more samples than these (Royston 1995)."""
LOOKS_NORMAL = 0.05
"""Below this p-value of the Shapiro-Wilk test the samples don't look normal (judgement)."""


def false_alarm_chance(deviations: ArrayLike, samples: ArrayLike) -> Floats:
    """Chance that the next of a row of normal values lies above the mean of `samples` earlier ones
    plus so many of their standard deviations: P(t_{n-1} > k / sqrt(1 + 1/n)); broadcasts."""
    k, n = np.asarray(deviations, dtype=float), np.asarray(samples, dtype=float)
    return np.asarray(stdtr(n - 1, -k / np.sqrt(1 + 1 / n)))


def deviations_for(false_alarm: ArrayLike, samples: ArrayLike) -> Floats:
    """How many standard deviations above the mean give that chance; the inverse of the above."""
    chance, n = np.asarray(false_alarm, dtype=float), np.asarray(samples, dtype=float)
    return np.asarray(-stdtrit(n - 1, chance) * np.sqrt(1 + 1 / n))


@dataclass(frozen=True, eq=False, slots=True)
class OwnLimit:
    """One element of one engine, in ppm per 1,000 units of usage.

    `level` is the geometric mean of its `samples` used samples, `scatter` the factor of one
    standard deviation, `limit` what the next sample passes with chance `false_alarm` if nothing
    has changed. `against` (rows,) is the limit that each sample was held against, set by the
    other used ones; NaN where it was not measured or they are too few. `above` are the rows
    that lie above theirs.
    """

    level: float
    scatter: float
    limit: float
    samples: int
    false_alarm: float
    against: Floats
    above: tuple[int, ...]


def own_limit(
    rates: ArrayLike,
    used: ArrayLike | None = None,
    false_alarm: float = 0.02,
    least_spread: float = 0.0,
) -> OwnLimit | None:
    """The limit of one element from its `rates` (rows,), above 0, NaN where not measured.

    Rows not `used` are held against the limit and do not set it. The standard deviation of ln
    rate is at least `least_spread`: what rounding alone makes. None where fewer than three
    samples set it. Raises ValueError for a rate of 0 or below.
    """
    rates = np.asarray(rates, dtype=float)
    if (rates <= 0).any():
        raise ValueError("rates must be above 0: raise them to what the rounding can tell")
    if not 0 < false_alarm < 1:
        raise ValueError(f"false_alarm lies between 0 and 1, not {false_alarm}")
    log = np.log(rates)
    counted = np.isfinite(log) & (True if used is None else np.asarray(used, dtype=bool))
    if counted.sum() < FEWEST:
        return None

    def limit_by(values: Floats) -> float:
        spread = max(float(values.std(ddof=1)), least_spread)
        return float(np.exp(values.mean() + deviations_for(false_alarm, len(values)) * spread))

    against = np.full(len(log), np.nan)
    for i in np.flatnonzero(np.isfinite(log)):
        others = counted.copy()
        others[i] = False
        if others.sum() >= FEWEST:
            against[i] = limit_by(log[others])
    values = log[counted]
    return OwnLimit(
        level=float(np.exp(values.mean())),
        scatter=float(np.exp(max(values.std(ddof=1), least_spread))),
        limit=limit_by(values),
        samples=len(values),
        false_alarm=false_alarm,
        against=against,
        above=tuple(np.flatnonzero(rates > against).tolist()),
    )


def own_limits(rows: Sequence[SampleRates], false_alarm: float) -> dict[str, OwnLimit | None]:
    """The limits of every element measured in an engine's samples, by symbol.

    A rate less than the rounding can tell counts as half the most that the reading allows.
    """
    symbols = dict.fromkeys(symbol for row in rows for symbol in row.rates)
    used = np.array([row.used for row in rows], dtype=bool)
    found: dict[str, OwnLimit | None] = {}
    for symbol in symbols:
        value, rounding = np.full((2, len(rows)), np.nan)
        for i, row in enumerate(rows):
            rate = row.rates.get(symbol)
            if rate is not None:
                value[i] = max(rate.point, rate.high / 2)
                rounding[i] = (rate.high - rate.low) / np.sqrt(12) / value[i]
        told = rounding[used & np.isfinite(rounding)]
        least = float(np.sqrt((told**2).mean())) if len(told) else 0.0
        found[symbol] = own_limit(value, used, false_alarm, least)
    return found


@dataclass(frozen=True, slots=True)
class ControlLimit:
    """Mean of ln rate plus `deviations` standard deviations, and its chance of a false alarm."""

    deviations: float
    limit: float
    false_alarm: float


@dataclass(frozen=True, slots=True)
class PercentileLimit:
    """The rate below which a `fraction` of the samples lie; `limit` None where they are too few
    to tell. `at_most` is above that rate with 95 % confidence, None where no sample is."""

    fraction: float
    limit: float | None
    at_most: float | None


@dataclass(frozen=True, slots=True)
class FleetLimits:
    """Limits of one element from samples of other engines, in the unit of the rates.

    `looks_normal` is the p-value of the Shapiro-Wilk test on ln rate, None where the samples
    are too few or all alike; `parametric` whether the control limits may be used (many samples,
    that look normal); else the percentages are to be.
    """

    samples: int
    engines: int
    looks_normal: float | None
    parametric: bool
    control: tuple[ControlLimit, ...]
    percentile: tuple[PercentileLimit, ...]


def fleet_limits(rates: ArrayLike, engine: Sequence[str]) -> FleetLimits:
    """Limits from `rates` (samples,), above 0, of engines named in `engine` (samples,).

    Samples of one engine resemble each other: where few engines gave many samples the limits
    know less than their number says. Raises ValueError for fewer than three samples, a rate of
    0 or below, or columns of different length.
    """
    rates = np.asarray(rates, dtype=float)
    if len(rates) != len(engine):
        raise ValueError(f"{len(rates)} rates but {len(engine)} engines named")
    if len(rates) < FEWEST:
        raise ValueError(f"limits need at least {FEWEST} samples, not {len(rates)}")
    if not (rates > 0).all():
        raise ValueError("rates must be above 0: raise them to what the rounding can tell")
    log = np.log(rates)
    n, mean, spread = len(log), log.mean(), log.std(ddof=1)
    p_value = None
    if np.ptp(log) > ALIKE:
        from scipy.stats import shapiro  # slow to import, and seldom needed

        p_value = float(shapiro(log[:: n // MOST_TESTED + 1]).pvalue)
    return FleetLimits(
        samples=n,
        engines=len(set(engine)),
        looks_normal=p_value,
        parametric=n >= FEWEST_NORMAL and p_value is not None and p_value >= LOOKS_NORMAL,
        control=tuple(
            ControlLimit(k, float(np.exp(mean + k * spread)), float(false_alarm_chance(k, n)))
            for k in DEVIATIONS
        ),
        percentile=tuple(_percentile(np.sort(rates), p) for p in FRACTIONS),
    )


def above(rates: ArrayLike, limit: float | None) -> tuple[int, ...]:
    """Which of `rates` (rows,) lie above a limit; NaN and an untold limit: none."""
    if limit is None:
        return ()
    return tuple(np.flatnonzero(np.asarray(rates, dtype=float) > limit).tolist())


def _percentile(ranked: Floats, fraction: float) -> PercentileLimit:
    """At rank p (n + 1); the confidence limit is the order statistic of Wilks 1941 (Annals of
    Mathematical Statistics 12, 91-96)."""
    n = len(ranked)
    enough = fraction * (n + 1) <= n
    limit = float(np.quantile(ranked, fraction, method="weibull")) if enough else None
    covered = np.flatnonzero(bdtr(np.arange(n), n, fraction) >= CONFIDENCE)
    return PercentileLimit(fraction, limit, float(ranked[covered[0]]) if len(covered) else None)
