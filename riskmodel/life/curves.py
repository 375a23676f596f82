"""What the records show without any assumed curve, and the fitted curve to draw beside it.

Kaplan-Meier where every failure has an age, Turnbull's estimate where some are known only to
lie between two. Sources: Kaplan & Meier 1958, JASA 53, 457-481; Turnbull 1976, JRSS B 38,
290-295; for late entry Klein & Moeschberger, Survival Analysis, section 4.6; for plots
Meeker & Escobar, Statistical Methods for Reliability Data, chapters 3 and 6.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.life import weibull
from riskmodel.life.check_distribution import Choice, DistributionFit, distribution_choice
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.rows import ALIVE, BETWEEN, EXACT, Rows, Unknown, rows_of
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.tables import LifeRecords

__all__ = [
    "Choice",
    "DistributionFit",
    "FittedCurve",
    "Observed",
    "ProbabilityPlot",
    "distribution_choice",
    "fitted_curve",
    "observed",
    "probability_plot",
]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]

SETTLED = 1e-12
"""No share moves by more than this in the last step of Turnbull's iteration."""

MOST_STEPS = 20_000
NO_MASS = 1e-8

NO_FAILURE = "No part on record failed by wear, so there is no observed curve to draw."
NO_BAND = (
    "Some failures are known only to lie between two ages; for such records the curve has no "
    "confidence band here."
)
LATE = (
    "No part was watched before {age:,.10g}, so the curve starts there and speaks of parts that "
    "had got so far."
)
BROKEN = (
    "The records do not hang together over all ages: only those between {low:,.10g} and "
    "{high:,.10g} make one curve, which speaks of parts that had got as far as its start."
)
COLLAPSED = (
    "The few parts watched at the lowest ages all failed there, which would leave no survivors "
    "for the rest: there is no observed curve to draw."
)
WEIGHED = (
    "The band takes the reporting ratio as exact and each survivor as so many seen: it is narrower "
    "than what is known."
)


@dataclass(frozen=True, eq=False)
class Observed:
    """The share that had failed by each age, as far as the records show it.

    Arrays of one length m (0 where `reason` says why there is no curve): from `age[i]` on
    the share is `failed[i]`; where within (`since[i]`, `age[i]`] it rose to that is not
    known, and both are equal for a failure at a known age. Before the first it is 0, after
    the last it stays. `low` and `high` are the band, pointwise, or None. The curve speaks of
    parts in service at `from_age` (0: from new) and ends at `to_age`. `notes` are sentences
    that belong beside it.
    """

    method: Literal["Kaplan-Meier", "Turnbull"]
    age: Floats
    since: Floats
    failed: Floats
    low: Floats | None
    high: Floats | None
    level: float
    from_age: float
    to_age: float
    notes: tuple[str, ...] = ()
    reason: str | None = None


def observed(
    records: LifeRecords,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
    level: float = 0.9,
) -> Observed:
    """The nonparametric estimate of the share failed by wear.

    Parts taken out count as watched until then, whatever they looked like; failures of
    another cause as in the fit. The band of Kaplan-Meier is Greenwood's on the log(-log)
    scale, so it stays between 0 and 1; where the curve reaches 1 the band reaches from its
    last lower end to 1. Turnbull's estimate has none. Never raises: where there is no
    curve, `reason` says why.
    """
    try:
        rows = rows_of(records, reporting_ratio, unknown_as).without_looks()
    except CannotAnswer as refusal:
        return _nothing(level, str(refusal))
    rows = rows.keep(rows.age > rows.entry)
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    if not failed.any():
        return _nothing(level, NO_FAILURE)
    begin, end, broken = stretch(rows)
    notes = [BROKEN.format(low=begin, high=end)] if broken else []
    if begin > 0 and not broken:
        notes.append(LATE.format(age=begin))
    if rows.where(BETWEEN).any():
        age, since, share = turnbull(rows, begin, end)
        if len(share) and share[-1] > 1 - 1e-6 and (rows.age[~failed] > age[-1]).any():
            return _nothing(level, COLLAPSED)
        notes.append(NO_BAND)
        return Observed("Turnbull", age, since, share, None, None, level, begin, end, tuple(notes))
    if reporting_ratio != 1:
        notes.append(WEIGHED)
    age, share, low, high = kaplan_meier(rows, begin, end, level)
    return Observed("Kaplan-Meier", age, age, share, low, high, level, begin, end, tuple(notes))


def _nothing(level: float, reason: str) -> Observed:
    none = np.zeros(0)
    return Observed("Kaplan-Meier", none, none, none, None, None, level, 0.0, 0.0, reason=reason)


