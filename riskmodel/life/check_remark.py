"""A remark on life records, and the few words that all remarks share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.records.tables import LifeRecords

Bools = NDArray[np.bool_]

Kind = Literal[
    "duplicates",
    "units",
    "entry",
    "heaping",
    "influence",
    "early failures",
    "suspicion",
    "unknown cause",
    "other cause",
    "no survivors",
    "no entry",
    "covariate",
    "extrapolation",
]

MOST_NAMED = 6
"""Lines spelled out in a sentence; all of them are in `Remark.lines`."""

GAP = "\u00a0"
"""Keeps a number and its unit on one line."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about the records that a reader should know before believing the fit.

    `kind` tells what was looked for, `sentence` what was found and what it does, `lines` which
    lines of the file (rows counted from 1 where there is no file) are concerned, in their
    order; empty where it concerns the list as a whole. A remark never changes the records.
    """

    kind: Kind
    sentence: str
    lines: tuple[int, ...] = ()


def lines_of(
    records: LifeRecords, some: Bools | NDArray[np.intp] | Sequence[int]
) -> tuple[int, ...]:
    """The lines of the rows that a mask (n,) or indices point at."""
    where = np.asarray(some)
    where = np.flatnonzero(where) if where.dtype == np.bool_ else np.unique(where)
    return tuple(records.lines[i] if records.lines else int(i) + 1 for i in where)


def named(records: LifeRecords, lines: Sequence[int]) -> str:
    """ "line 3", "lines 3, 7 and 9", "lines 3, 4, 5, 7, 8, 9 and 4 more"."""
    word = "line" if records.lines else "row"
    shown = [str(line) for line in lines[:MOST_NAMED]]
    if len(lines) > MOST_NAMED:
        shown.append(f"{len(lines) - MOST_NAMED} more")
    return f"{word}{'s' if len(lines) > 1 else ''} {listed(shown)}"


def at_start(text: str) -> str:
    """The text with a capital at its start."""
    return text[:1].upper() + text[1:]


def listed(items: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def counted(amount: float, noun: str) -> str:
    """ "1 part", "214 parts"."""
    return f"{amount:,.10g} {noun}{'' if amount == 1 else 's'}"


def rough(value: float, unit: str | None) -> str:
    """An estimated usage to three significant figures: "84,000 km"."""
    if value == 0 or not math.isfinite(value):
        return in_unit(f"{value:g}", unit)
    digits = 2 - math.floor(math.log10(abs(value)))
    figure = f"{round(value, digits):,.{max(digits, 0)}f}"
    return in_unit(figure.rstrip("0").rstrip(".") if "." in figure else figure, unit)


def stated(value: float, unit: str | None) -> str:
    """A usage as it was entered, to a whole unit where it is large: "84,310 km"."""
    return in_unit(f"{value:,.0f}" if value >= 1000 else f"{value:.6g}", unit)


def in_unit(figure: str, unit: str | None) -> str:
    return f"{figure}{GAP}{unit}" if unit else figure


def percent(share: float) -> str:
    """A share in per cent, two figures where it is small: "40 %", "0.1 %"."""
    value = 100 * share
    figure = f"{value:.0f}" if value >= 9.5 else f"{value:.2g}"
    return f"{figure}{GAP}%"
