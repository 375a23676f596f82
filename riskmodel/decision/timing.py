"""When things can happen between today and keep-until, in usage from now."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.records.case import Case

Floats = NDArray[np.float64]

AT_THE_END = 1e-9
"""A service this close to keep-until (relative) counts as falling on it: none is held."""


@dataclass(frozen=True, slots=True)
class Timing:
    """The clock of a case.

    `keep` is the usage until the machine is given up, `interval` the usage between
    services, `first` the usage to the next one, `per_year` the usage in a year and `rate`
    the yearly discount rate. A `coarse` one is followed in fewer steps, to compare by.
    """

    keep: float
    interval: float
    first: float
    per_year: float
    rate: float
    coarse: bool = False

    @property
    def services(self) -> Floats:
        """Services of the present part, strictly before keep-until; shape (services,)."""
        return services_within(self.keep, self.first, self.interval)

    def discount(self, usage: Floats | float) -> Floats:
        """What money at `usage` from now is worth today, (1 + rate)^-years; same shape."""
        return np.asarray((1 + self.rate) ** (-np.asarray(usage) / self.per_year))


def services_within(keep: float, first: float, interval: float) -> Floats:
    """Usage at services first, first + interval, ... strictly before `keep`."""
    end = keep * (1 - AT_THE_END)
    count = max(0, int(np.ceil((end - first) / interval)))
    return first + interval * np.arange(count, dtype=np.float64)


def timing_of(case: Case) -> Timing:
    return Timing(
        keep=case.keep,
        interval=case.interval,
        first=case.next_change_in,
        per_year=case.machine.usage_per_year,
        rate=case.cost.discount_rate,
    )
