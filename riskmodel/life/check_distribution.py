"""Whether a chance of failure hangs on which distribution of life is fitted."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.check_remark import GAP, listed, rough
from riskmodel.life.distributions import Family, Name, fitted, height
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.rows import BETWEEN, EXACT, Rows, Unknown, rows_of
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Z90
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]

WITHIN = 4.0
"""Fits whose AIC is within so much of the best are not told apart by the records. Below 2 a
difference says little and from 4 to 7 considerably more (Burnham & Anderson 2002, section
2.6); where to cut is judgement."""

HALF_CHI2_90 = 1.3527717270
"""Half the 90 % quantile of chi-squared with one degree of freedom."""

FACTOR, STEP = 1.5, 0.01
"""Chances that differ by more than this factor and by more than this much are told
(judgement)."""


@dataclass(frozen=True, slots=True)
class DistributionFit:
    """One distribution fitted by maximum likelihood, and the chance it gives.

    `parameters` in the records' unit: Weibull (shape, scale), lognormal (median, standard
    deviation of ln age), exponential (mean,), Weibull with threshold (threshold, shape,
    scale). `low` and `high` are the chance's 90 % interval, None where there is none: by the
    curvature at the maximum on the log(-log) scale, with a threshold by the likelihood ratio
    (its maximum often lies on the edge of what is allowed). `plausible` where the records do
    not tell this fit from the best.
    """

    name: Name
    parameters: tuple[float, ...]
    loglik: float
    aic: float
    probability: float
    low: float | None
    high: float | None
    plausible: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """P(fail by age at + ahead | in service at age `at`) under each distribution that fits.

    `warning` is a sentence where it hangs on the choice, `reason` says why `fits` is empty.
    """

    at: float
    ahead: float
    fits: tuple[DistributionFit, ...]
    warning: str | None
    reason: str | None = None


def distribution_choice(
    records: LifeRecords,
    at: float,
    ahead: float,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
    unit: Unit | None = None,
) -> Choice:
    """The chance ahead under Weibull, lognormal, exponential and three-parameter Weibull.

    Late entry, counts and failures between two ages count alike for all; looks for none
    (those parts count as removed). Where survivors stand for more than themselves every interval
    is as sure as `Likelihood.surety` says at the best Weibull curve. Never raises: without any
    fit `reason` says why.
    """
    try:
        rows = rows_of(records, reporting_ratio, unknown_as).without_looks()
    except CannotAnswer as refusal:
        return Choice(at, ahead, (), None, str(refusal))
    found = fitted(rows)
    if not found:
        reason = maximise(Likelihood(rows))
        return Choice(at, ahead, (), None, reason if isinstance(reason, str) else None)
    best = min(2 * len(point) - 2 * value for _, point, value in found)
    sure = _surety(rows)
    fits = tuple(_told(rows, *fit, at, ahead, best, sure) for fit in found)
    return Choice(at, ahead, fits, _warning(fits, at, ahead, unit))


def _surety(rows: Rows) -> float:
    """How sure rows are in which some stand for more than themselves; 1 where none does."""
    likelihood = Likelihood(rows)
    top = maximise(likelihood) if likelihood.weighed else None
    return likelihood.surety(top.b, top.mu) if isinstance(top, Maximum) else 1.0


def _log_ahead(family: Family, point: Floats, at: float, ahead: float) -> float:
    """ln[-ln(1 - P(fail by at + ahead | in service at `at`))]."""
    lived, end = (float(family.log_survival(np.array([age]), point)[0]) for age in (at, at + ahead))
    return math.log(lived - end) if lived > end else -math.inf


def _told(
    rows: Rows,
    family: Family,
    point: Floats,
    value: float,
    at: float,
    ahead: float,
    best: float,
    sure: float,
) -> DistributionFit:
    aic = 2 * len(point) - 2 * value
    level = _log_ahead(family, point, at, ahead)
    if len(point) == 3:
        ends = _threshold_ends(rows, family.parameters(point)[0], value, at, ahead, sure)
    else:
        ends = _ends(rows, family, point, at, ahead, level, sure)
    chance = [None if x is None else -math.expm1(-math.exp(min(x, 700.0))) for x in (level, *ends)]
    return DistributionFit(
        family.name,
        family.parameters(point),
        value,
        aic,
        chance[0] or 0.0,
        chance[1],
        chance[2],
        aic <= best + WITHIN,
    )


def _ends(
    rows: Rows, family: Family, point: Floats, at: float, ahead: float, level: float, sure: float
) -> tuple[float | None, float | None]:
    """The 90 % interval of `level` by the delta method."""
    if not math.isfinite(level):
        return None, None
    k, h = len(point), 1e-3 * np.eye(len(point))
    slope = np.array(
        [
            _log_ahead(family, point + h[i], at, ahead)
            - _log_ahead(family, point - h[i], at, ahead)
            for i in range(k)
        ]
    ) / (2e-3)

    def moved(i: int, j: int, one: float, two: float) -> float:
        return height(rows, family, point + one * h[i] + two * h[j])

    curvature = np.zeros((k, k))
    for i, j in np.ndindex(k, k):
        rising = moved(i, j, 1, 1) + moved(i, j, -1, -1)
        curvature[i, j] = (rising - moved(i, j, 1, -1) - moved(i, j, -1, 1)) / 4e-6
    if not (np.isfinite(curvature).all() and np.isfinite(slope).all()):
        return None, None
    if np.linalg.eigvalsh(-curvature).min() <= 1e-9 * np.abs(curvature).max():
        return None, None
    spread = math.sqrt(float(slope @ np.linalg.solve(-curvature, slope)) / sure)
    return level - Z90 * spread, level + Z90 * spread


def _threshold_ends(
    rows: Rows, best: float, height: float, at: float, ahead: float, sure: float
) -> tuple[float | None, float | None]:
    """The 90 % likelihood-ratio interval of `level`, from a lattice over all three parameters.

    Every curve on it that is within half the chi-squared quantile of the best `height`
    counts; the ends are good to about a twentieth of the interval.
    """
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    first = float(rows.age[failed].min())
    rooms = -np.geomspace(0.005, 9.0, 24)
    spread = 1 / math.sqrt(sure * float(rows.weight[failed].sum()))
    floor, found = height - HALF_CHI2_90 / sure, []
    for threshold in (best, *(-first * np.expm1(rooms)).tolist()):
        likelihood = Likelihood(rows.from_threshold(threshold))
        top = maximise(likelihood)
        if not isinstance(top, Maximum) or top.jet.value < floor:
            continue
        shapes = np.maximum(top.b * np.exp(3 * spread * np.linspace(-1, 1, 41)), 1.0)[:, None]
        centre = _ridge(likelihood, top, shapes[:, 0])[:, None]
        mus = centre + 3 * spread * np.linspace(-1, 1, 41)
        heights = likelihood.section(shapes[:, 0])(mus)
        scales = likelihood.reference * np.exp(-mus / shapes)
        start = max(at - threshold, 0.0)
        levels = weibull.log_hazard_ahead(
            start, max(at + ahead - threshold - start, 0.0), shapes, scales
        )
        found.append(levels[heights >= floor])
    inside = np.concatenate(found) if found else np.zeros(0)
    return (float(inside.min()), float(inside.max())) if len(inside) else (None, None)


def _ridge(likelihood: Likelihood, top: Maximum, shapes: Floats) -> Floats:
    """About the best mu at each shape: the one that keeps the failures expected."""
    log_lived = likelihood.exposure.log(np.append(shapes, top.b))
    return np.asarray(top.mu + log_lived[-1] - log_lived[:-1])


def _warning(
    fits: tuple[DistributionFit, ...], at: float, ahead: float, unit: Unit | None
) -> str | None:
    plausible = sorted((f for f in fits if f.plausible), key=lambda fit: fit.probability)
    low, high = plausible[0].probability, plausible[-1].probability
    if not (high > FACTOR * low and high > low + STEP):
        return None
    told = listed([f"{_of_100(fit)} by the {fit.name}" for fit in plausible])
    return (
        f"The chance hangs on the curve taken: the records do not tell {len(plausible)} of them "
        f"apart (AIC within {WITHIN:g}), and by them the chance that a part that got to "
        f"{rough(at, unit)} fails by {rough(at + ahead, unit)} is {told}, each with its 90{GAP}% "
        "interval and on the assumption that the part wears as those on record did."
    )


def _of_100(fit: DistributionFit) -> str:
    """ "6 of 100 (4 to 9)": whole numbers, the ends rounded outwards."""
    figure = f"{100 * fit.probability:.0f} of 100" if fit.probability >= 0.005 else "under 1 of 100"
    if fit.low is None or fit.high is None:
        return f"{figure} (interval not known)"
    return f"{figure} ({math.floor(100 * fit.low + 1e-9)} to {math.ceil(100 * fit.high - 1e-9)})"
