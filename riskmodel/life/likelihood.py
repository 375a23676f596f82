"""The likelihood of life records under a Weibull curve.

| outcome | contribution, each divided by S(entered_at) |
| --- | --- |
| failed | f(age); with age_from F(age) - F(age_from) |
| running, removed | S(age) |
| removed_worn | (1 - e) W + e (S(age) - W), W = E[S(age) - S(age + V)] |
| removed_unworn | (1 - e) N + e (S(age) - N), N = E[S(age + V)] |

V is the visible warning lead, e the chance that a look is wrong. Sources: Meeker & Escobar,
Statistical Methods for Reliability Data, chapters 2 and 11; Lawless, Statistical Models and
Methods for Lifetime Data, chapter 2.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.life.looks import Looks
from riskmodel.life.rows import BETWEEN, EXACT, UNWORN, WORN, Rows, Unknown, name_rows, rows_of
from riskmodel.life.surety import surety
from riskmodel.life.terms import Exposure, Intervals, Jet, exp
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]


class Likelihood:
    """Log-likelihood of records, ready to be evaluated at many curves at once.

    Equal rows are counted together, so a file of a million rounded ages costs little more
    than its distinct ages. A failure of another cause counts as survival of wear to that
    age; one of unknown cause as `unknown_as` says. A failure between two ages of a part that
    entered between them is taken from its entry. Survivors weigh `reporting_ratio`, which
    sharpens the likelihood without telling more: `surety` is by how much it is to be blunted.

    Raises CannotAnswer, naming the lines, for a failure at age 0 (a Weibull curve gives it
    no density or an infinite one), and for looks at removed parts without `visible_lead`.
    """

    def __init__(
        self,
        records: LifeRecords | Rows,
        finding_error: float = 0.1,
        visible_lead: Quantity | None = None,
        reporting_ratio: float = 1.0,
        *,
        unknown_as: Unknown = "wear",
    ) -> None:
        rows = (
            records if isinstance(records, Rows) else rows_of(records, reporting_ratio, unknown_as)
        )
        worn = rows.where(WORN)
        looked = worn | rows.where(UNWORN)
        if visible_lead is None and looked.any():
            named = "" if isinstance(records, Rows) else f"{name_rows(records, looked)}: "
            raise CannotAnswer(
                f"{named}the look of a removed part says something about its life only beside "
                "warning.visible_lead, the usage during which distress shows"
            )
        exact, between = rows.where(EXACT), rows.where(BETWEEN)
        age, weight = rows.age, rows.weight
        self.rows = rows
        self._look = finding_error, visible_lead
        self.n = float(weight.sum() if isinstance(records, Rows) else np.sum(records.count))
        """Parts on record."""
        self.exact = float(weight[exact].sum())
        """Failures at an exactly known age."""
        self.failures = self.exact + float(weight[between].sum())
        """Parts that failed by wear."""
        self.reference = float(age.max(initial=0.0)) or 1.0
        """The greatest age: ln H is written as mu + b ln(age / reference)."""
        lived_to = np.where(between, rows.since, age)
        self.exposure = Exposure(lived_to, rows.entry, weight, self.reference)
        self.intervals = Intervals(
            age[between], rows.since[between], weight[between], self.reference
        )
        self.looks = Looks(
            age[looked], worn[looked], weight[looked], visible_lead, finding_error, self.reference
        )
        self._log_ages = float(weight[exact] @ np.log(age[exact]))
        self._sum_x = float(weight[exact] @ np.log(age[exact] / self.reference))

    @property
    def mean_x(self) -> float:
        """Mean of ln(age / reference) over failures at an exactly known age."""
        return self._sum_x / self.exact

    @property
    def bounds_life_above(self) -> bool:
        """The likelihood vanishes as the scale grows: some part is known to have failed.

        A part that came out worn is not, unless looks are never wrong.
        """
        return self.failures > 0 or self.looks.proves_wear

    @property
    def bounds_life_below(self) -> bool:
        """The likelihood vanishes as the scale shrinks: some part lived through usage."""
        return not self.exposure.empty

    @property
    def weighed(self) -> bool:
        """Some record stands for more parts than itself."""
        stands = self.rows.stands
        return stands is not None and bool(np.any(stands != 1))

    def surety(self, b: float, mu: float) -> float:
        """What the log-likelihood is to be multiplied by to be as sure as what was seen, the
        fitted curve being that of node (b, mu); see `surety.surety`. Exactly 1 where every record
        stands for itself."""
        stands = self.rows.stands
        if stands is None or not self.weighed:
            return 1.0
        return surety(self.rows.weight, stands, self._scores(b, mu))

    def blunted(self, times: float) -> Likelihood:
        """The same with its logarithm multiplied: what is left then stands for itself."""
        return Likelihood(self.rows.weighed(times), *self._look)

    def _scores(self, b: float, mu: float) -> Floats:
        """Of each row, d ln L / d mu for one part of it."""
        rows, between = self.rows, self.rows.where(BETWEEN)
        looked = rows.where(WORN) | rows.where(UNWORN)
        with np.errstate(divide="ignore", over="ignore", under="ignore", invalid="ignore"):
            entry, lived, end = (
                np.exp(np.minimum(mu + b * np.log(age / self.reference), 690.0))
                for age in (rows.entry, np.where(between, rows.since, rows.age), rows.age)
            )
            ahead = end - lived
            failing = np.where(ahead > 0, ahead / np.expm1(np.minimum(ahead, 690.0)), 1.0)
        score = entry - lived
        score[rows.where(EXACT)] += 1.0
        score[between] += failing[between]
        if looked.any():
            score[looked] += self.looks.slopes(rows.age[looked], rows.where(WORN)[looked], b, mu)
        return np.asarray(score)

    def log(self, shape: ArrayLike, scale: ArrayLike) -> Floats:
        """Log-likelihood at curves: `shape` and `scale` broadcast, any number of axes."""
        shape, scale = np.broadcast_arrays(
            np.asarray(shape, dtype=float), np.asarray(scale, dtype=float)
        )
        mu = shape * (np.log(self.reference) - np.log(scale))
        return self.at(shape.ravel(), mu.ravel()).reshape(shape.shape)

    def at(self, b: Floats, mu: Floats) -> Floats:
        """Log-likelihood at nodes (b, mu), arrays of one axis; mu = ln H(reference)."""
        distinct, back = np.unique(b, return_inverse=True)
        return self._section(b, self.exposure.log(distinct)[back])(mu[:, None])[:, 0]

    def section(self, b: Floats) -> Callable[[Floats], Floats]:
        """The log-likelihood at shapes `b` (M,), as a function of mu (M, N).

        What hangs on the shape alone is computed once: the cheap way to evaluate many
        scales at each of a few shapes.
        """
        return self._section(b, self.exposure.log(b))

    def _section(self, b: Floats, log_exposure: Floats) -> Callable[[Floats], Floats]:
        log_lived = log_exposure[:, None]
        level = (self.exact * np.log(b) + b * self._sum_x - self._log_ages)[:, None]

        def log(mu: Floats) -> Floats:
            with np.errstate(over="ignore", under="ignore"):
                value = level + self.exact * mu - np.exp(log_lived + mu)
            if len(self.intervals):
                value += self.intervals.log(b, mu)
            if len(self.looks):
                value += self.looks.log(b, mu)
            return value

        return log

    def jet(self, b: float, mu: float) -> Jet:
        """Log-likelihood at one node with its derivatives in (b, mu)."""
        return self.jet_given(b, mu, self.exposure.slopes(b))

    def jet_given(self, b: float, mu: float, exposure: tuple[float, float, float]) -> Jet:
        """The same, where `exposure.slopes(b)` is known already."""
        r = self.exact
        log_exposure, slope, curve = exposure
        lived = exp(mu + log_exposure)
        jet = Jet(
            r * (math.log(b) + mu) + b * self._sum_x - self._log_ages - lived,
            r / b + self._sum_x - lived * slope,
            r - lived,
            -r / b**2 - lived * curve,
            -lived * slope,
            -lived,
        )
        if len(self.intervals):
            jet += self.intervals.derivatives(b, mu)
        if len(self.looks):
            jet += self.looks.derivatives(b, mu)
        return jet
