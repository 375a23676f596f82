"""Effects of covariate columns on life, by maximum likelihood.

Accelerated failure time: a part with terms x lives exp(x'g) times as long as one without,
with one shape for all (Meeker & Escobar, Statistical Methods for Reliability Data, chapter
17). How columns become terms is told in `covariate_design`. Intervals are 95 %
likelihood-ratio: they do not hang on how a factor is expressed, and stay open where the records
set no end. With few failures they are somewhat too short, as normal ones are: by simulation
(tests/studies/covariates_coverage.py) they held the true factor between two levels in 94 of 100
cases with 16 failures and with 100, in 90 with 8.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from riskmodel.life.covariate_design import Column, Design, Value, design
from riskmodel.life.covariate_likelihood import Accelerated, Point, Restriction
from riskmodel.life.covariate_profile import (
    HALF_CHI2_90,
    Factor,
    Figure,
    Profile,
    Scale,
    Shape,
    interval,
)
from riskmodel.life.maximum import maximise
from riskmodel.life.profile import HALF_CHI2, Estimate
from riskmodel.life.rows import Unknown
from riskmodel.records.errors import CannotAnswer, did_you_mean, one_of, plain, shown
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]

NOTHING = Estimate(None, None, None)

FAILURES_PER_TERM = 10
"""With fewer failures for each term, effects found by chance are common: the "ten events per
variable" of Peduzzi et al. 1995, Journal of Clinical Epidemiology 48, 1503-1510 (from memory).
"""


@dataclass(frozen=True, slots=True)
class Term:
    """The effect of one level, or of one step of a numeric column.

    `factor` is life at this level over life at the column's base level; for a number, life at
    a value `step` higher (in the column's unit). `records` and `failures` count the parts at
    this level, or all. `p` is that of the likelihood-ratio test that the factor is 1.
    """

    column: str
    level: str | None
    base: str | None
    step: float | None
    factor: Estimate
    records: float
    failures: float
    p: float | None

    def over(self, difference: float) -> Estimate:
        """The factor on life over a `difference` in a numeric column's own unit."""
        if self.step is None:
            raise ValueError(f"{self.column} is a column of words")
        power = difference / self.step
        ends = (self.factor.low, self.factor.high)
        return Estimate(
            _raised(self.factor.estimate, power),
            *(_raised(end, power) for end in (ends if power >= 0 else ends[::-1])),
        )


@dataclass(frozen=True, slots=True)
class ColumnTest:
    """Whether a column matters at all: the likelihood-ratio test without any of its terms."""

    column: str
    base: str | None
    centre: float | None
    records: float
    failures: float
    terms: int
    p: float | None


@dataclass(frozen=True)
class CovariateFit:
    """A fitted accelerated failure time model.

    `shape` is common to all parts, `scale` that of a part of every base level whose numbers
    are the records' means. `aic` counts shape, scale and every estimated term; the figures
    `_without` are those of the one Weibull curve for all records. Without a best-fitting
    curve every figure is None and `warnings` says why. `surety` is how much a likelihood ratio
    counts where records stand for more parts than themselves (at the one curve for all records).
    """

    design: Design
    model: Accelerated
    top: Point | None
    kept: Restriction
    terms: tuple[Term, ...]
    columns: tuple[ColumnTest, ...]
    loglik_without: float | None
    warnings: tuple[str, ...]
    surety: float = 1.0

    @property
    def n(self) -> float:
        return self.design.pooled.n

    @property
    def failures(self) -> float:
        return self.design.pooled.failures

    @property
    def loglik(self) -> float | None:
        return None if self.top is None else self.top.value

    @property
    def aic(self) -> float | None:
        return None if self.top is None else 2 * len(self.kept.free) - 2 * self.top.value

    @property
    def aic_without(self) -> float | None:
        return None if self.loglik_without is None else 4 - 2 * self.loglik_without

    @cached_property
    def shape(self) -> Estimate:
        return self._interval(Shape())

    @cached_property
    def scale(self) -> Estimate:
        return self._interval(Scale(self.model.reference))

    def _interval(self, figure: Figure) -> Estimate:
        if self.top is None:
            return NOTHING
        return interval(self.model, self.kept, self.top, figure, HALF_CHI2 / self.surety)


def fit_covariates(
    records: LifeRecords,
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
) -> CovariateFit:
    """Fit the effects of all covariate columns of `records` at once.

    A column on which all records agree is left out, as is a term that follows from the terms
    before it; `warnings` says so. Raises CannotAnswer where `design` does.
    """
    coded = design(records, finding_error, visible_lead, reporting_ratio, unknown_as=unknown_as)
    model = Accelerated(coded)
    implied = _implied(coded)
    kept = model.restricted(tuple(implied))
    found = model.best(kept)
    top = None if isinstance(found, str) else found
    without = maximise(coded.pooled)
    sure = 1.0 if isinstance(without, str) else coded.pooled.surety(without.b, without.mu)
    terms = tuple(_term(model, kept, top, index, sure) for index in range(model.size - 2))
    warnings = [
        f"The column {name} is {_said(value)} on every record, so the records cannot tell what it "
        "does to life."
        for name, value in coded.constant.items()
    ]
    warnings += coded.notes
    warnings += [
        f"The effect of {_named(terms[index])} cannot be told from that of {' and '.join(others)}: "
        "on these records the one follows from the other. No factor is given for it."
        for index, others in implied.items()
    ]
    if isinstance(found, str):
        warnings.append(found)
    else:
        warnings += _few_failures(coded.pooled.failures, len(kept.free) - 2)
        warnings += [
            sentence for i, term in enumerate(terms) if i not in implied for sentence in _open(term)
        ]
    return CovariateFit(
        coded,
        model,
        top,
        kept,
        terms,
        tuple(
            _column_test(model, tuple(implied), top, column, at, sure)
            for column, at in zip(coded.columns, coded.slices(), strict=True)
        ),
        None if isinstance(without, str) else without.jet.value,
        tuple(warnings),
        sure,
    )


def harshness_from(fit: CovariateFit, column: str, level: Value) -> Quantity:
    """Equivalent usage per unit of usage at `level`, against the base level of `column`.

    That is 1 over the factor on life, as the range [low, high] of its 90 % likelihood-ratio
    interval; for a numeric column against the records' mean. Raises CannotAnswer where the
    column or the level is not known, or where the records set no end to the factor.
    """
    found = next((c for c in fit.design.columns if c.name == column), None)
    if found is None:
        names = [c.name for c in fit.design.columns]
        known = one_of(names) if names else "none"
        raise CannotAnswer(
            f"{shown(column)} is no covariate with an effect to learn; there is: {known}"
            f"{did_you_mean(column, names)}"
        )
    fault = found.fault(level)
    if fault is not None:
        raise CannotAnswer(fault)
    if found.base == level or (found.numeric and float(level) == found.centre):
        return exactly(1.0)
    index = fit.design.terms.index((found, None if found.numeric else str(level)))
    ends = NOTHING
    if fit.top is not None and 2 + index in fit.kept.free:
        ends = interval(fit.model, fit.kept, fit.top, Factor(index), HALF_CHI2_90 / fit.surety)
    if ends.low is None or ends.high is None:
        raise CannotAnswer(
            f"the records set no range to the factor on life of {_named(fit.terms[index])}"
        )
    steps = (float(level) - found.centre) / found.step if found.numeric else 1.0
    low, high = sorted(-steps * math.log(end) for end in (ends.low, ends.high))
    return Quantity(math.exp(_clipped(low)), math.exp(_clipped(high)))


def _term(
    model: Accelerated, kept: Restriction, top: Point | None, index: int, sure: float
) -> Term:
    coded = model.design
    column, level = coded.terms[index]
    here = np.ones(len(coded.count), dtype=bool)
    if level is not None:
        here = coded.patterns[coded.pattern_of, index] == 1
    factor, p = NOTHING, None
    if top is not None and 2 + index in kept.free:
        factor = interval(model, kept, top, Factor(index), HALF_CHI2 / sure)
        p = _p_value(top, Profile(model, kept, top, Factor(index)).at(0.0), 1, sure)
    return Term(
        column.name,
        level,
        column.base,
        column.step if column.numeric else None,
        factor,
        float(coded.count[here].sum()),
        float(coded.failed[here].sum()),
        p,
    )


def _column_test(
    model: Accelerated,
    implied: Sequence[int],
    top: Point | None,
    column: Column,
    at: slice,
    sure: float,
) -> ColumnTest:
    coded = model.design
    own = range(at.start, at.stop)
    # a level has a term that is 1; the base level has none
    named = coded.patterns[coded.pattern_of, at].sum(axis=1)
    here = np.full(len(named), True) if column.numeric else named == 0
    tested, p = [i for i in own if i not in implied], None
    if top is not None and tested:
        less = model.best(model.restricted((*implied, *own)), top.theta)
        p = None if isinstance(less, str) else _p_value(top, less, len(tested), sure)
    return ColumnTest(
        column.name,
        column.base,
        column.centre if column.numeric else None,
        float(coded.count[here].sum()),
        float(coded.failed[here].sum()),
        len(tested),
        p,
    )


def _raised(factor: float | None, power: float) -> float | None:
    return None if factor is None else math.exp(_clipped(math.log(factor) * power))


def _clipped(log: float) -> float:
    """A logarithm whose exponential can be held."""
    return min(max(log, -700.0), 700.0)


def _p_value(top: Point, less: Point, freedom: int, sure: float) -> float:
    return float(chdtrc(freedom, 2 * sure * max(top.value - less.value, 0.0)))


def _implied(coded: Design) -> dict[int, list[str]]:
    """Terms that follow from those before them, each with the columns that they follow from."""
    rows = coded.patterns
    independent: list[int] = []
    implied: dict[int, list[str]] = {}
    for index in range(rows.shape[1]):
        known = np.column_stack([np.ones(len(rows)), rows[:, independent]])
        share, *_ = np.linalg.lstsq(known, rows[:, index], rcond=None)
        rest = rows[:, index] - known @ share
        if np.abs(rest).max() > 1e-9 * max(1.0, float(np.abs(rows[:, index]).max())):
            independent.append(index)
            continue
        names = [
            coded.terms[i][0].name
            for i, s in zip(independent, share[1:].tolist(), strict=True)
            if abs(s) > 1e-6
        ]
        implied[index] = list(dict.fromkeys(names))
    return implied


def _few_failures(failures: float, terms: int) -> list[str]:
    if terms == 0 or failures >= FAILURES_PER_TERM * terms:
        return []
    return [
        f"{_counted(failures, 'failure')} for {_counted(terms, 'effect')}: with "
        f"fewer than {FAILURES_PER_TERM} for each (a rule of thumb), what looks like an effect is "
        "often chance: go by the intervals, not by the factors, and take even those as somewhat "
        "too short."
    ]


def _counted(number: float, what: str) -> str:
    return f"{plain(number)} {what}{'' if number == 1 else 's'}"


def _open(term: Term) -> list[str]:
    """What to say where the records leave a factor without an end."""
    if term.factor.low is not None and term.factor.high is not None:
        return []
    if term.failures == 0 and term.factor.high is None:
        return [
            f"No part with {_named(term)} failed by wear ({plain(term.records)} on record), so "
            "its factor on life has no upper end."
        ]
    ends = [
        name
        for name, end in (("lower", term.factor.low), ("upper", term.factor.high))
        if end is None
    ]
    return [f"The records set no {' or '.join(ends)} end to the factor on life of {_named(term)}."]


def _named(term: Term) -> str:
    return f"{term.column} {shown(term.level)}" if term.level is not None else term.column


def _said(value: Value) -> str:
    return shown(value) if isinstance(value, str) else plain(value)
