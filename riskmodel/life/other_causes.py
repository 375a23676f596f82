"""Failures of other causes: a constant rate that no replacement resets."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv

from riskmodel.life.rows import Unknown
from riskmodel.life.surety import surety
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.tables import LifeRecords


@dataclass(frozen=True, slots=True)
class Rate:
    """Failures per unit of usage: `failures` over `exposure`, with an interval.

    `surety` is how much both count where some records stand for more parts than themselves.
    """

    failures: float
    exposure: float
    rate: float
    low: float
    high: float
    surety: float = 1.0

    def quantile(self, share: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """The rate below which so much of the posterior lies, Gamma(surety * failures + 1/2,
        surety * exposure)."""
        counted = self.surety * self.failures + 0.5
        found = gammaincinv(counted, share) / (self.surety * self.exposure)
        return np.asarray(found, dtype=np.float64)


def other_causes(
    records: LifeRecords,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
    level: float = 0.9,
) -> Rate:
    """The constant rate of failures whose cause is not wear [per unit of usage].

    Exposure is the usage watched, (age - entered_at) times count, survivors weighed by
    `reporting_ratio`. A failure between two ages ends its exposure half-way. The interval is
    the equal-tailed Jeffreys interval, the posterior Gamma(failures + 1/2, exposure) of a
    Poisson rate; its low end is 0 where nothing failed (Brown, Cai & DasGupta 2003,
    Statistica Sinica 13, 19-49). Where survivors stand for more than themselves, failures and
    exposure count for as much as `surety` leaves of them.

    Raises CannotAnswer where no usage was watched.
    """
    spared = {"other"} if unknown_as == "wear" else {"other", "unknown"}
    failed = np.array([outcome == "failed" for outcome in records.outcome], dtype=bool)
    worn = np.array([outcome == "removed_worn" for outcome in records.outcome], dtype=bool)
    other = failed & np.array([cause in spared for cause in records.cause], dtype=bool)
    stands = np.where(failed | worn, 1.0, reporting_ratio)
    weight = stands * records.count
    since = np.fmax(records.age_from, records.entered_at)
    end = np.where(failed & ~np.isnan(records.age_from), (records.age + since) / 2, records.age)
    watched = end - records.entered_at
    exposure = float(weight @ watched)
    if not exposure > 0:
        raise CannotAnswer("no usage was watched, so nothing can be said of other causes")
    count = float(records.count[other].sum())
    sure = surety(weight, stands, other - count / exposure * watched)
    found = Rate(count, exposure, count / exposure, 0.0, 0.0, sure)
    tail = (1 - level) / 2
    low = float(found.quantile(tail)) if count > 0 else 0.0
    return replace(found, low=low, high=float(found.quantile(1 - tail)))
