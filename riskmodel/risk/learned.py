"""What was learned from the records, and how much of the answer they carry.

The answer itself needs none of this: here the same records are looked at without the belief,
the belief without the records, both without an assumed curve, under other distributions, by
covariate, and with a careful analyst's eye for what is wrong with them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.check import Remark, check
from riskmodel.life.covariate_curves import trait_notes
from riskmodel.life.covariates import CovariateFit, fit_covariates
from riskmodel.life.curves import (
    Choice,
    FittedCurve,
    Observed,
    ProbabilityPlot,
    distribution_choice,
    fitted_curve,
    observed,
    probability_plot,
)
from riskmodel.life.fit import Fit, fit
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Z90, Quantity
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.life_curves import (
    average_curves,
    believed_curves,
    by_traits,
    likelihood_of,
)

Floats = NDArray[np.float64]

POINTS = 81
"""Ages at which curves are drawn."""


@dataclass(frozen=True, slots=True)
class Known:
    """One way of knowing the life curve: by the records, by the belief, or by both.

    `curve` is the share failed by each age (None: no curve), `chance` that of failing before
    the next oil change, given that the part lasts today, with `low` and `high` (90 % credible;
    by the records alone 95 % likelihood-ratio; None where an end does not exist). `why_not` says
    why there is none of it, `cautions` how to read it.
    """

    curve: FittedCurve | None
    chance: float | None
    low: float | None
    high: float | None
    why_not: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Share:
    """How much of what is known of one quantity is from the records: 1 - V / V0, V the variance
    of its logarithm by both and V0 by the belief alone (1: nothing was believed; 0 where the
    records made it no surer). `believed` is the belief, None where there is none; `low` and
    `high` the 90 % interval by both.
    """

    records: float
    believed: Quantity | None
    median: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Effects:
    """What the covariate columns say of life, by maximum likelihood.

    `fit` is None, and `why_not` says why, where they say nothing. `traits` are this engine's
    values, `used` whether they enter its chances; `notes` are sentences on what the records
    cannot tell of such an engine. `average` is the chance before the next oil change of an
    engine of which no trait is known: (value, low, high).
    """

    fit: CovariateFit | None
    why_not: str
    traits: Mapping[str, float | str]
    used: bool
    notes: tuple[str, ...]
    average: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Learned:
    """The records of a case, and the belief, each on its own and together.

    Curves are of an average part, from new (or from `observed.from_age`). `ahead` is usage to
    the next oil change. Without records `observed`, `plot`, `choice` and `effects` are None.
    `conflict` is True where the belief about the life by which half fail and what the records
    alone say of it lie further apart than both intervals explain.
    """

    age: float
    ahead: float
    both: Known
    by_records: Known
    by_belief: Known
    shape: Share
    half: Share
    conflict: bool
    remarks: tuple[Remark, ...]
    observed: Observed | None
    plot: ProbabilityPlot | None
    choice: Choice | None
    effects: Effects | None


def learned(case: Case) -> Learned:
    """All that the records of `case` say, beside its answer.

    Raises `CannotAnswer` where records and beliefs together do not settle a life curve.
    """
    records, unit = case.records, case.machine.unit
    ahead = min(case.next_change_in, case.keep)
    curves = average_curves(case)
    seen = None if records is None else observed(records, case.life.reporting_ratio)
    ages = _ages(case, seen)
    start = 0.0 if seen is None or seen.reason is not None else seen.from_age
    best = _best(case)
    top = None if best is None else best.maximum
    both = _known(curves, case.age, ahead, ages, start)
    plot = None
    if seen is not None and seen.reason is None and best is not None and top is not None:
        plot = probability_plot(seen, top.b, float(best.scale.estimate or math.nan))
    return Learned(
        age=case.age,
        ahead=ahead,
        both=both,
        by_records=_by_records(best, case.age, ahead, ages, start),
        by_belief=_by_belief(case, ahead, ages, start),
        shape=_share(curves, curves.shape, case.life.shape_prior),
        half=_share(curves, _half(curves), case.life.b50_prior),
        conflict=_conflict(best, case.life.b50_prior),
        remarks=() if records is None else _remarks(case, ahead),
        observed=seen,
        plot=plot,
        choice=None
        if records is None
        else distribution_choice(records, case.age, ahead, case.life.reporting_ratio, unit=unit),
        effects=_effects(case, curves, ahead),
    )


def _remarks(case: Case, ahead: float) -> tuple[Remark, ...]:
    assert case.records is not None
    return check(
        case.records,
        case.machine.unit,
        at=case.age,
        ahead=ahead,
        finding_error=case.life.finding_error,
        visible_lead=case.warning.visible_lead,
        reporting_ratio=case.life.reporting_ratio,
    )


def _ages(case: Case, seen: Observed | None) -> Floats:
    """From new to a little beyond all that is on record or will be asked about."""
    end = case.age + case.keep
    if case.records is not None and len(case.records):
        end = max(end, float(case.records.age.max()))
    ages = np.linspace(0.0, end, POINTS)
    return (
        ages if seen is None else np.unique(np.append(ages[ages >= seen.from_age], seen.from_age))
    )


def _known(curves: Curves, age: float, ahead: float, ages: Floats, start: float) -> Known:
    curve = fitted_curve(curves, ages, from_age=start)
    value, low, high = (float(x[0]) for x in chance_ahead(curves, age, np.array([ahead])))
    return Known(curve, value, low, high)


def _best(case: Case) -> Fit | None:
    likelihood = likelihood_of(case)
    return None if likelihood is None else fit(likelihood)


def _by_records(best: Fit | None, age: float, ahead: float, ages: Floats, start: float) -> Known:
    """Maximum likelihood: nothing is believed beforehand, not even about the shape."""
    if best is None:
        return Known(None, None, None, None, "there are no records")
    if best.maximum is None:
        return Known(None, None, None, None, best.warnings[0])
    shape, scale = best.shape.estimate, best.scale.estimate
    assert shape is not None
    assert scale is not None
    failed = weibull.conditional_failure(start, np.maximum(ages - start, 0.0), shape, scale)
    none = np.full(len(ages), np.nan)
    found = best.conditional(age, ahead)
    curve = FittedCurve(ages, np.asarray(failed), none, none, 0.0, start)
    return Known(curve, found.probability, found.low, found.high, cautions=best.warnings)


def _by_belief(case: Case, ahead: float, ages: Floats, start: float) -> Known:
    if case.life.b50_prior is None:
        return Known(
            None, None, None, None, "nothing was believed beforehand of how long such parts last"
        )
    return _known(believed_curves(case), case.age, ahead, ages, start)


def _half(curves: Curves) -> Floats:
    """The life by which half fail, of each curve."""
    return np.asarray(weibull.quantile(0.5, curves.shape, curves.scale))


def _share(curves: Curves, values: Floats, believed: Quantity | None) -> Share:
    logs = np.log(values)
    centre = float(curves.mean(logs))
    variance = float(curves.mean((logs - centre) ** 2))
    low, median, high = np.exp(weighted_quantile(logs, curves.weight, [0.05, 0.5, 0.95]))
    records = 1.0
    if believed is not None:
        records = 0.0 if believed.exact else min(max(1 - variance / believed.spread**2, 0.0), 1.0)
    return Share(records, believed, float(median), float(low), float(high))


def _conflict(best: Fit | None, believed: Quantity | None) -> bool:
    """Whether belief and records differ by more than 90 % of what both allow, on the log scale."""
    if best is None or believed is None:
        return False
    half = best.life(0.5)
    if half.estimate is None:
        return False
    above = half.estimate > believed.median
    end = half.low if above else half.high
    if end is None:
        return False
    gap = abs(math.log(half.estimate / believed.median))
    # the half-width of the side that faces the belief, brought from 95 % to 90 %
    own = abs(math.log(half.estimate / end)) * Z90 / 1.959964
    return gap > math.hypot(own, Z90 * believed.spread)


def _effects(case: Case, curves: Curves, ahead: float) -> Effects | None:
    records = case.records
    if records is None or not records.covariates:
        return None
    average = chance_ahead(curves, case.age, np.array([ahead]))
    value, low, high = (float(x[0]) for x in average)
    found: CovariateFit | None = None
    why_not, notes = "", tuple[str, ...]()
    try:
        found = fit_covariates(
            records,
            case.life.finding_error,
            case.warning.visible_lead,
            case.life.reporting_ratio,
        )
        notes = trait_notes(records, case.part.traits)
    except CannotAnswer as error:
        why_not = str(error)
    return Effects(found, why_not, case.part.traits, by_traits(case), notes, (value, low, high))
