"""Failures of other causes: a constant rate that no replacement resets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv

from riskmodel.life.rows import Unknown
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.tables import LifeRecords


@dataclass(frozen=True, slots=True)
class Rate:
    """Failures per unit of usage: `failures` over `exposure`, with an interval."""

    failures: float
    exposure: float
    rate: float
    low: float
    high: float


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
    Statistica Sinica 13, 19-49).

    Raises CannotAnswer where no usage was watched.
    """
    spared = {"other"} if unknown_as == "wear" else {"other", "unknown"}
    failed = np.array([outcome == "failed" for outcome in records.outcome], dtype=bool)
    worn = np.array([outcome == "removed_worn" for outcome in records.outcome], dtype=bool)
    other = failed & np.array([cause in spared for cause in records.cause], dtype=bool)
    weight = np.where(failed | worn, 1.0, reporting_ratio) * records.count
    since = np.fmax(records.age_from, records.entered_at)
    end = np.where(failed & ~np.isnan(records.age_from), (records.age + since) / 2, records.age)
    exposure = float(weight @ (end - records.entered_at))
    if not exposure > 0:
        raise CannotAnswer("no usage was watched, so nothing can be said of other causes")
    count = float(records.count[other].sum())
    tail = (1 - level) / 2
    low = float(gammaincinv(count + 0.5, tail)) / exposure if count > 0 else 0.0
    high = float(gammaincinv(count + 0.5, 1 - tail)) / exposure
    return Rate(count, exposure, count / exposure, low, high)
