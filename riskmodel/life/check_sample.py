"""What the list as a whole can and cannot tell: causes, removals, survivors, levels, reach."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.check_fits import Fits, moved
from riskmodel.life.check_remark import (
    Remark,
    at_start,
    counted,
    lines_of,
    listed,
    named,
    percent,
    rough,
    stated,
)
from riskmodel.life.other_causes import other_causes
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.inputs import Unit
from riskmodel.records.tables import LifeRecords, Outcome

Bools = NDArray[np.bool_]

SUSPICION, CAUSES = ("removed", "removed_worn"), ("unknown", "other")

MOSTLY = 0.9
"""A share of failures that a list of parts in use hardly has (judgement)."""

RATIO = 10
"""The reporting ratio at which such a list is looked at again."""

FEW = 3
"""Failures below which a level of a covariate shows nothing of its own (judgement)."""

THIN = 5
"""Parts still watched below which experience ends (judgement)."""


def _mask(values: tuple[str, ...], *wanted: str) -> Bools:
    return np.array([value in wanted for value in values], dtype=bool)


def suspicion(records: LifeRecords, fits: Fits, unit: Unit | None) -> list[Remark]:
    """Removals because somebody suspected the part: no independent censoring."""
    suspected = _mask(records.why, "suspected") & ~_mask(records.outcome, "failed", "running")
    if not suspected.any():
        return []
    lines = lines_of(records, suspected)
    many = float(records.count[suspected].sum())
    text = (
        f"{counted(many, 'part')} came out on suspicion ({named(records, lines)}): whoever "
        "suspects a part is often right, so these did not stop being watched by chance and life "
        "looks longer than it is"
    )
    doubtful = suspected & _mask(records.outcome, *SUSPICION)
    after = None
    if doubtful.any() and fits.b10 is not None:
        pairs = zip(records.outcome, doubtful.tolist(), strict=True)
        outcome: tuple[Outcome, ...] = tuple("failed" if odd else was for was, odd in pairs)
        after = fits.b10_of_records(replace(records, outcome=outcome))
    if after is not None and fits.b10 is not None:
        text += (
            "; counting those that came out worn or not looked at as failures "
            f"{moved(fits.b10, after, unit)}"
        )
    return [Remark("suspicion", f"{text}.", lines)]


def causes(records: LifeRecords, fits: Fits, unit: Unit | None) -> list[Remark]:
    """Failures of unknown cause, both ways, and those of another cause."""
    failed, found = _mask(records.outcome, "failed"), []
    unknown, other = (failed & _mask(records.cause, cause) for cause in CAUSES)
    if unknown.any():
        lines = lines_of(records, unknown)
        text = (
            f"{counted(float(records.count[unknown].sum()), 'failure')} of unknown cause "
            f"({named(records, lines)}) may or may not have been wear"
        )
        after = fits.b10_of_records(records, unknown_as_other=True)
        if after is not None and fits.b10 is not None:
            text += f"; taking them as another cause instead of wear {moved(fits.b10, after, unit)}"
        found.append(Remark("unknown cause", f"{text}.", lines))
    if other.any():
        lines = lines_of(records, other)
        text = (
            f"{counted(float(records.count[other].sum()), 'failure')} of another cause "
            f"({named(records, lines)}) tell of wear only that it had not struck by then"
        )
        try:
            rate = other_causes(records, fits.reporting_ratio)
        except CannotAnswer:
            rate = None
        if rate is not None:
            text += (
                "; beside wear they make a constant rate of about one in "
                f"{rough(1 / rate.rate, unit)} watched (nine times in ten: one in "
                f"{rough(1 / rate.high, None)} to one in {rough(1 / rate.low, unit)})"
            )
        found.append(Remark("other cause", f"{text}.", lines))
    return found


def survivors(records: LifeRecords, reporting_ratio: float = 1.0) -> list[Remark]:
    """A list of failures alone, or nearly so: where are the parts that still run?"""
    failed = _mask(records.outcome, "failed")
    total, bad = float(records.count.sum()), float(records.count[failed].sum())
    if bad < FEW or bad < MOSTLY * total:
        return []
    if bad == total:
        text = (
            "Every part on record failed: unless all were watched until they did, those still "
            "running are missing, every chance of failure comes out too high, and no reporting "
            "ratio can put that right, since there is no survivor to weigh."
        )
        return [Remark("no survivors", text)]
    if reporting_ratio > 1:
        return []
    true = bad / (bad + RATIO * (total - bad))
    text = (
        f"{counted(bad, 'part')} of {total:g} on record failed: failures are told more readily "
        f"than survival, and were it {RATIO} times as readily, {percent(true)} rather than "
        f"{percent(bad / total)} of such parts had failed (life.reporting_ratio)."
    )
    return [Remark("no survivors", text)]


def levels(records: LifeRecords) -> list[Remark]:
    """Words of a covariate beside which hardly a part failed by wear."""
    worn = _mask(records.outcome, "failed") & ~_mask(records.cause, "other")
    if records.count[worn].sum() < 2 * FEW:
        return []
    found = []
    for name, values in records.covariates.items():
        if not values or not isinstance(values[0], str):
            continue
        failures: dict[str, float] = defaultdict(float)
        for value, count, bad in zip(values, records.count.tolist(), worn.tolist(), strict=True):
            failures[str(value)] += count * bad
        few = {level: count for level, count in failures.items() if count < FEW}
        if not few or len(failures) < 2:
            continue
        told = listed([f"{level} {count:g}" for level, count in sorted(few.items())])
        concerned = np.array([value in few for value in values], dtype=bool)
        found.append(
            Remark(
                "covariate",
                f"{name}: too few failures by wear to tell the effect of every level ({told}); "
                "what is said of such a level rests on next to nothing.",
                lines_of(records, concerned),
            )
        )
    return found


def reach(records: LifeRecords, at: float | None, ahead: float, unit: Unit | None) -> list[Remark]:
    """Whether hardly a part on record got as far as is asked about."""
    if at is None or len(records) == 0:
        return []
    end = at + ahead
    watched = float(records.count[(records.entered_at < end) & (records.age >= end)].sum())
    if watched >= THIN:
        return []
    worn = _mask(records.outcome, "failed") & ~_mask(records.cause, "other")
    oldest = (
        f", the oldest failure at {stated(records.age[worn].max(), unit)}" if worn.any() else ""
    )
    got = "no part on record was" if watched == 0 else f"only {counted(watched, 'part')} on record"
    got += "" if watched == 0 else (" was" if watched == 1 else " were")
    return [
        Remark(
            "extrapolation",
            f"{at_start(got)} still watched at {rough(end, unit)}{oldest}: what is said of such "
            "ages rests on the shape of the curve, not on experience.",
            lines_of(records, records.age >= end),
        )
    ]
