"""What to bear in mind when reading the answer."""

from __future__ import annotations

import numpy as np

from riskmodel.decision.results import Weighing
from riskmodel.words import formats
from riskmodel.words.plan_names import keep_phrase

LONG_HORIZON_YEARS = 8
"""Beyond this many years ahead, prices and habits are called guesses (judgement)."""


def notes(w: Weighing) -> list[str]:
    """What the reader should know about this answer beyond the cautions."""
    if w.recommended is None:
        return []
    found = [
        *_walking_away(w),
        *_selling(w),
        _commitment(),
        *_beyond_the_records(w),
        *_long_horizon(w),
    ]
    return [*found, *w.notes]


def _selling(w: Weighing) -> list[str]:
    """What selling today rests on; where it cannot be weighed, what it is up against."""
    value, currency = w.case.machine.value, w.case.cost.currency
    if value is None or w.best is None:
        return []
    fetched = formats.money(value, currency)
    if w.sale is not None:
        later = formats.money(w.sale.later, currency)
        return [
            f"Selling rests on your figures: {fetched} today with the buyer told, {later} in "
            f"today's money at the end of {keep_phrase(w.case)}, and a year without it. Tell the "
            "buyer in writing what you know of the part: law and decency ask for it."
        ]
    return [
        "Selling it today, the buyer told of the part, is not weighed: it would fetch about "
        f"{fetched} by your figure. Keeping it costs about "
        f"{formats.money(w.best.cost.value, currency)} by the plan above and what it loses in "
        f"value over {keep_phrase(w.case)}. State what it will fetch then and what a year without "
        "it would cost, and selling is weighed as a plan."
    ]


def _walking_away(w: Weighing) -> list[str]:
    """That a failure would be the end of it."""
    value, scrap = w.case.machine.value, w.case.machine.scrap
    if not w.walks_away or value is None or scrap is None:
        return []
    lost = formats.money(value - scrap, w.case.cost.currency)
    return [
        "After a failure it costs less to walk away than to put another engine in: the machine's "
        f"value less what a wreck fetches, {lost}, is lost. Every plan is weighed so."
    ]


def _commitment() -> str:
    return (
        "Each plan is weighed as a promise made today and kept. In truth you can change your mind "
        "at every oil change, which is worth something: waiting is priced slightly too dear here."
    )


def _beyond_the_records(w: Weighing) -> list[str]:
    records = w.case.records
    if records is None or not len(records):
        return []
    oldest, end = float(np.max(records.age)), w.age + w.keep
    if end <= oldest:
        return []
    unit = w.case.machine.unit
    return [
        f"The oldest part in the records reached {formats.usage(oldest, unit)}; yours would reach "
        f"{formats.usage(end, unit)} before you give it up. Beyond the records the chance is drawn "
        "from the curve alone."
    ]


def _long_horizon(w: Weighing) -> list[str]:
    years = w.keep / w.case.machine.usage_per_year
    if years <= LONG_HORIZON_YEARS:
        return []
    return [
        f"You look {formats.duration(years)} ahead. Prices, use and the life of parts not yet made "
        "are guesses that far off. Look again every year; what counts today is only whether to "
        "replace now or to wait."
    ]
