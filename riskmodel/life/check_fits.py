"""Fits of the records as they stand, and of the same records a little changed."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.check_remark import percent, rough
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.profile import Life
from riskmodel.life.rows import Rows, rows_of
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]

B10 = 0.1

SAME = 0.01
"""A change of B10 by less than this is none (judgement)."""


class Fits:
    """Maximum-likelihood fits beside the one that is being checked.

    Without `visible_lead` looks cannot be weighed: parts that came out worn or unworn then
    count as removed. `top` is None where the records have no best-fitting curve.
    """

    def __init__(
        self,
        records: LifeRecords,
        finding_error: float = 0.1,
        visible_lead: Quantity | None = None,
        reporting_ratio: float = 1.0,
    ) -> None:
        self.records = records
        self.finding_error = finding_error
        self.visible_lead = visible_lead
        self.reporting_ratio = reporting_ratio
        try:
            self.rows: Rows | None = self.read(records)
        except CannotAnswer:
            self.rows = None

    def read(self, records: LifeRecords, unknown_as_other: bool = False) -> Rows:
        """Records as rows, read as the checked fit reads them."""
        rows = rows_of(records, self.reporting_ratio, "other" if unknown_as_other else "wear")
        return rows if self.visible_lead is not None else rows.without_looks()

    def likelihood(self, rows: Rows) -> Likelihood:
        return Likelihood(rows, self.finding_error, self.visible_lead)

    @cached_property
    def base(self) -> Likelihood | None:
        """The likelihood of the records as they stand."""
        return None if self.rows is None else self.likelihood(self.rows)

    @cached_property
    def top(self) -> Maximum | None:
        if self.base is None:
            return None
        found = maximise(self.base)
        return found if isinstance(found, Maximum) else None

    @cached_property
    def b10(self) -> float | None:
        """The age by which one in ten has failed on the best-fitting curve."""
        return None if self.top is None or self.base is None else _b10(self.base, self.top)

    @property
    def curve(self) -> tuple[float, float]:
        """(shape, scale) of the best-fitting curve; there must be one."""
        assert self.top is not None
        assert self.base is not None
        return self.top.b, self.base.reference * math.exp(-self.top.mu / self.top.b)

    @cached_property
    def log_b10_error(self) -> float:
        """Standard error of ln B10, from the curvature at the maximum and how sure that is."""
        if self.top is None or self.base is None:
            return math.inf
        at, far = self.top.jet, Life(B10, self.base.reference).jet(self.top.b, self.top.mu)
        determinant = at.bb * at.mumu - at.bmu**2
        spread = -(at.mumu * far.b**2 - 2 * at.bmu * far.b * far.mu + at.bb * far.mu**2)
        sure = self.base.surety(self.top.b, self.top.mu)
        return math.sqrt(spread / determinant / sure)

    def b10_of(self, rows: Rows) -> float | None:
        """The same for rows a little different; None where they have no best-fitting curve."""
        likelihood = self.likelihood(rows)
        found = self._near(likelihood)
        if found is None:
            anew = maximise(likelihood)
            found = anew if isinstance(anew, Maximum) else None
        return None if found is None else _b10(likelihood, found)

    def b10_of_records(self, records: LifeRecords, unknown_as_other: bool = False) -> float | None:
        """The same for records a little different."""
        try:
            return self.b10_of(self.read(records, unknown_as_other))
        except CannotAnswer:
            return None

    def b10_without(self, row: int) -> float | None:
        """The same with one of `rows` left out."""
        if self.rows is None:
            return None
        keep = np.ones(len(self.rows.age), dtype=bool)
        keep[row] = False
        return self.b10_of(self.rows.keep(keep))

    def _near(self, likelihood: Likelihood) -> Maximum | None:
        """Newton's method from the base maximum: the quick way, where it settles."""
        if self.top is None or self.base is None:
            return None
        b, mu = self.top.b, self.top.mu
        mu += b * math.log(likelihood.reference / self.base.reference)
        jet = likelihood.jet(b, mu)
        for _ in range(8):
            determinant = jet.bb * jet.mumu - jet.bmu**2
            if not (jet.bb < 0 and determinant > 0):
                return None
            db = (jet.bmu * jet.mu - jet.mumu * jet.b) / determinant
            dmu = (jet.bmu * jet.b - jet.bb * jet.mu) / determinant
            if not (abs(db) < b / 2 and abs(dmu) < 2):
                return None
            b, mu = b + db, mu + dmu
            after = likelihood.jet(b, mu)
            if not after.value > jet.value - 1e-6 * abs(jet.value):
                return None
            jet = after
            if abs(db) < 1e-6 * b and abs(dmu) < 1e-6:
                return Maximum(b, mu, jet)
        return None


def _b10(likelihood: Likelihood, top: Maximum) -> float:
    return math.exp(Life(B10, likelihood.reference).jet(top.b, top.mu).value)


def moved(before: float, after: float, unit: str | None) -> str:
    """What a change does to the B10 life: "moves the B10 life from 84,000 to 91,000 km"."""
    if abs(math.log(after / before)) < SAME:
        return f"moves the B10 life, {rough(before, unit)}, by less than {percent(SAME)}"
    return f"moves the B10 life from {rough(before, None)} to {rough(after, unit)}"
