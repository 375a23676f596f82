"""What is usual: the level and the scatter of one element, learned from other engines' samples.

ln rate = level of the engine + sigma t4, levels normal between engines: the one-way random-effects
model with the heavy-tailed scatter of the oil model (sigma multiplies a plain Student t with 4
degrees of freedom, so that one odd sample does not widen everything). The mean level is integrated
out with a flat prior, which gives the restricted likelihood (Patterson & Thompson 1971, Biometrika
58, 545-554); the two spreads have broad priors, since a handful of engines tells little of how
engines differ (Gelman 2006, Bayesian Analysis 1, 515-534). All by quadrature on even grids.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline
from scipy.special import gammaln, ndtr

from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

DEGREES = 4.0
BETWEEN_PRIOR = Quantity(0.2, 1.25)
"""Standard deviation of ln level between engines of one kind (judgement)."""
WITHIN_PRIOR = Quantity(0.1, 0.9)
"""sigma of ln rate within an engine (judgement)."""
WHOLE = 3.0
"""The priors are followed this many standard deviations to either side."""
COARSE, FINE = 10, 15
"""Grid points over each spread: to find where they lie, and to weigh."""
KEPT = 12.0
"""Log likelihood below the highest at which a spread no longer counts."""
FAR = 6.0
"""The grids of levels reach so many sigma beyond the data."""
LEAST = -300.0
"""Log of what counts as nothing: numbers below the smallest normal one are slow to multiply."""
MOST_LEVELS = 2000
"""Points on a grid of levels."""


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual of one element, ready to stand in a case.

    `typical` is the central 90 % range of another engine's usual level, in the unit of the
    rates; `scatter` the factor of one sample about it, with its own 90 % range. `between` is
    the standard deviation of ln level between engines. With few engines `typical` and
    `between` rest on the prior as much as on the samples.
    """

    typical: Quantity
    scatter: float
    scatter_range: tuple[float, float]
    between: float
    between_range: tuple[float, float]
    engines: int
    samples: int


def usual(
    rates: ArrayLike,
    engine: Sequence[str],
    noise: ArrayLike = 0.0,
    *,
    between: Quantity = BETWEEN_PRIOR,
    within: Quantity = WITHIN_PRIOR,
) -> Usual:
    """Learn from `rates` (samples,), above 0, of the engines named in `engine` (samples,).

    `noise` is what the laboratory adds to a sample's ln rate, one standard deviation, one for
    all or (samples,): it is kept out of the scatter. `between` and `within` are the priors of
    the two spreads. Raises ValueError for no samples, a rate of 0 or below, or columns of
    different length.
    """
    rates = np.asarray(rates, dtype=float)
    if len(rates) != len(engine):
        raise ValueError(f"{len(rates)} rates but {len(engine)} engines named")
    if not len(rates):
        raise ValueError("nothing to learn from: no samples")
    if not (rates > 0).all():
        raise ValueError("rates must be above 0: raise them to what the rounding can tell")
    log, names = np.log(rates), np.unique(np.asarray(engine), return_inverse=True)[1]

    def weigh(s: Floats, sigma: Floats) -> tuple[Floats, list[list[_ByMean]]]:
        pairs = [[_ByMean(*pair) for pair in row] for row in _pairs(log, names, s, sigma, noise)]
        told = np.array([[pair.total for pair in row] for row in pairs])
        return told + _log_prior(s, between)[:, None] + _log_prior(sigma, within), pairs

    s, sigma = (prior.quantile(np.linspace(-WHOLE, WHOLE, COARSE)) for prior in (between, within))
    found, _ = weigh(s, sigma)
    s, sigma = _where(s, found.max(axis=1)), _where(sigma, found.max(axis=0))
    found, pairs = weigh(s, sigma)
    weight = np.exp(found - found.max())
    # Another engine's level: normal about the mean level, over all that is not known of both.
    middle, spread, share = (
        np.concatenate(part)
        for part in zip(
            *(
                (pair.means, np.full(len(pair.means), s[i]), weight[i, g] * pair.share)
                for i, row in enumerate(pairs)
                for g, pair in enumerate(row)
            ),
            strict=True,
        )
    )
    low, high = (_mixture_quantile(chance, middle, spread, share) for chance in (0.05, 0.95))
    s_low, s_mid, s_high = _quantiles(np.log(s), weight.sum(axis=1), (0.05, 0.5, 0.95))
    g_low, g_mid, g_high = _quantiles(np.log(sigma), weight.sum(axis=0), (0.05, 0.5, 0.95))
    return Usual(
        typical=Quantity(float(np.exp(low)), float(np.exp(high))),
        scatter=float(np.exp(np.exp(g_mid))),
        scatter_range=(float(np.exp(np.exp(g_low))), float(np.exp(np.exp(g_high)))),
        between=float(np.exp(s_mid)),
        between_range=(float(np.exp(s_low)), float(np.exp(s_high))),
        engines=int(names.max()) + 1,
        samples=len(rates),
    )


