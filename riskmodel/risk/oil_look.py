"""All that the oil samples of a case say on their own, for `riskmodel oil` and the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.alarm import shed
from riskmodel.oil.fleet import Fleet, fleet, with_usual
from riskmodel.oil.history import History, history
from riskmodel.oil.history_ahead import likelihood_ahead
from riskmodel.oil.limits import OwnLimit, own_limits
from riskmodel.oil.mass_balance import SampleRates, wear_rates
from riskmodel.oil.seen import Foresight, foresight
from riskmodel.records.case import Case

Floats = NDArray[np.float64]

POINTS = 61
"""Failure ages at which the oil factor is told."""

BEYOND = 1.5
"""How far beyond keep-until, in the longest likely leads."""


@dataclass(frozen=True, slots=True, eq=False)
class OilLook:
    """Rates of every sample, limits by element, and the oil factor.

    `factor` (n,) is how many times likelier a failure at each `failure_age` (n,) has become
    because of the samples, at the means of what is not known; both empty without used samples.
    `taken` is the samples as evidence, `foresight` what sampling at every oil change would catch;
    None without an element that the part sheds. `fleet` is what other engines' samples tell, None
    without any.
    """

    rows: tuple[SampleRates, ...]
    limits: Mapping[str, OwnLimit | None]
    failure_age: Floats
    factor: Floats
    taken: History | None
    foresight: Foresight | None
    fleet: Fleet | None = None


def oil_look(case: Case) -> OilLook:
    """What the samples of `case` say; everything is empty where there are none.

    Raises CannotAnswer where a usual level is left to samples that do not tell it.
    """
    case = with_usual(case)
    rows = wear_rates(case)
    taken = history(case, rates=rows)
    age, factor = np.zeros(0), np.zeros(0)
    if taken is not None:
        reach = BEYOND * case.warning.lead.high * case.warning.lead_factor.high
        # close together near today, where it bends
        age = case.age + (case.keep + reach) * np.linspace(0.0, 1.0, POINTS) ** 2
        told = taken.factor_points[1] @ likelihood_ahead(taken, age)
        silent = taken.silent.mean
        factor = silent + (1 - silent) * told
    return OilLook(
        rows,
        own_limits(rows, case.oil.false_alarm),
        age,
        factor,
        taken,
        _foresight(case, taken),
        fleet(case),
    )


def _foresight(case: Case, taken: History | None) -> Foresight | None:
    elements = shed(case.oil.element)
    if not elements:
        return None
    warning, oil = case.warning, case.oil
    used = {} if taken is None else taken.used
    return foresight(
        warning.lead,
        warning.lead_factor,
        warning.silent,
        elements,
        case.interval,
        used,
        oil.false_alarm,
        oil.turnaround,
        oil.investigation_sees,
        oil.shared_scatter,
    )
