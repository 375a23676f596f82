"""Life records of other people's parts, collected in the way of a club. All is invented."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import records

Floats = NDArray[np.float64]
Rng = np.random.Generator

VISIBLE_LEAD, FINDING_ERROR = Quantity(12_000.0, 60_000.0), 0.1
ENTRY, WATCHED = Quantity(24_000.0, 130_000.0), Quantity(30_000.0, 165_000.0)
"""Age at which a part of the club is first met, and for how long it is then watched."""
LATE, PLANNED_REMOVALS, LOOKED, BETWEEN = 0.5, 0.25, 0.6, 0.1
"""Shares: met late; due to be taken out at some age; of those, looked at; of the failures, known
to lie between two ages only (all judgement)."""


def outliving(rng: Rng, entry: Floats, shape: float, scale: float) -> Floats:
    """Lives (n,) of parts still in service at `entry` (n,)."""
    total = (entry / scale) ** shape + rng.exponential(size=entry.shape)
    return np.asarray(scale * total ** (1 / shape))


def club(
    rng: Rng, parts: int, shape: float, scale: float, other: float = 0.0, reporting: float = 1.0
) -> LifeRecords:
    """`parts` life records as owners of such engines would report them.

    A share `other` of the failures is of another cause and told as wear; failures, and parts that
    came out worn, are reported `reporting` times as readily as parts that lasted.
    """
    found = _lines(rng, 12 * parts, shape, scale)
    if other > 0:
        found = _with_others(rng, found, other)
    age, outcome, since, entry = found
    survives = np.isin(outcome, ("running", "removed", "removed_unworn"))
    told = ~survives | (rng.random(len(age)) < 1 / reporting)
    rows = np.flatnonzero(told)[:parts]
    if len(rows) < parts:
        raise ValueError(f"only {len(rows)} of {parts} records are reported")
    return records(
        age[rows], [str(w) for w in outcome[rows]], age_from=since[rows], entered_at=entry[rows]
    )


Lines = tuple[Floats, NDArray[np.str_], Floats, Floats]


def _lines(rng: Rng, many: int, shape: float, scale: float) -> Lines:
    """Age, outcome, age_from, entered_at of true reports."""
    met = ENTRY.quantile(rng.standard_normal(many))
    entry = np.where(rng.random(many) < LATE, met, 0.0)
    life = outliving(rng, entry, shape, scale)
    end = entry + WATCHED.quantile(rng.standard_normal(many))
    due = rng.uniform(80_000, 220_000, many)
    pulled = (rng.random(many) < PLANNED_REMOVALS) & (due > entry) & (due < end)
    end = np.where(pulled, due, end)
    worn = life <= end + VISIBLE_LEAD.quantile(rng.standard_normal(many))
    worn ^= rng.random(many) < FINDING_ERROR
    look = np.where(worn, "removed_worn", "removed_unworn")
    look = np.where(rng.random(many) < LOOKED, look, "removed")
    outcome = np.where(life < end, "failed", np.where(pulled, look, "running"))
    age, since = np.minimum(life, end), np.full(many, np.nan)
    width = rng.uniform(500, 9_000, (2, many))
    between = (outcome == "failed") & (rng.random(many) < BETWEEN) & (life - width[0] > entry)
    since[between] = (life - width[0])[between]
    age = np.where(between, life + width[1], age)
    return age, outcome, since, entry


def _with_others(rng: Rng, lines: Lines, share: float) -> Lines:
    """The same where failures of another cause, of a constant rate, make up about `share` of all
    failures, and pass for wear."""
    age, outcome, since, entry = lines
    failed = int((outcome == "failed").sum())
    rate = failed * share / (1 - share) / float((age - entry).sum())
    other = entry + rng.exponential(1 / rate, len(age))
    before = other < np.where(np.isnan(since), age, since)
    age, outcome = np.where(before, other, age), np.where(before, "failed", outcome)
    return age, outcome, np.where(before, np.nan, since), entry