def stretch(rows: Rows) -> tuple[float, float, bool]:
    """The ages over which rows make one curve: (begin, end, whether others were left out).

    Where nobody is watched, or all who were watched failed, an estimate cannot be carried on
    to parts that entered later. Of the stretches so separated the one with the most failures
    is taken, the first of equals.
    """
    exact, failed = rows.where(EXACT), rows.where(EXACT) | rows.where(BETWEEN)
    ends = np.unique(rows.age)
    by_entry, by_age = np.sort(rows.entry), np.sort(rows.age)
    entered = np.searchsorted(by_entry, ends, side="left")  # strictly before
    watched = entered - np.searchsorted(by_age, ends, side="left")
    fallen = np.searchsorted(np.sort(rows.age[exact]), ends, side="right")
    fallen -= np.searchsorted(np.sort(rows.age[exact]), ends, side="left")
    joined = np.searchsorted(by_entry, ends, side="right")
    left = joined - np.searchsorted(by_age, ends, side="right")
    cuts = ends[((fallen == watched) & (fallen > 0)) | (left == 0)]
    best: tuple[float, float] | None = None
    most, start = 0.0, -1.0
    for cut in cuts:
        inside = (rows.entry < cut) & (rows.age > start)
        bad = float(rows.weight[failed & inside & (rows.age <= cut)].sum())
        if bad > most:
            most, best = bad, (max(float(rows.entry[inside].min()), start, 0.0), float(cut))
        start = float(cut)
    assert best is not None  # there is a failure, and the last end is always a cut
    return *best, len(cuts) > 1


def _within(rows: Rows, begin: float, end: float) -> Rows:
    """Rows as watched between two ages only."""
    some = rows.keep((rows.age > begin) & (rows.entry < end))
    over = some.age > end
    return Rows(
        np.where(over, np.int8(ALIVE), some.kind),
        np.minimum(some.age, end),
        some.since,
        np.maximum(some.entry, begin),
        some.weight,
    )


