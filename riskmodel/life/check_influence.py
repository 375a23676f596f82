"""Whether one row carries the fit.

The curve that the records would give without row i is one Newton step away from the curve
of all of them: theta - (J - J_i)^-1 s_i, with s_i and J_i the row's own score and
information and J that of all rows (Cook 1986, JRSS B 48, 133-169, section 2; Pregibon 1981,
Annals of Statistics 9, 705-724). The row found so is then left out in earnest.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.check_fits import B10, Fits
from riskmodel.life.check_remark import Remark, at_start, lines_of, named, rough, stated
from riskmodel.life.looks import Looks
from riskmodel.life.profile import Life
from riskmodel.life.rows import BETWEEN, EXACT, UNWORN, WORN, Rows
from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]

FEWEST = 5
"""Failures below which every one of them carries the fit, and a remark would say nothing."""

LIMIT = 6.0
"""A row carries the fit where it moves ln B10 by LIMIT / sqrt(failures) standard errors: in
simulated lists without a fault some row does in one of a hundred at most (1,000 lists of each
kind, tests/studies/check_power.py), ..."""

LEAST = 0.1
"""... and by this share of B10 at least (judgement)."""

STEP = 0.01
"""Step of the differences, in ln b and in mu."""


def row_logs(
    rows: Rows,
    shape: Floats,
    scale: Floats,
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
) -> Floats:
    """Log-likelihood of each row, its weight left out: (K, n) at K curves."""
    b, n = shape[:, None], scale[:, None]
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    lived = np.where(between, rows.since, rows.age)
    value = -weibull.hazard_ahead(rows.entry, lived - rows.entry, b, n)
    value[:, exact] += weibull.log_hazard(rows.age[exact], b, n)
    since, age = rows.since[between], rows.age[between]
    with np.errstate(divide="ignore"):
        value[:, between] += np.log(-np.expm1(-weibull.hazard_ahead(since, age - since, b, n)))
    if visible_lead is None:
        return value
    for i in np.flatnonzero(rows.where(WORN) | rows.where(UNWORN)):
        one = slice(i, i + 1)
        unit = np.ones(1)
        looks = Looks(
            rows.age[one], rows.where(WORN)[one], unit, visible_lead, finding_error, rows.age[i]
        )
        mu = shape * (math.log(rows.age[i]) - np.log(scale))
        value[:, i] += looks.log(shape, mu[:, None])[:, 0]
    return value


def b10_shifts(fits: Fits) -> Floats:
    """By how much ln B10 would move (n,) without each of `fits.rows`, to first order."""
    assert fits.rows is not None
    assert fits.base is not None
    assert fits.top is not None
    b, mu = fits.top.b, fits.top.mu
    offsets = STEP * np.array([-1.0, 0.0, 1.0])
    shapes = b * np.exp(np.repeat(offsets, 3))
    mus = mu + np.tile(offsets, 3)
    scales = fits.base.reference * np.exp(-mus / shapes)
    logs = row_logs(fits.rows, shapes, scales, fits.finding_error, fits.visible_lead)
    logs = logs.reshape(3, 3, -1) * fits.rows.weight
    gradient = np.stack([logs[2, 1] - logs[0, 1], logs[1, 2] - logs[1, 0]], axis=-1) / (2 * STEP)
    bb = (logs[2, 1] - 2 * logs[1, 1] + logs[0, 1]) / STEP**2
    mm = (logs[1, 2] - 2 * logs[1, 1] + logs[1, 0]) / STEP**2
    bm = (logs[2, 2] - logs[2, 0] - logs[0, 2] + logs[0, 0]) / (4 * STEP**2)
    own = np.stack([np.stack([bb, bm], axis=-1), np.stack([bm, mm], axis=-1)], axis=-1)
    far = Life(B10, fits.base.reference).jet(b, mu)
    rest = own.sum(axis=0) - own
    with np.errstate(divide="ignore", invalid="ignore"):
        determinant = rest[:, 0, 0] * rest[:, 1, 1] - rest[:, 0, 1] ** 2
        # rest^-1 gradient, against the slope of ln B10 in (ln b, mu)
        first = rest[:, 1, 1] * gradient[:, 0] - rest[:, 0, 1] * gradient[:, 1]
        second = rest[:, 0, 0] * gradient[:, 1] - rest[:, 0, 1] * gradient[:, 0]
        moved = (far.b * b * first + far.mu * second) / determinant
    return np.where(determinant > 0, moved, np.inf)


def influence(fits: Fits, records: LifeRecords, unit: Unit | None) -> list[Remark]:
    """The row without which the fit would be another, if there is such a row."""
    if fits.rows is None or fits.base is None or fits.top is None or fits.b10 is None:
        return []
    if fits.base.failures < FEWEST:
        return []
    shifts = np.abs(b10_shifts(fits))
    row = int(np.argmax(np.nan_to_num(shifts, nan=0.0, posinf=1e9)))
    limit = max(LIMIT * fits.log_b10_error / math.sqrt(fits.base.failures), math.log1p(LEAST))
    if not shifts[row] > limit:
        return []
    without = fits.b10_without(row)
    if without is not None and abs(math.log(without / fits.b10)) < limit:
        return []
    index = int(np.flatnonzero(records.count > 0)[row])
    lines = lines_of(records, [index])
    what = f"{records.outcome[index].replace('_', ', ')} at {stated(records.age[index], unit)}"
    if without is None:
        effect = "there is no best-fitting curve"
    else:
        effect = f"the B10 life would be {rough(without, unit)} rather than {rough(fits.b10, unit)}"
    return [
        Remark(
            "influence",
            f"{at_start(named(records, lines))} ({what}) carries the fit more than one row of so "
            f"many should: without it {effect}, so look whether it is right.",
            lines,
        )
    ]
