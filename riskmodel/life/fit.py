"""Maximum likelihood with likelihood-ratio intervals, to set beside published results."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.profile import Ahead, Estimate, Figure, Life, Shape, interval
from riskmodel.life.rows import Unknown
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

FEW = 10
"""Failures below which maximum likelihood puts the shape noticeably too high (judgement)."""


@dataclass(frozen=True, slots=True)
class Conditional:
    """P(fail by age at + ahead | in service at age `at`), with its 95 % interval."""

    at: float
    ahead: float
    probability: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Fit:
    """A fitted Weibull curve; 95 % likelihood-ratio intervals, computed when first read.

    Where the likelihood has no maximum every figure is None and `warnings` says why.
    """

    likelihood: Likelihood
    maximum: Maximum | None
    warnings: tuple[str, ...]

    @property
    def n(self) -> float:
        """Parts on record."""
        return self.likelihood.n

    @property
    def failures(self) -> float:
        """Parts that failed by wear."""
        return self.likelihood.failures

    @property
    def loglik(self) -> float | None:
        """The greatest log-likelihood (natural logarithm, ages in the records' unit)."""
        return None if self.maximum is None else self.maximum.jet.value

    @cached_property
    def shape(self) -> Estimate:
        return self._interval(Shape())

    @cached_property
    def scale(self) -> Estimate:
        """The age by which 63.2 % have failed."""
        return self.life(-math.expm1(-1.0))

    @cached_property
    def b10(self) -> Estimate:
        """The age by which one in ten has failed."""
        return self.life(0.1)

    def life(self, probability: float) -> Estimate:
        """The age by which a share `probability` has failed."""
        return self._interval(Life(probability, self.likelihood.reference))

    def conditional(self, at: float, ahead: float) -> Conditional:
        """P(fail by age at + ahead | in service at age `at`)."""
        if ahead <= 0:
            return Conditional(at, ahead, 0.0, 0.0, 0.0)
        hazard = self._interval(Ahead(at, ahead, self.likelihood.reference))
        chances = (
            None if figure is None else -math.expm1(-figure)
            for figure in (hazard.estimate, hazard.low, hazard.high)
        )
        return Conditional(at, ahead, *chances)

    def _interval(self, figure: Figure) -> Estimate:
        if self.maximum is None:
            return Estimate(None, None, None)
        return interval(self.likelihood, self.maximum, figure)


def fit(
    records: LifeRecords | Likelihood,
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
) -> Fit:
    """Fit a Weibull curve to records, or to a likelihood already made of them.

    The other arguments are those of `Likelihood` and go with records only. Raises
    CannotAnswer as `Likelihood` does; data without a best-fitting curve do not raise.
    """
    if isinstance(records, Likelihood):
        likelihood = records
    else:
        likelihood = Likelihood(
            records, finding_error, visible_lead, reporting_ratio, unknown_as=unknown_as
        )
    found = maximise(likelihood)
    if isinstance(found, str):
        return Fit(likelihood, None, (found,))
    return Fit(likelihood, found, tuple(_cautions(likelihood.failures, found.b)))


def _cautions(failures: float, shape: float) -> list[str]:
    told = []
    if 0 < failures < FEW:
        parts = "part" if failures == 1 else "parts"
        told.append(
            f"Only {failures:g} {parts} failed by wear: with so few, the best-fitting shape tends "
            "to be too high. Read the intervals, not the estimates."
        )
    if shape < 1:
        told.append(
            "The best-fitting shape is below 1: on these records failure does not get likelier "
            "with age."
        )
    if shape > 20:
        told.append(
            f"The best-fitting shape is {shape:.3g}: the failures lie closer together than wear "
            "usually does. Look whether their ages are rounded or share a cause."
        )
    return told
