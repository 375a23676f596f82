"""Two kinds of part in one list: a likelihood in which each row may belong to either.

A row's likelihood is the mixture's, divided by the mixture's chance of having reached the
row's entry. Twice the gain in log-likelihood over a single Weibull has no chi-squared law
here, because under the simpler model the share lies on its edge (McLachlan & Peel 2000,
Finite Mixture Models, section 6.4): thresholds are found by simulation.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.rows import BETWEEN, EXACT, Rows

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Part:
    """What each row says under one kind of part: ln P(the row) and ln P(reaching its entry),
    both (n,), with their slopes in (ln shape, ln scale) of the main kind, both (2, n)."""

    row: Floats
    entered: Floats
    row_slope: Floats
    entered_slope: Floats


@dataclass(frozen=True, slots=True)
class Mixture:
    """The best mixture found. `gain` is twice the gain in log-likelihood over the plain
    Weibull, `share` the share of the other kind, `shape` and `scale` the main kind's
    Weibull, `belongs` (n,) each row's chance of being of the other kind."""

    gain: float
    share: float
    shape: float
    scale: float
    belongs: Floats


def weibull_part(rows: Rows, shape: float, scale: float) -> Part:
    """Rows without looks under a Weibull curve."""
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    lived = np.where(between, rows.since, rows.age)
    row, row_slope = _survived(lived, shape, scale)
    far = np.log(rows.age[exact] / scale)
    row[exact] += math.log(shape / scale) + (shape - 1) * far
    row_slope[:, exact] += np.stack([1 + shape * far, np.full(far.shape, -shape)])
    if between.any():
        since, age = rows.since[between], rows.age[between]
        ahead = np.maximum(weibull.hazard_ahead(since, age - since, shape, scale), 1e-300)
        slope = row_slope[:, between] - _survived(age, shape, scale)[1]
        row[between] += np.log(-np.expm1(-ahead))
        row_slope[:, between] += slope * np.exp(-ahead) / -np.expm1(-ahead)
    entered, entered_slope = _survived(rows.entry, shape, scale)
    return Part(row, entered, row_slope, entered_slope)


def _survived(age: Floats, shape: float, scale: float) -> tuple[Floats, Floats]:
    """ln S(age) and its slopes."""
    far = np.log(np.maximum(age, 1e-300) / scale)
    hazard = np.where(age > 0, np.exp(np.clip(shape * far, -700.0, 200.0)), 0.0)
    return -hazard, np.stack([-hazard * shape * far, hazard * shape])


def mixed(
    rows: Rows,
    other: Callable[[float, float], Part],
    start: tuple[float, float],
    first_share: float,
    most: float,
) -> Mixture | None:
    """The mixture of a Weibull with `other`, which may hang on its (shape, scale).

    `start` is the plain Weibull's (shape, scale), `first_share` where the search for the
    share begins, `most` the largest share allowed. None where a mixture gains nothing.
    """
    from scipy.optimize import minimize

    weight, plain, odd = rows.weight, weibull_part(rows, *start), other(*start)
    with np.errstate(over="ignore"):
        pull = weight @ (np.exp(odd.row - plain.row) - np.exp(odd.entered - plain.entered))
    if not pull > 0:  # the first rows given to the other kind already cost likelihood
        return None
    level = float(weight @ (plain.row - plain.entered))
    log_start = np.log(start)

    def unpacked(point: Floats) -> tuple[float, float, float]:
        shape, scale = np.exp(np.clip(log_start + point[:2], -50.0, 50.0)).tolist()
        return shape, scale, most / (1 + math.exp(-min(max(float(point[2]), -20.0), 20.0)))

    def misfit(point: Floats) -> tuple[float, Floats]:
        shape, scale, share = unpacked(point)
        main, odd = weibull_part(rows, shape, scale), other(shape, scale)
        value, slope = 0.0, np.zeros(3)
        for sign, a, b, a_slope, b_slope in (
            (1.0, main.row, odd.row, main.row_slope, odd.row_slope),
            (-1.0, main.entered, odd.entered, main.entered_slope, odd.entered_slope),
        ):
            total = np.logaddexp(a + math.log1p(-share), b + math.log(share))
            belongs = np.exp(b + math.log(share) - total)
            value += sign * float(weight @ total)
            slope[:2] += sign * ((a_slope * (1 - belongs) + b_slope * belongs) @ weight)
            by_share = weight @ (belongs / share - (1 - belongs) / (1 - share))
            slope[2] += sign * float(by_share) * share * (1 - share / most)
        return -value, -slope

    begin = np.array([0.0, 0.0, math.log(first_share / (most - first_share))])
    with np.errstate(over="ignore", under="ignore", invalid="ignore"):
        best = minimize(misfit, begin, jac=True, method="BFGS", options={"maxiter": 100})
    gain = 2 * (-float(best.fun) - level)
    if not (math.isfinite(gain) and gain > 0):
        return None
    shape, scale, share = unpacked(best.x)
    main, odd = weibull_part(rows, shape, scale), other(shape, scale)
    total = np.logaddexp(main.row + math.log1p(-share), odd.row + math.log(share))
    belongs = np.exp(odd.row + math.log(share) - total)
    return Mixture(gain, share, shape, scale, belongs)
