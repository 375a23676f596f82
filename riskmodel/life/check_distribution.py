"""Whether a chance of failure hangs on which distribution of life is fitted."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.check_remark import GAP, listed, rough
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.rows import BETWEEN, EXACT, Rows, Unknown, rows_of
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Z90
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]
Name = Literal["Weibull", "lognormal", "exponential", "Weibull with threshold"]

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


@dataclass(frozen=True, slots=True)
class _Family:
    """A distribution: ln f and ln S at ages, given unbounded coordinates (k,)."""

    name: Name
    log_density: Callable[[Floats, Floats], Floats]
    log_survival: Callable[[Floats, Floats], Floats]
    parameters: Callable[[Floats], tuple[float, ...]]


def _weibull_density(age: Floats, point: Floats) -> Floats:
    return weibull.log_density(age, math.exp(point[0]), math.exp(point[1]))


def _weibull_survival(age: Floats, point: Floats) -> Floats:
    return weibull.log_survival(age, math.exp(point[0]), math.exp(point[1]))


def _lognormal_density(age: Floats, point: Floats) -> Floats:
    with np.errstate(divide="ignore"):
        log_age = np.log(age)
    z = (log_age - point[0]) / math.exp(point[1])
    return np.asarray(-(z**2) / 2 - point[1] - math.log(2 * math.pi) / 2 - log_age)


def _lognormal_survival(age: Floats, point: Floats) -> Floats:
    from scipy.special import log_ndtr

    with np.errstate(divide="ignore"):
        return np.asarray(log_ndtr((point[0] - np.log(age)) / math.exp(point[1])))


WEIBULL = _Family(
    "Weibull",
    _weibull_density,
    _weibull_survival,
    lambda point: (math.exp(point[0]), math.exp(point[1])),
)
LOGNORMAL = _Family(
    "lognormal",
    _lognormal_density,
    _lognormal_survival,
    lambda point: (math.exp(point[0]), math.exp(point[1])),
)
EXPONENTIAL = _Family(
    "exponential",
    lambda age, point: np.asarray(-point[0] - age / math.exp(point[0])),
    lambda age, point: np.asarray(-age / math.exp(point[0])),
    lambda point: (math.exp(point[0]),),
)


def _threshold(first: float) -> _Family:
    """The Weibull that starts at first * (1 - e^-point[2]), below the first failure's age."""

    def shifted(age: Floats, point: Floats) -> Floats:
        return np.maximum(age + first * math.expm1(-math.exp(point[2])), 0.0)

    return _Family(
        "Weibull with threshold",
        lambda age, point: _weibull_density(shifted(age, point), point),
        lambda age, point: _weibull_survival(shifted(age, point), point),
        lambda point: (
            -first * math.expm1(-math.exp(point[2])),
            math.exp(point[0]),
            math.exp(point[1]),
        ),
    )


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
    (those parts count as removed). Never raises: without any fit `reason` says why.
    """
    try:
        rows = rows_of(records, reporting_ratio, unknown_as).without_looks()
    except CannotAnswer as refusal:
        return Choice(at, ahead, (), None, str(refusal))
    found = [fit for fit in _fitted(rows) if fit is not None]
    if not found:
        reason = maximise(Likelihood(rows))
        return Choice(at, ahead, (), None, reason if isinstance(reason, str) else None)
    best = min(2 * len(point) - 2 * value for _, point, value in found)
    fits = tuple(_told(rows, *fit, at, ahead, best) for fit in found)
    return Choice(at, ahead, fits, _warning(fits, at, ahead, unit))


def _fitted(rows: Rows) -> list[tuple[_Family, Floats, float] | None]:
    """Each family with its best coordinates and log-likelihood; None where it has none."""
    likelihood = Likelihood(rows)
    if likelihood.failures == 0 or not likelihood.bounds_life_below:
        return []
    exponential = _climbed(rows, EXPONENTIAL, np.array([math.log(_mean_life(rows))]))
    top = maximise(likelihood)
    if not isinstance(top, Maximum):
        return [exponential]
    scale = likelihood.reference * math.exp(-top.mu / top.b)
    start = np.array([math.log(top.b), math.log(scale)])
    plain = (WEIBULL, start, _height(rows, WEIBULL, start))
    middle = math.log(float(weibull.quantile(0.5, top.b, scale)))
    lognormal = _climbed(rows, LOGNORMAL, np.array([middle, math.log(1.2 / top.b)]))
    return [plain, lognormal, exponential, _with_threshold(rows, plain[2])]


def _mean_life(rows: Rows) -> float:
    """Usage watched, over failures."""
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    lived = np.where(rows.where(BETWEEN), rows.since, rows.age) - rows.entry
    return float(rows.weight @ lived / rows.weight[failed].sum())


def _with_threshold(rows: Rows, plain: float) -> tuple[_Family, Floats, float] | None:
    """The best of thresholds tried between 0 and the first failure, then refined.

    Only shapes of at least 1 count: below, the likelihood has no bound as the threshold
    nears the first failure. None where no threshold beats the plain Weibull.
    """
    from scipy.optimize import minimize_scalar

    failed = rows.where(EXACT) | rows.where(BETWEEN)
    first = float(rows.age[failed].min())

    def found(log_room: float) -> tuple[float, Floats]:
        """At a threshold that leaves exp(log_room) of the first failure's age."""
        shifted = rows.from_threshold(-first * math.expm1(log_room))
        likelihood = Likelihood(shifted)
        top = maximise(likelihood)
        if not isinstance(top, Maximum) or top.b < 1:
            return -math.inf, np.zeros(3)
        scale = math.log(likelihood.reference) - top.mu / top.b
        return top.jet.value, np.array([math.log(top.b), scale, math.log(-log_room)])

    tried = -np.geomspace(0.02, 9.0, 16)
    heights = [found(room)[0] for room in tried]
    best = int(np.argmax(heights))
    if not heights[best] > plain + 1e-3 or best == len(tried) - 1:
        return None
    refined = minimize_scalar(
        lambda room: -max(found(room)[0], -1e300),
        bounds=(tried[best + 1], tried[best - 1] if best else -1e-3),
        method="bounded",
        options={"xatol": 1e-3},
    )
    value, point = found(float(refined.x))
    return _threshold(first), point, value