def kaplan_meier(
    rows: Rows, begin: float, end: float, level: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """(age, share failed, low, high) after each failure between two ages.

    A part that enters at the very age of a failure was not at risk of it; the library counts
    it, so such an entry is moved up by the smallest step there is.
    """
    from lifelines import KaplanMeierFitter

    rows = _within(rows, begin, end).merged()
    failed = rows.where(EXACT)
    age, died = np.unique(rows.age[failed]), rows.age[failed]
    entry = np.where(np.isin(rows.entry, died), np.nextafter(rows.entry, np.inf), rows.entry)
    weight = rows.weight
    if (weight == np.round(weight)).all():
        weight = np.round(weight).astype(np.int64)
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")  # of weights that are not whole, and of ln 0 at the end
        fitter = KaplanMeierFitter(alpha=1 - level)
        fitter.fit(rows.age, failed, entry=entry, weights=weight)
        times = fitter.survival_function_.index.to_numpy(dtype=float)
        at = np.searchsorted(times, age)
        alive = fitter.survival_function_.to_numpy(dtype=float)[at, 0]
        band = fitter.confidence_interval_.to_numpy(dtype=float)[at]
    share, low, high = 1 - alive, 1 - band.max(axis=1), 1 - band.min(axis=1)
    gone = ~(alive > 1e-12)
    share = np.where(gone, 1.0, share)
    high = np.where(gone, 1.0, high)
    if gone.any():
        last = np.flatnonzero(~gone)
        low = np.where(gone, low[last[-1]] if len(last) else 0.0, low)
    return age, share, np.clip(low, 0.0, 1.0), np.clip(high, 0.0, 1.0)


def turnbull(rows: Rows, begin: float, end: float) -> tuple[Floats, Floats, Floats]:
    """(age, since, share failed): mass in (since, age], or at age where both are equal.

    Failures between two ages, at an age, and survivors, each seen only if it outlived its
    entry. The share rises only in the innermost intervals, which late entry refines
    (Frydman 1994, JRSS B 56, 71-74); its rises are found by Turnbull's self-consistency,
    sped up by squared extrapolation (Varadhan & Roland 2008, Scandinavian Journal of
    Statistics 35, 335-353).
    """
    rows = _within(rows, begin, end).merged()
    exact, between = rows.where(EXACT), rows.where(BETWEEN)
    # an end is (age, 0) at the age itself and (age, 1) just after it
    lefts = np.where(exact, rows.age, np.where(between, rows.since, rows.age))
    left = 2 * _rank(rows, lefts) + ~exact
    right = np.where(exact | between, 2 * _rank(rows, rows.age), np.iinfo(np.int64).max)
    after = 2 * _rank(rows, rows.entry) + 1
    start, stop = _innermost(left, np.concatenate((right, after - 1)))
    first = np.searchsorted(start, left)
    last = np.searchsorted(stop, right, side="right")
    seen = np.searchsorted(start, after)
    mass = _self_consistent(rows.weight, first, last, seen, len(start))
    points = _points(rows)
    known = (mass > NO_MASS) & (stop < np.iinfo(np.int64).max)
    share = np.cumsum(mass)[known]
    return points[stop[known] // 2], points[start[known] // 2], np.minimum(share, 1.0)


def _points(rows: Rows) -> Floats:
    return np.unique(np.concatenate((rows.age, rows.since, rows.entry)))


def _rank(rows: Rows, values: Floats) -> Codes:
    return np.searchsorted(_points(rows), values).astype(np.int64)


def _innermost(left: Codes, right: Codes) -> tuple[Codes, Codes]:
    """Intervals from a left end to a right end with no other end between them."""
    lefts, rights = np.unique(left), np.unique(right)
    # the next right end from each left end on, kept where no further left end comes before it
    stop = rights[np.minimum(np.searchsorted(rights, lefts), len(rights) - 1)]
    following = np.append(lefts[1:], np.iinfo(np.int64).max)
    inner = (stop >= lefts) & ((following > stop) | (np.arange(len(lefts)) == len(lefts) - 1))
    return lefts[inner], stop[inner]


def _self_consistent(
    weight: Floats,
    first: Codes,
    last: Codes,
    seen: Codes,
    size: int,
) -> Floats:
    """Mass of each of `size` intervals; row i lies in first[i]:last[i], given seen[i]: ."""

    def stepped(mass: Floats) -> Floats:
        total = np.concatenate(([0.0], np.cumsum(mass)))
        share = weight / np.maximum(total[last] - total[first], 1e-300)
        rises = np.bincount(first, share, size + 1) - np.bincount(last, share, size + 1)
        unseen = weight / np.maximum(total[-1] - total[seen], 1e-300)
        # parts that failed before they could be seen: those that each seen part stands for
        ghosts = np.cumsum(np.bincount(seen, unseen, size + 1)[::-1])[::-1]
        ghosts = np.append(ghosts[1:], 0.0)
        after = mass * (np.cumsum(rises)[:size] + ghosts[:size])
        return np.asarray(np.maximum(after, 0.0) / after.sum())

    def height(mass: Floats) -> float:
        total = np.concatenate(([0.0], np.cumsum(mass)))
        inside, possible = total[last] - total[first], total[-1] - total[seen]
        if not (inside > 0).all():
            return -np.inf
        return float(weight @ (np.log(inside) - np.log(possible)))

    mass = np.full(size, 1.0 / size)
    for _ in range(MOST_STEPS):
        one = stepped(mass)
        two = stepped(one)
        r, v = one - mass, two - 2 * one + mass
        if np.abs(two - one).max() < SETTLED:
            return two
        length = -np.sqrt((r @ r) / max(float(v @ v), 1e-300))
        far = mass - 2 * length * r + length**2 * v
        if length < -1 and (far >= 0).all() and height(far) >= height(two):
            two = stepped(far / far.sum())
        mass = two
    return mass


@dataclass(frozen=True, eq=False)
class ProbabilityPlot:
    """Points and fitted line on Weibull paper, where a Weibull curve is straight.

    x = ln(age), y = ln(-ln(1 - share failed)), arrays (m,); the points stand half-way up the
    steps of the observed curve (Meeker & Escobar, section 6.4), the line reaches from the
    lowest to the highest of them. `low` and `high` are the band of the observed curve on the
    same scale, or None.
    """

    x: Floats
    y: Floats
    low: Floats | None
    high: Floats | None
    line_x: Floats
    line_y: Floats


def probability_plot(curve: Observed, shape: float, scale: float) -> ProbabilityPlot:
    """Weibull-paper coordinates of an observed curve and of one fitted Weibull.

    A curve that speaks only of parts in service at `from_age` is carried back to new with
    the fitted curve's own survival to that age: otherwise it would not be straight.
    """
    lived = weibull.cumulative_hazard(curve.from_age, shape, scale)
    before = np.concatenate(([0.0], curve.failed[:-1])) if len(curve.failed) else curve.failed

    def paper(share: Floats) -> Floats:
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(lived - np.log1p(-share)))

    x, y = np.log(curve.age), paper((before + curve.failed) / 2)
    line_x = np.array([x[0], x[-1]]) if len(x) else np.zeros(0)
    low, high = (None if end is None else paper(end) for end in (curve.low, curve.high))
    return ProbabilityPlot(x, y, low, high, line_x, shape * (line_x - math.log(scale)))


@dataclass(frozen=True, eq=False)
class FittedCurve:
    """The fitted share failed by each age: posterior mean and band, arrays (m,)."""

    age: Floats
    failed: Floats
    low: Floats
    high: Floats
    level: float
    from_age: float


def fitted_curve(
    curves: Curves, age: ArrayLike, *, from_age: float = 0.0, level: float = 0.9
) -> FittedCurve:
    """The posterior's share failed by each `age` (m,), of parts in service at `from_age`.

    With the `from_age` of an observed curve the two speak of the same parts. Pointwise
    equal-tailed credible band.
    """
    ages = np.atleast_1d(np.asarray(age, dtype=float))
    ahead = np.maximum(ages - from_age, 0.0)
    share = weibull.conditional_failure(from_age, ahead[:, None], curves.shape, curves.scale)
    tails = [(1 - level) / 2, (1 + level) / 2]
    ends = np.array(
        [
            weighted_quantile(row, curves.weight, tails) if row.any() else np.zeros(2)
            for row in share
        ]
    ).reshape(-1, 2)
    return FittedCurve(ages, curves.mean(share), ends[:, 0], ends[:, 1], level, from_age)
