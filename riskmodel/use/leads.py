"""Warning leads and past samples in usage from now on.

A lead is effective usage: hard use brings failure on sooner once distress has begun, as it does
before. Plans count usage from now, so a lead is told over the ageing ahead; what is not known of
that joins what is not known of the lead's middle. Ages of past samples are told as usage before
today at the pace to come: what matters of them is how many leads ago they were.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.records.quantity import Z90, Quantity
from riskmodel.use.effective_age import Use

Floats = NDArray[np.float64]


def in_usage_from_now(use: Use, ages: ArrayLike) -> Floats:
    """The plain age today less the usage, at the pace to come, in which the part would age by what
    it has aged since plain `ages` (n,); means over the nodes, (n,).

    Ages since which it was used as it will be stay as they are, and today's always does.
    """
    since = (use.age[:, None] - use.effective_age(ages)) / use.ahead[:, None]
    return np.asarray(use.plain_age - use.weight @ since)


def lead_ahead(lead: Quantity, use: Use) -> Quantity:
    """A lead that varies from part to part, over the (geometric) mean ageing ahead."""
    return _scaled(lead, -_log_ahead(use)[0], 0.0)


def lead_factor_ahead(factor: Quantity, use: Use) -> Quantity:
    """The factor that is not known on a lead's middle, what is not known of the ageing ahead about
    its own mean put to it."""
    return _scaled(factor, 0.0, _log_ahead(use)[1])


def _log_ahead(use: Use) -> tuple[float, float]:
    """Mean and standard deviation of ln(ahead)."""
    log = np.log(use.ahead)
    mean = float(use.weight @ log)
    return mean, math.sqrt(float(use.weight @ (log - mean) ** 2))


def _scaled(quantity: Quantity, shift: float, more: float) -> Quantity:
    """A quantity with `shift` added to its logarithm and `more` to its spread, in quadrature."""
    if quantity.median == 0:
        return quantity
    middle = math.log(quantity.median) + shift
    reach = Z90 * math.hypot(quantity.spread, more)
    return Quantity(math.exp(middle - reach), math.exp(middle + reach))
