"""The rule for the interval of an inspection that maintenance engineers know, beside the model.

Inspections enough must fall in the net P-F interval, the least time likely to pass from finding a
potential failure to the functional failure (SAE JA1012, 2002, 3.19): here the warning lead less
the turnaround of a sample. It takes the lead as known and misses as independent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.oil.alarm import alarm, shed
from riskmodel.oil.history import History
from riskmodel.oil.seen import Foresight, detection, foresight
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly

ACCEPTED = 0.1
"""The accepted chance of missing it, in the rule for the number of samples (judgement)."""
PLACES = 16
"""Quadrature points over where in the net warning a sample falls."""


@dataclass(frozen=True, slots=True)
class Warned:
    """The P-F rule at one interval: how many samples fall within the net warning where the lead is
    `short`, middling or `long` (5, 50 and 95 of 100 are shorter); the chance that one of
    them `sees` the distress of a middling lead, and that by the rule all of them have `missed` it;
    and the share of all failures that the model says are `caught` in time."""

    short: float
    middle: float
    long: float
    sees: float
    missed: float
    caught: Foresight


def net_warning(case: Case) -> tuple[float, float, float]:
    """The lead less the turnaround, not below 0: 5, 50 and 95 of 100 are shorter."""
    lead, factor = case.warning.lead, case.warning.lead_factor.median
    short, middle, long = (
        max(factor * value - case.oil.turnaround, 0.0)
        for value in (lead.low, lead.median, lead.high)
    )
    return short, middle, long


def needed(sees: float, accepted: float) -> float:
    """Samples wanted in the net P-F interval: n = ln(accepted) / ln(1 - sees), not rounded.

    `sees` is the chance that one of them finds a potential failure that is there, `accepted`
    that of missing it (NAVAIR 00-25-403). Misses count as independent.
    """
    if sees <= 0:
        return float("inf")
    if sees >= 1:
        return 1.0
    return float(np.log(accepted) / np.log1p(-sees))


def missed(net: float, every: float, sees: float) -> float:
    """The chance that all samples in a net P-F interval of `net` miss it.

    The rule's (1 - sees)^(net / every) holds for a whole number of samples; else as many or one
    more fall within, by where the interval begins, and the chance is averaged over that.
    """
    whole, more = divmod(net / every, 1.0)
    return float((1 - sees) ** whole * (1 - more * sees))


def warned(case: Case, taken: History | None) -> Warned | None:
    """The rule at the interval of `case`; None where no metal of the part is sampled."""
    elements = shed(case.oil.element)
    if not elements or not case.sampled:
        return None
    warning, oil, every = case.warning, case.oil, case.interval
    used = {} if taken is None else taken.used
    short, middle, long = net_warning(case)
    ring = alarm(elements, every, used, oil.false_alarm, oil.shared_scatter)
    sees = 0.0
    if middle > 0:
        # one sample, anywhere in the net warning: the part fails later than the turnaround
        lead = middle + oil.turnaround
        place, share = np.polynomial.legendre.leggauss(PLACES)
        drawn_at = 10 * (lead + every)
        fails = drawn_at + oil.turnaround + middle * (place + 1) / 2
        seen = detection(
            fails, [drawn_at], every, exactly(lead), elements, ring, oil.investigation_sees
        )
        sees = float(share / 2 @ seen.first[:, 0])
    return Warned(
        short / every,
        middle / every,
        long / every,
        sees,
        missed(middle, every, sees),
        foresight(
            warning.lead,
            warning.lead_factor,
            warning.silent,
            elements,
            every,
            used,
            oil.false_alarm,
            oil.turnaround,
            oil.investigation_sees,
            oil.shared_scatter,
        ),
    )
