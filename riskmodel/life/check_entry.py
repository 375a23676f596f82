"""When the watch over a part began: what is odd about it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.check_chance import hypergeometric_tail, poisson_tail
from riskmodel.life.check_fits import Fits, moved
from riskmodel.life.check_remark import (
    Remark,
    at_start,
    lines_of,
    named,
    percent,
    rough,
    stated,
)
from riskmodel.life.rows import BETWEEN
from riskmodel.records.inputs import Unit
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]

SOON = 0.02
"""A failure within this share of its age after entry came soon (judgement)."""

CHANCE = 0.001
"""A pattern less likely than this by chance is told (judgement)."""

HIGH: dict[Unit, float] = {"km": 60_000.0, "mi": 40_000.0, "h": 1000.0}
"""Ages beyond which a part has often changed hands, by unit (judgement)."""

FEWEST = 10
"""Rows below which a list without entered_at is not remarked upon (judgement)."""


def entries(records: LifeRecords, fits: Fits, unit: Unit | None) -> list[Remark]:
    """Everything about entered_at."""
    return [
        *_soon(records, fits),
        *_alone(records, unit),
        *_missing_for_failures(records),
        *_never_stated(records, fits, unit),
    ]


def _failed(records: LifeRecords) -> NDArray[np.bool_]:
    return np.array([outcome == "failed" for outcome in records.outcome], dtype=bool)


def _soon(records: LifeRecords, fits: Fits) -> list[Remark]:
    """Failures just after entry, more than the fitted curve leads one to expect."""
    if fits.top is None or fits.base is None:
        return []
    wear = np.array([cause == "wear" for cause in records.cause], dtype=bool)
    late = records.entered_at > 0
    soon = late & _failed(records) & wear & np.isnan(records.age_from)
    soon &= records.entered_at >= (1 - SOON) * records.age
    if soon.sum() < 2:
        return []
    entry = records.entered_at[late]
    shape, scale = fits.curve
    ahead = weibull.conditional_failure(entry, entry * SOON / (1 - SOON), shape, scale)
    expected = float(records.count[late] @ ahead)
    if poisson_tail(int(soon.sum()), expected) > CHANCE:
        return []
    lines = lines_of(records, soon)
    return [
        Remark(
            "entry",
            f"{at_start(named(records, lines))} failed within {percent(SOON)} of the age at which "
            f"their watch began ({expected:.1f} would be expected): parts that came to the list "
            "because they were failing make life look shorter than it is.",
            lines,
        )
    ]


def _alone(records: LifeRecords, unit: Unit | None) -> list[Remark]:
    """Failures at an age at which no other part was being watched, older ones coming later."""
    age, entry = records.age, records.entered_at
    failed = np.flatnonzero(_failed(records) & np.isnan(records.age_from))
    if len(failed) == 0 or (entry > 0).mean() < 0.5:
        return []
    entered = np.searchsorted(np.sort(entry), age[failed], side="left")  # strictly before
    watched = entered - np.searchsorted(np.sort(age), age[failed], side="left")
    later = 1 - entered / len(records)
    alone = failed[(watched == 1) & (later >= 0.5) & (records.count[failed] == 1)]
    if len(alone) == 0:
        return []
    lines = lines_of(records, alone)
    first = int(alone[0])
    following = float(entry[entry >= age[first]].min())
    return [
        Remark(
            "entry",
            f"{at_start(named(records, lines))} failed at an age at which no other part on record "
            f"was being watched ({stated(age[first], unit)}, the next entered at "
            f"{stated(following, unit)}): look whether age and entered_at are right.",
            lines,
        )
    ]


def _missing_for_failures(records: LifeRecords) -> list[Remark]:
    """Whether entered_at stands less often beside failures than beside survivors."""
    failed, late = _failed(records), records.entered_at > 0
    n, of_failed, stated_all = len(records), int(failed.sum()), int(late.sum())
    both = int((failed & late).sum())
    if of_failed == n or hypergeometric_tail(both, n, of_failed, stated_all) > CHANCE:
        return []
    lines = lines_of(records, failed & ~late)
    return [
        Remark(
            "entry",
            f"entered_at stands beside {percent(both / of_failed)} of the failures but "
            f"{percent((stated_all - both) / (n - of_failed))} of the others: where it is only "
            "forgotten, a failure counts as watched from new and life looks longer than it is.",
            lines,
        )
    ]


def _never_stated(records: LifeRecords, fits: Fits, unit: Unit | None) -> list[Remark]:
    """A list in which every part counts as watched from new, though ages are high."""
    middle = float(np.median(records.age))
    if unit is None or len(records) < FEWEST or records.entered_at.any() or middle < HIGH[unit]:
        return []
    text = (
        "No row states entered_at, so every part counts as watched from new, though half of the "
        f"ages lie above {rough(middle, unit)}: where owners came to the list later, those whose "
        "part had failed before are missing, and life looks longer than it is"
    )
    if fits.rows is not None and fits.b10 is not None:
        lived = np.where(fits.rows.where(BETWEEN), fits.rows.since, fits.rows.age)
        after = fits.b10_of(replace(fits.rows, entry=lived / 2))
        if after is not None:
            text += (
                "; to suppose that each was watched only over the second half of its age "
                f"{moved(fits.b10, after, unit)}"
            )
    return [Remark("no entry", f"{text}.")]