def restricted_log_likelihood(
    log_rates: ArrayLike,
    engine: Sequence[str],
    between: ArrayLike,
    within: ArrayLike,
    noise: ArrayLike = 0.0,
    degrees: float = DEGREES,
) -> Floats:
    """ln of the restricted likelihood at each `between` (S,) and `within` (G,): (S, G).

    `log_rates` (samples,); `degrees` of the Student t, infinite for the normal, of which this
    is then the well-known REML.
    """
    names = np.unique(np.asarray(engine), return_inverse=True)[1]
    log, s, sigma = (np.asarray(v, dtype=float) for v in (log_rates, between, within))
    pairs = _pairs(log, names, s, sigma, noise, degrees)
    return np.array([[_ByMean(*pair).total for pair in row] for row in pairs])


class _ByMean:
    """For one pair of spreads: mean levels (M,), how far each is believed (sums to 1), and ln of
    the likelihood with the mean level integrated out."""

    def __init__(self, means: Floats, log_told: Floats) -> None:
        top = float(log_told.max())
        told = np.exp(log_told - top)
        self.means, self.share = means, told / told.sum()
        self.total = top + float(np.log(told.sum() * (means[1] - means[0])))


def _pairs(
    log: Floats,
    names: NDArray[np.intp],
    s: Floats,
    sigma: Floats,
    noise: ArrayLike,
    degrees: float = DEGREES,
) -> list[list[tuple[Floats, Floats]]]:
    """For each s (rows) and sigma: mean levels (M,), and ln of the likelihood at each (M,).

    Each engine's own level is integrated out on an even grid, as fine as the sharpest needs.
    """
    order = np.argsort(names, kind="stable")
    noise = np.broadcast_to(np.asarray(noise, dtype=float), log.shape)[order]
    log, counts = log[order], np.bincount(names)
    begins = np.cumsum(counts) - counts
    found: list[list[tuple[Floats, Floats]]] = [[] for _ in s]
    for within in sigma.tolist():
        scale = np.hypot(within, noise)
        narrow = float(scale.min()) / np.sqrt(counts.max())
        levels = _even(log, FAR * float(scale.max()), min(narrow, float(s.min())))
        each = _log_density((log[:, None] - levels) / scale[:, None], degrees)
        own = np.add.reduceat(each - np.log(scale)[:, None], begins, axis=0)
        top = own.max(axis=1)
        told = np.exp(np.maximum(own - top[:, None], LEAST))
        for row, between in zip(found, s.tolist(), strict=True):
            engines = np.sqrt(len(counts))
            reach = (4 * between + FAR * float(scale.max())) / engines
            means = _even(log, reach, np.hypot(between, narrow) / engines)
            away = (levels[:, None] - means) / between
            kernel = np.exp(np.maximum(-(away**2) / 2, LEAST)) * (levels[1] - levels[0])
            of_engines = np.log(told @ kernel / (between * np.sqrt(2 * np.pi))).sum(axis=0)
            row.append((means, of_engines + top.sum()))
    return found


def _even(log: Floats, reach: float, sharp: float) -> Floats:
    """An even grid over the data and `reach` more, to integrate what is `sharp` wide."""
    low, high = log.min() - reach, log.max() + reach
    return np.linspace(low, high, int(np.clip((high - low) / (0.7 * sharp), 50, MOST_LEVELS)))


def _mixture_quantile(chance: float, middle: Floats, spread: Floats, share: Floats) -> float:
    """Of a mixture of normals (components,), by bisection."""
    counts = share > 1e-9 * share.max()
    middle, spread, share = middle[counts], spread[counts], share[counts] / share[counts].sum()
    low, high = float(np.min(middle - 4 * spread)), float(np.max(middle + 4 * spread))
    for _ in range(45):
        at = (low + high) / 2
        below = share @ ndtr((at - middle) / spread)
        low, high = (at, high) if below < chance else (low, at)
    return at


def _log_density(z: Floats, degrees: float) -> Floats:
    """ln of Student's t density; of the normal's where `degrees` is infinite."""
    if np.isinf(degrees):
        return np.asarray(-(z**2) / 2 - np.log(2 * np.pi) / 2)
    constant = gammaln((degrees + 1) / 2) - gammaln(degrees / 2) - np.log(degrees * np.pi) / 2
    return np.asarray(constant - (degrees + 1) / 2 * np.log1p(z**2 / degrees))


def _log_prior(spread: Floats, prior: Quantity) -> Floats:
    """On the log scale, up to a constant."""
    return np.asarray(-(((np.log(spread) - np.log(prior.median)) / prior.spread) ** 2) / 2)


def _where(spread: Floats, profile: Floats) -> Floats:
    """A finer grid over the part of a coarse one that still counts, one point more each side."""
    kept = np.flatnonzero(profile > profile.max() - KEPT)
    first, last = max(kept[0] - 1, 0), min(kept[-1] + 1, len(spread) - 1)
    return np.asarray(np.geomspace(spread[first], spread[last], FINE))


def _quantiles(at: Floats, weight: Floats, wanted: Sequence[float]) -> list[float]:
    """Of a smooth density known, up to a factor, at even points."""
    fine = np.linspace(at[0], at[-1], 20 * len(at) + 1)
    log = CubicSpline(at, np.log(np.maximum(weight, 1e-30 * weight.max())))(fine)
    below = np.cumsum(np.exp(log - log.max()))
    return [float(v) for v in np.interp(np.asarray(wanted) * below[-1], below, fine)]
