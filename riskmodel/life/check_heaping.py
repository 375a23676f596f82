"""Ages that gather on round figures, and what the rounding does to the fit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.check_chance import binomial_tail
from riskmodel.life.check_fits import Fits, moved
from riskmodel.life.check_remark import Remark, counted, lines_of, stated
from riskmodel.life.rows import BETWEEN, EXACT, Rows
from riskmodel.records.inputs import Unit
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

DISTANCE = (1000.0, 5000.0, 10_000.0)
HOURS = (50.0, 100.0)
"""Round figures that people report, each a multiple of the one before."""

GRIDS = (1.0, 10.0, 100.0)
NEARLY_ALL = 0.98
"""A list as a whole may be written to tens or hundreds, which is no gathering (judgement)."""

LONG = 5000.0
"""Where the unit is not told, ages are taken as distances from this median on (judgement)."""

CHANCE = 1e-4
FEWEST = 5


def heaping(records: LifeRecords, fits: Fits, unit: Unit | None) -> list[Remark]:
    """Whether ages stand on round figures more often than chance, step by step."""
    steps = HOURS if unit == "h" else DISTANCE
    if unit is None and np.median(records.age) < LONG:
        steps = HOURS
    reached = np.ones(len(records), dtype=bool)
    told: list[str] = []
    before, gathered = _written_to(records.age, steps[0]), np.zeros(len(records))
    for step in steps:
        some = reached & (records.age % step == 0)
        chance, of = before / step, int(reached.sum())
        if some.sum() < FEWEST or binomial_tail(int(some.sum()), of, chance) > CHANCE:
            break
        whom = f"{counted(of, 'age')}" if not told else "these"
        told.append(
            f"{some.sum()} of {whom} are multiples of {stated(step, unit)} "
            f"({_expected(chance * of)} by chance)"
        )
        gathered[some] = step
        reached, before = some, step
    if not told:
        return []
    text = f"Ages gather on round figures: {', '.join(told)}"
    if fits.rows is not None:
        rounded = gathered[np.flatnonzero(records.count > 0)]
        known = fits.rows.where(EXACT) & (rounded > 0)
        after = fits.b10_of(_spread(fits.rows, known, rounded)) if known.any() else None
        if after is not None and fits.b10 is not None:
            text += (
                "; taking each rounded failure as lying within half such a step of its age "
                f"{moved(fits.b10, after, unit)}"
            )
    return [Remark("heaping", f"{text}.", lines_of(records, gathered > 0))]


def _written_to(age: Floats, step: float) -> float:
    """The figure below `step` to which the list as a whole is written."""
    grids = (g for g in GRIDS if g < step and np.mean(age % g == 0) >= NEARLY_ALL)
    return max(grids, default=1.0)


def _spread(rows: Rows, some: Bools, step: Floats) -> Rows:
    """Rows in which the failures `some` lie anywhere within half a step of their age."""
    since = np.maximum(np.maximum(rows.age - step / 2, rows.entry), 0.0)
    return replace(
        rows,
        kind=np.where(some, np.int8(BETWEEN), rows.kind),
        since=np.where(some, since, rows.since),
        age=np.where(some, rows.age + step / 2, rows.age),
    )


def _expected(count: float) -> str:
    return f"{count:.0f}" if count >= 0.95 else "fewer than 1"
