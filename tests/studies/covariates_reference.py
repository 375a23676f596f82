"""The covariate model written out from its definition alone, to check the package against.

Shares no code with the package: one plain sum over records, the visible lead averaged over
many equally likely values, effects sampled by importance sampling with a multivariate t about
the mode. Slow, and exact but for sampling noise, which is reported.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

Floats = NDArray[np.float64]

Z90 = 1.6448536269514722


@dataclass(frozen=True)
class Parts:
    """Records as plain columns; `terms` (n, p) are each part's own."""

    age: Floats
    outcome: Sequence[str]
    age_from: Floats
    entered_at: Floats
    weight: Floats
    terms: Floats


def log_likelihood(
    parts: Parts,
    b: Floats,
    log_scale: Floats,
    lead: tuple[float, float] | None = None,
    error: float = 0.1,
    leads: int = 400,
) -> Floats:
    """At nodes: shapes `b` (K,), `log_scale` (K, n) of each part.

    The visible lead is averaged over so many equally likely values.
    """
    outcome = np.array(parts.outcome)
    shape, scale = b[:, None], np.exp(log_scale)
    between = (outcome == "failed") & ~np.isnan(parts.age_from)
    exact = (outcome == "failed") & ~between
    entered = (parts.entered_at / scale) ** shape
    lived = (parts.age / scale) ** shape
    value = entered - lived
    rate = np.log(shape / scale) + (shape - 1) * np.log(parts.age / scale)
    value[:, exact] += rate[:, exact]
    start = (parts.age_from[between] / scale[:, between]) ** shape
    first, last = (entered[:, between] - h for h in (start, lived[:, between]))
    value[:, between] = np.log(np.exp(first) - np.exp(last))
    looked = (outcome == "removed_worn") | (outcome == "removed_unworn")
    if looked.any():
        assert lead is not None
        low, high = np.log(lead)
        z = stats.norm.ppf((np.arange(leads) + 0.5) / leads)
        later = np.zeros((len(b), int(looked.sum())))
        for v in np.exp((low + high) / 2 + (high - low) / 2 / Z90 * z):
            end = ((parts.age[looked] + v) / scale[:, looked]) ** shape
            later += np.exp(entered[:, looked] - end) / leads
        alive = np.exp(entered - lived)[:, looked]
        seen = np.where(outcome[looked] == "removed_unworn", later, alive - later)
        value[:, looked] = np.log((1 - error) * seen + error * (alive - seen))
    return np.asarray(value @ parts.weight)


@dataclass(frozen=True)
class Sample:
    """Draws of (ln b, ln B50 of an average part, g) with weights that sum to 1."""

    beta: Floats
    y: Floats
    g: Floats
    weight: Floats

    @property
    def effective(self) -> float:
        """The number of independent draws that would tell as much."""
        return float(1 / (self.weight**2).sum())


def sample(
    parts: Parts,
    prior_covariance: Floats,
    shape_prior: tuple[float, float],
    b50_prior: tuple[float, float] | None,
    *,
    lead: tuple[float, float] | None = None,
    extra: Callable[[Floats, Floats, Floats], Floats] | None = None,
    draws: int = 100_000,
    seed: int = 1,
) -> Sample:
    """Importance sample of the posterior. `extra(b, y, g)` is added to the log density."""
    p = parts.terms.shape[1]
    mean = parts.weight @ parts.terms / parts.weight.sum()
    precision = np.linalg.inv(prior_covariance)

    def log_normal(x: Floats, prior: tuple[float, float]) -> Floats:
        low, high = np.log(prior)
        return -(((x - (low + high) / 2) / ((high - low) / 2 / Z90)) ** 2) / 2

    def log_density(theta: Floats) -> Floats:
        beta, y, g = theta[:, 0], theta[:, 1], theta[:, 2:]
        b = np.exp(beta)
        log_scale = y[:, None] + g @ (parts.terms - mean).T - math.log(math.log(2)) / b[:, None]
        with np.errstate(all="ignore"):
            value = log_likelihood(parts, b, log_scale, lead)
            value = value + log_normal(beta, shape_prior)
            value -= ((g @ precision) * g).sum(axis=1) / 2
            if b50_prior is not None:
                value += log_normal(y, b50_prior)
            if extra is not None:
                value += extra(b, y, g)
        return np.where(np.isfinite(value), value, -1e12)

    start = np.zeros(p + 2)
    start[0], start[1] = math.log(2), math.log(float(np.max(parts.age)))
    mode = optimize.minimize(
        lambda t: -log_density(t[None])[0],
        start,
        method="Nelder-Mead",
        options={"maxiter": 4000, "maxfev": 4000, "xatol": 1e-3, "fatol": 1e-3},
    ).x
    steps = 0.03 * np.eye(p + 2)
    hessian = np.array(
        [
            [
                log_density(np.array([mode + s + t, mode + s - t, mode - s + t, mode - s - t]))
                @ np.array([1.0, -1.0, -1.0, 1.0])
                / (4 * 0.03**2)
                for t in steps
            ]
            for s in steps
        ]
    )
    rng = np.random.default_rng(seed)
    wide = 1.3 * np.linalg.cholesky(np.linalg.inv(-hessian))
    freedom = 5
    z = (
        rng.standard_normal((draws, p + 2))
        / np.sqrt(rng.chisquare(freedom, draws) / freedom)[:, None]
    )
    theta = mode + z @ wide.T
    log_proposal = -(freedom + p + 2) / 2 * np.log1p((z**2).sum(axis=1) / freedom)
    log_weight = log_density(theta) - log_proposal
    weight = np.exp(log_weight - log_weight.max())
    return Sample(theta[:, 0], theta[:, 1], theta[:, 2:], weight / weight.sum())
