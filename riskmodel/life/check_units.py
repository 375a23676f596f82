"""Figures that look as if they were entered in another unit.

Ages of different machines differ by more than a mile from a kilometre, so mixed units show
only where they leave a trace: figures a thousand times too small or too large, converted
figures that are round in the other unit, and failures in two clusters just that factor
apart. Everything else passes unseen.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.check_chance import poisson_tail
from riskmodel.life.check_mixture import Part, mixed, weibull_part
from riskmodel.life.check_remark import Remark, at_start, lines_of, named, rough, stated
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.maximum import Maximum, maximise
from riskmodel.life.rows import BETWEEN, EXACT, Rows
from riskmodel.records.inputs import Unit
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

KM_PER_MILE = 1.609344
"""Exact by definition of the international mile."""

CHANCE = 0.005
"""A trace less likely than this by chance is told (judgement)."""

FEWEST = 8
"""Figures below which no bulk can be told from a stray one (judgement)."""

MOST_ODD = 0.3
"""The largest share of figures that may be the odd ones (judgement)."""

LONE = 3.0
"""An age so many times the next greatest stands alone (judgement)."""

CLUSTER_GAIN = 16.0
"""Gain from two clusters at which they are told; simulated, see the study of the checks."""

SURE = 0.9


def thousandfold(values: Floats) -> Bools:
    """Which of `values` (n,) look a thousand times too small or too large beside the rest.

    The odd ones, at most MOST_ODD of all, stand apart from the rest by a gap that ages
    spread evenly down to 0 would leave with a chance below CHANCE, and a factor of a
    thousand takes them into the range of the rest.
    """
    none = np.zeros(len(values), dtype=bool)
    known = np.flatnonzero(values > 0)
    if len(known) < FEWEST:
        return none
    order = known[np.argsort(values[known], kind="stable")]
    ranked = values[order]
    ratio = ranked[1:] / ranked[:-1]
    cut = int(np.argmax(ratio)) + 1
    low, high = ranked[:cut], ranked[cut:]
    fewer = min(len(low), len(high))
    if fewer > MOST_ODD * len(ranked) or float(ratio[cut - 1]) ** -fewer > CHANCE:
        return none
    if float(ratio[cut - 1]) < 10 or not _within(low * 1000, high):
        return none
    none[order[:cut] if len(low) < len(high) else order[cut:]] = True
    return none


def _within(low: Floats, high: Floats) -> bool:
    """Whether the smaller group lies in the range of the larger, once made comparable."""
    few, many = (low, high) if len(low) < len(high) else (high, low)
    return bool(few.min() >= many.min() / 1.5 and few.max() <= many.max() * 1.5)


def thousands(records: LifeRecords, unit: Unit | None) -> list[Remark]:
    """Ages and entries that look a thousand times too small or too large."""
    found = []
    for name, values in (
        ("age", records.age),
        ("entered_at", records.entered_at),
        ("age_from", np.nan_to_num(records.age_from)),
    ):
        odd = thousandfold(values)
        if not odd.any():
            continue
        lines = lines_of(records, odd)
        small = bool(values[odd].max() < values[(values > 0) & ~odd].min())
        size = "small" if small else "large"
        found.append(
            Remark(
                "units",
                f"{at_start(named(records, lines))}: {name} is about a thousand times too {size} "
                f"to belong with the others ({rough(float(values[odd][0]), unit)}), as if it "
                f"had been entered {'in thousands' if small else 'in single units'}.",
                lines,
            )
        )
    return found


def lone_ages(records: LifeRecords, unit: Unit | None) -> list[Remark]:
    """A greatest age far above the next: a digit too many, or the one part beyond the bulk."""
    if len(records) < FEWEST:
        return []
    first, second = np.argsort(-records.age, kind="stable")[:2]
    if records.age[first] < LONE * records.age[second] or thousandfold(records.age)[first]:
        return []
    lines = lines_of(records, [int(first)])
    return [
        Remark(
            "units",
            f"{at_start(named(records, lines))}: the age, {stated(records.age[first], unit)}, is "
            f"more than {LONE:g} times the next greatest, "
            f"{stated(records.age[second], unit)}: a digit too many, another unit, or the only "
            "part that got so far.",
            lines,
        )
    ]


def converted(records: LifeRecords, unit: Unit | None) -> list[Remark]:
    """Figures that would be whole thousands if they were in the other unit of distance.

    In a file in km, 62137 is 100,000 km turned into miles.
    """
    if unit not in ("km", "mi"):
        return []
    factor = KM_PER_MILE if unit == "km" else 1 / KM_PER_MILE
    other = "miles" if unit == "km" else "km"
    age = records.age
    plain = age % 100 != 0
    in_other = age * factor
    off = np.abs(in_other - 1000 * np.round(in_other / 1000))
    slack = 0.5 * factor + 0.1  # what rounding to whole units leaves
    odd = plain & (off <= slack) & (in_other > 500)
    expected = 2 * slack / 1000 * plain.sum()
    if odd.sum() < 2 or poisson_tail(int(odd.sum()), float(expected)) > CHANCE / 5:
        return []
    lines = lines_of(records, odd)
    value = float(age[odd][0])
    was = f"{round(value * factor, -3):,.0f}"
    source = "km" if unit == "km" else "miles"
    return [
        Remark(
            "units",
            f"{at_start(named(records, lines))}: these ages look like whole thousands of "
            f"{source} turned into {other} ({value:,.0f} for {was}), although the file is in "
            f"{unit}.",
            lines,
        )
    ]


def two_clusters(
    records: LifeRecords, rows: Rows, index: NDArray[np.intp], unit: Unit | None
) -> list[Remark]:
    """Failures in two clusters a factor of 1.609 apart, the odd ones as miles or km would lie.

    `index` tells which record each row came from.
    """
    if unit not in ("km", "mi"):
        return []
    rows = rows.without_looks()
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    likelihood = Likelihood(rows)
    top = maximise(likelihood)
    if not isinstance(top, Maximum) or likelihood.failures < FEWEST:
        return []
    factor = KM_PER_MILE if unit == "km" else 1 / KM_PER_MILE
    turned = Rows(
        rows.kind, rows.age * factor, rows.since * factor, rows.entry * factor, rows.weight
    )
    grown = np.where(rows.where(EXACT), math.log(factor), 0.0)  # density per unit of the file

    def other(shape: float, scale: float) -> Part:
        part = weibull_part(turned, shape, scale)
        return Part(part.row + grown, part.entered, part.row_slope, part.entered_slope)

    scale = likelihood.reference * math.exp(-top.mu / top.b)
    best = mixed(rows, other, (top.b, scale), 0.2, 0.5)
    if best is None or best.gain < CLUSTER_GAIN:
        return []
    odd = failed & (best.belongs > SURE)
    if odd.sum() < 3:
        return []
    lines = lines_of(records, index[odd])
    nearer, lies = ("miles", "lower") if unit == "km" else ("km", "higher")
    return [
        Remark(
            "units",
            f"The failures on {named(records, lines)} form a cluster whose ages are {lies} than "
            f"the others' by about the factor between a mile and a kilometre: look whether they "
            f"were entered in {nearer} (parts used in a different way can look the same).",
            lines,
        )
    ]
