"""How good stated chances are, against true ones or against what came true."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Told:
    """Of each case (cases,): the chance stated with its interval, what would be stated without the
    evidence in question, and the true chance, or 1 and 0 for what came true."""

    stated: Floats
    low: Floats
    high: Floats
    without: Floats
    true: Floats


HEAD = (
    "| world | stated | true (s.e. of the difference) | least tenth: stated, true | "
    "most tenth: stated, true | Brier | Brier, {0} | log score gained (s.e.) | "
    "interval holds the truth [%] (s.e.) | truth below, above [%] |\n" + "| --- " * 10 + "|"
)


def brier(chance: Floats, true: Floats) -> float:
    """Expected over what comes true with chance `true`."""
    return float(np.mean(true * (1 - chance) ** 2 + (1 - true) * chance**2))


def gained(told: Told) -> Floats:
    """Expected log score over `without`, in nats for each case."""
    p, q = (np.clip(x, 1e-12, 1 - 1e-12) for x in (told.stated, told.without))
    return np.asarray(told.true * np.log(p / q) + (1 - told.true) * np.log((1 - p) / (1 - q)))


def scores(name: str, told: Told) -> str:
    """One row of the table."""
    p, q, n = told.stated, told.true, len(told.stated)
    tenths = np.array_split(np.argsort(p, kind="stable"), 10)
    ends = [f"{100 * p[some].mean():.1f}, {100 * q[some].mean():.1f}" for some in tenths[::9]]
    more = gained(told)
    cells = [
        name,
        f"{100 * p.mean():.1f}",
        f"{100 * q.mean():.1f} ({100 * (p - q).std() / n**0.5:.1f})",
        *ends,
        f"{brier(p, q):.4f}",
        f"{brier(told.without, q):.4f}",
        f"{more.mean():+.4f} ({more.std() / n**0.5:.4f})",
    ]
    if np.isnan(told.low).any():
        return "| " + " | ".join(cells) + " |"
    below, above = float(np.mean(q < told.low)), float(np.mean(q > told.high))
    held = 1 - below - above
    cells += [
        f"{100 * held:.1f} ({100 * (held * (1 - held) / n) ** 0.5:.1f})",
        f"{100 * below:.1f}, {100 * above:.1f}",
    ]
    return "| " + " | ".join(cells) + " |"


TENTHS = "| world | stated, true [%] in each tenth of cases by the stated chance |\n| --- | --- |"


def tenths(name: str, told: Told) -> str:
    """One row: every tenth, from the least stated chances to the highest."""
    some = np.array_split(np.argsort(told.stated, kind="stable"), 10)
    pairs = [f"{100 * told.stated[x].mean():.1f}, {100 * told.true[x].mean():.1f}" for x in some]
    return f"| {name} | " + "; ".join(pairs) + " |"
