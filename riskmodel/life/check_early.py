"""Early failures that look like fitting faults rather than wear.

Beside the Weibull a small share of parts is let fail at a constant rate with a mean much
shorter than the usual life. What such a mixture gains by chance was simulated (the study of
the checks, tests/studies/check_power.py): see THRESHOLD.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.check_fits import B10, moved
from riskmodel.life.check_mixture import Mixture, Part, mixed
from riskmodel.life.check_remark import Remark, at_start, lines_of, named
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.rows import BETWEEN, EXACT, Rows
from riskmodel.records.inputs import Unit
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]

MEANS = (0.003, 0.01, 0.03, 0.1)
"""Mean lives of the early kind that are tried, as shares of the median failure age."""

MOST = 0.3
"""The largest share of parts that the early kind may make up."""

FEWEST = 5
"""Failures below which two kinds cannot be told apart."""

THRESHOLD = 8.0
"""Gain at which two kinds are told: reached by chance in fewer than one of a hundred lists of
a Weibull alone, of 25 to 400 parts and shapes of 1.3 to 4."""


@dataclass(frozen=True, slots=True)
class Early:
    """The best mixture, the mean life of its early kind, and the plain fit's shape and scale."""

    mixture: Mixture
    mean: float
    shape: float
    scale: float


def early_kind(rows: Rows) -> Early | None:
    """The best mixture of wear with early failures; None where a mixture gains nothing."""
    rows = rows.without_looks()
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    if rows.weight[failed].sum() < FEWEST:
        return None
    likelihood = Likelihood(rows)
    top = maximise(likelihood)
    if not isinstance(top, Maximum):
        return None
    start = (top.b, likelihood.reference * math.exp(-top.mu / top.b))
    typical = float(np.median(rows.age[failed]))
    best: Early | None = None
    for mean in typical * np.array(MEANS):
        early = failed & (rows.age < 3 * mean)
        if not early.any():
            continue
        first = min(0.8 * MOST, max(0.005, rows.weight[early].sum() / rows.weight.sum()))
        found = mixed(rows, _always(_early_part(rows, float(mean))), start, first, MOST)
        if found is not None and (best is None or found.gain > best.mixture.gain):
            best = Early(found, float(mean), *start)
    return best


def early_failures(
    records: LifeRecords, rows: Rows, index: NDArray[np.intp], unit: Unit | None
) -> list[Remark]:
    """Failures too early for wear; `index` tells which record each row came from."""
    found = early_kind(rows)
    if found is None or found.mixture.gain < THRESHOLD:
        return []
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    early = failed & (found.mixture.belongs > 0.5)
    if not early.any():
        return []
    lines = lines_of(records, index[early])
    before, after = (
        float(weibull.quantile(B10, curve.shape, curve.scale)) for curve in (found, found.mixture)
    )
    return [
        Remark(
            "early failures",
            f"{at_start(named(records, lines))} failed so early that it looks like a fitting fault "
            "or another early cause rather than wear: with early failures set apart as a kind of "
            f"their own, the shape of wear is {found.mixture.shape:.2g} rather than "
            f"{found.shape:.2g}, which {moved(before, after, unit)}.",
            lines,
        )
    ]


def _always(part: Part) -> Callable[[float, float], Part]:
    """An early kind hangs on no curve of wear."""
    return lambda _shape, _scale: part


def _early_part(rows: Rows, mean: float) -> Part:
    """Rows of parts that fail at a constant rate with this mean life."""
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    lived = np.where(between, rows.since, rows.age)
    row = -lived / mean
    row[exact] -= math.log(mean)
    row[between] += np.log(-np.expm1(-(rows.age - rows.since)[between] / mean))
    flat = np.zeros((2, len(row)))
    return Part(row, -rows.entry / mean, flat, flat)
