"""What the answer leaves out, and what to bear in mind when reading it."""

from __future__ import annotations

import numpy as np

from riskmodel.decision.results import Weighing
from riskmodel.records.case import Case
from riskmodel.words import formats

LONG_HORIZON_YEARS = 8
"""Beyond this many years ahead, prices and habits are called guesses (judgement)."""


def notes(w: Weighing) -> list[str]:
    """What the reader should know about this answer beyond the cautions."""
    if w.recommended is None:
        return []
    found = [
        *not_used(w.case),
        *_walking_away(w),
        _commitment(),
        *_beyond_the_records(w),
        *_long_horizon(w),
    ]
    return [*found, *w.notes]


def not_used(case: Case) -> list[str]:
    """What stands in the case but does not yet enter the chances and the plans."""
    found = []
    if case.use.stretches or case.use.ahead:
        found.append(
            "How the machine was and will be used is read and kept. It is NOT yet used in the "
            "chance of failure: each unit of usage counts the same."
        )
    return found


def not_used_in_short(case: Case) -> str | None:
    """All that is not used yet, in one sentence to stand beside the verdict."""
    names = []
    if case.use.stretches or case.use.ahead:
        names.append("how it was and will be used")
    if not names:
        return None
    return f"Read and kept, but NOT yet used in these figures: {formats.listed(names)}."


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