def _height(rows: Rows, family: _Family, point: Floats) -> float:
    """Log-likelihood of rows without looks."""
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    lived = np.where(between, rows.since, rows.age)
    with np.errstate(all="ignore"):
        value = family.log_survival(lived, point) - family.log_survival(rows.entry, point)
        value[exact] = family.log_density(rows.age[exact], point) - family.log_survival(
            rows.entry[exact], point
        )
        step = family.log_survival(rows.age[between], point) - family.log_survival(
            rows.since[between], point
        )
        value[between] += np.log(-np.expm1(step))
    return float(value @ rows.weight)


def _climbed(rows: Rows, family: _Family, start: Floats) -> tuple[_Family, Floats, float] | None:
    """The highest point found from `start`."""
    from scipy.optimize import minimize

    def misfit(point: Floats) -> float:
        if np.abs(point - start).max() > 15:
            return 1e300
        height = _height(rows, family, point)
        return -height if math.isfinite(height) else 1e300

    best = minimize(
        misfit,
        start,
        method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 4000},
    )
    if not best.success or np.abs(best.x - start).max() > 12:
        return None
    return family, best.x, -float(best.fun)


def _log_ahead(family: _Family, point: Floats, at: float, ahead: float) -> float:
    """ln[-ln(1 - P(fail by at + ahead | in service at `at`))]."""
    lived, end = (float(family.log_survival(np.array([age]), point)[0]) for age in (at, at + ahead))
    return math.log(lived - end) if lived > end else -math.inf


def _told(
    rows: Rows, family: _Family, point: Floats, value: float, at: float, ahead: float, best: float
) -> DistributionFit:
    aic = 2 * len(point) - 2 * value
    level = _log_ahead(family, point, at, ahead)
    if len(point) == 3:
        ends = _threshold_ends(rows, family.parameters(point)[0], value, at, ahead)
    else:
        ends = _ends(rows, family, point, at, ahead, level)
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
    rows: Rows, family: _Family, point: Floats, at: float, ahead: float, level: float
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

    def height(i: int, j: int, one: float, two: float) -> float:
        return _height(rows, family, point + one * h[i] + two * h[j])

    curvature = np.zeros((k, k))
    for i, j in np.ndindex(k, k):
        rising = height(i, j, 1, 1) + height(i, j, -1, -1)
        curvature[i, j] = (rising - height(i, j, 1, -1) - height(i, j, -1, 1)) / 4e-6
    if not (np.isfinite(curvature).all() and np.isfinite(slope).all()):
        return None, None
    if np.linalg.eigvalsh(-curvature).min() <= 1e-9 * np.abs(curvature).max():
        return None, None
    spread = math.sqrt(float(slope @ np.linalg.solve(-curvature, slope)))
    return level - Z90 * spread, level + Z90 * spread


def _threshold_ends(
    rows: Rows, best: float, height: float, at: float, ahead: float
) -> tuple[float | None, float | None]:
    """The 90 % likelihood-ratio interval of `level`, from a lattice over all three parameters.

    Every curve on it that is within half the chi-squared quantile of the best `height`
    counts; the ends are good to about a twentieth of the interval.
    """
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    first = float(rows.age[failed].min())
    rooms = -np.geomspace(0.005, 9.0, 24)
    spread = 1 / math.sqrt(float(rows.weight[failed].sum()))
    found = []
    for threshold in (best, *(-first * np.expm1(rooms)).tolist()):
        likelihood = Likelihood(rows.from_threshold(threshold))
        top = maximise(likelihood)
        if not isinstance(top, Maximum) or top.jet.value < height - HALF_CHI2_90:
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
        found.append(levels[heights >= height - HALF_CHI2_90])
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
    figure = f"{100 * fit.probability:.2g} of 100"
    if fit.low is None or fit.high is None:
        return f"{figure} (interval not known)"
    return f"{figure} ({100 * fit.low:.2g} to {100 * fit.high:.2g})"
