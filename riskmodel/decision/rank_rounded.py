"""How near machines are alike when they are ranked: their clocks, leads and prices, rounded so that
many share what follows a replacement.

The rule for the parts to come is the best at rounded prices; each machine pays its own. As the rule
is the best nearby, the error is of second order in the difference.
"""

from __future__ import annotations

import math
from dataclasses import replace

from riskmodel.decision.cells import cells_per_interval
from riskmodel.decision.prices import FITTING, Prices
from riskmodel.decision.timing import Timing, timing_of
from riskmodel.records.case import Case
from riskmodel.records.quantity import Z90, Quantity, exactly

ROUNDED = 0.5
"""Machines whose failure price over that of a planned replacement, in logarithms, rounds to the
same multiple of this share a rule for the parts to come."""
ASIDE_ROUNDED = 1.5
"""The same for the other prices, on which the rule hardly hangs."""
YEARS_ROUNDED, CALENDAR_ROUNDED = 0.5, 0.15
"""The same for usage per year where it sets the discount alone, and where the calendar sets the
oil interval by it."""
LEAD_ROUNDED = 0.1
"""Warning leads, told in usage from now, whose logarithms have their middle and spread round to the
same multiples of this share what samples of parts to come see."""
REACHES = (4, 8, 12, 16, 20, 24, 32, 40, 48, 64, 96, 128, 192, 384)
"""What follows a replacement is worked out for so many oil intervals, the first that holds
keep-until."""


def rounded(case: Case) -> Timing:
    """The clock of the parts to come, alike for machines that differ a little."""
    timing = timing_of(case)
    interval, per_year = timing.interval, _near(timing.per_year, YEARS_ROUNDED)
    if interval < case.oil.interval:  # the calendar sets it
        per_year = _near(timing.per_year, CALENDAR_ROUNDED)
        interval *= per_year / timing.per_year
    wanted = timing.keep / interval
    reach = next((reach for reach in REACHES if reach >= wanted), math.ceil(wanted))
    # its cells then begin half a cell beyond a whole number of intervals, where J leaps
    beyond = 0.5 / cells_per_interval(Timing(interval * (reach + 0.1), interval, interval, 1, 0))
    return Timing(interval * (reach + beyond), interval, interval, per_year, timing.rate)


def with_near_leads(case: Case) -> Case:
    """The case with leads near its own: how it is driven scales them a little for each."""
    warning = case.warning
    leads = {name: _near_lead(getattr(warning, name)) for name in ("lead", "visible_lead")}
    return replace(
        case, warning=replace(warning, lead_factor=_near_lead(warning.lead_factor), **leads)
    )


def _near_lead(lead: Quantity) -> Quantity:
    if lead.median <= 0:
        return lead
    middle = _near(lead.median, LEAD_ROUNDED)
    reach = Z90 * LEAD_ROUNDED * round(lead.spread / LEAD_ROUNDED)
    return Quantity(middle * math.exp(-reach), middle * math.exp(reach))


def _near(value: float, step: float) -> float:
    return math.exp(step * round(math.log(value) / step)) if value > 0 else 0.0


def rounded_prices(prices: Prices) -> Prices:
    """Exact prices near the expected ones, in units of a planned replacement."""
    unit = float(prices.means()[FITTING]) - prices.fault.mean * _fault_price(prices) or 1.0

    def near(price: float, step: float = ASIDE_ROUNDED) -> Quantity:
        return exactly(_near(price / unit, step))

    fault, urgent = prices.fault_price, prices.urgent
    return replace(
        prices,
        planned=exactly(1.0),
        urgent=None if urgent is None else near(urgent.mean),
        failure=(near(sum(line.mean for line in prices.failure), ROUNDED),),
        found_worn=near(prices.found_worn.mean),
        oil_change=near(prices.oil_change.mean),
        sample=near(prices.sample.mean),
        investigation=near(prices.investigation.mean),
        sale_credit=near(prices.sale_credit.mean),
        fault=exactly(prices.fault.mean),
        fault_price=None if fault is None else near(fault.mean),
        jobs=(),
    )


def _fault_price(prices: Prices) -> float:
    whole = sum(line.mean for line in prices.failure)
    return whole if prices.fault_price is None else prices.fault_price.mean
