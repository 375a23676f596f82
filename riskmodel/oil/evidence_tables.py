"""One small table for each reading: its chance at every level of the engine and every shift.

A reading's chance depends on mu_e + ln m, the engine's own usual level and what distress adds, and
on nothing else. So it is tabulated along that one axis. Levels stand on an even grid (the
trapezoid rule, whose error falls exponentially for such smooth densities: Trefethen & Weideman
2014, SIAM Review 56, 385-458); a shift is a step along the table, the same for all levels, and
between two of its steps the chance is a straight line.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.evidence_data import Samples
from riskmodel.oil.evidence_student import normal_between, student_between
from riskmodel.oil.rise import log_fill_mean

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SPACING = 1.3
"""Between levels, in the least standard deviation that the posterior of a level can have."""
STEP = 0.03
"""Between the table's steps, in scatters: a straight line is then within 3e-4 of a chance."""
DROP = 15.0
"""Levels end where the posterior density has fallen to e^-15 of its peak."""
SCAN = 160
"""Levels tried to find where the grid must reach."""
MISLED = 1.5
"""Standard deviation, on the log scale, that a misleading sample adds to that between engines."""


@dataclass(frozen=True, eq=False, slots=True)
class Table:
    """The chances of the readings of one element, of M engines with n samples.

    `chance` (n, M, r, J) at level m is indexed by steps of `step[m]` (M,), r to a level: step
    j r + p is at [p, j], `offset` (M,) steps on for a shift of 0. `weight` (M, K) are the levels'
    prior masses. `before` (n + 1, M, K) are the products, weights included, over the first so many
    samples without a shift, and `inverse` (M, K, n) is 1 / chance without one. Each sample's
    chances are over their largest; `misled` (M, n) is the chance of a misleading sample's reading
    on that scale.
    """

    chance: Floats
    step: Floats
    offset: Ints
    weight: Floats
    before: Floats
    inverse: Floats
    misled: Floats

    @property
    def levels(self) -> int:
        return int(self.weight.shape[1])

    def shifted(self, sample: int, engine: Ints, shift: Floats) -> Floats:
        """The chance of a sample's reading at each level; `engine` and `shift` (N,), (N, K)."""
        per_level = self.chance.shape[2]
        place = shift / self.step[engine] + self.offset[engine]
        first = place.astype(np.int64)
        windows = np.lib.stride_tricks.sliding_window_view(
            self.chance[sample], self.levels, axis=-1
        )
        if len(windows) == 1 and windows.shape[1] * windows.shape[2] < len(first):
            # one engine's few windows, laid in the order of shifts, are read off much faster
            ordered = windows[0].swapaxes(0, 1).reshape(-1, self.levels)
            low = np.take(ordered, first, axis=0)
            rise = np.take(np.diff(ordered, axis=0), first, axis=0)
        else:
            level, phase = np.divmod(first, per_level)
            low = windows[engine, phase, level]
            level, phase = np.divmod(first + 1, per_level)
            rise = windows[engine, phase, level]
            rise -= low
        rise *= (place - first)[:, None]
        low += rise
        return np.asarray(low)


def tables(
    samples: Samples, failure: Floats, rise_ends: tuple[float, float], step: float = STEP
) -> list[Table]:
    """The table of each element. `failure` (M,) is the earliest age of failure asked about,
    `rise_ends` the least and greatest deviates of the rise's common quantile, and `step` lies
    between the table's steps, in scatters."""
    return [_table(samples, e, failure, rise_ends, step) for e in range(samples.centre.shape[1])]


def _table(
    samples: Samples, e: int, failure: Floats, rise_ends: tuple[float, float], fine: float
) -> Table:
    centre, spread = samples.centre[:, e, None], samples.spread[:, e, None]
    measured, scale = samples.measured[:, e], samples.scale[:, e]
    log_rise = samples.log_rise[:, e] + np.outer(rise_ends, samples.rise_spread[:, e])
    least = np.minimum(log_rise.min(axis=0), 0.0)
    most = np.maximum(log_rise.max(axis=0), 0.0)
    steepest = _steepest(samples, failure, most)
    low, high = _reach(samples, e, steepest)
    sharpest = np.sum(np.where(measured, 1.25 / scale**2, 0.0), axis=1)
    fixed = bool(np.all(spread == 0))
    with np.errstate(divide="ignore"):
        sd = 1 / np.sqrt(1 / spread[:, 0] ** 2 + sharpest)
    need = np.where(sd > 0, (high - low) / np.where(sd > 0, SPACING * sd, 1.0), 0.0)
    levels = 1 if fixed else int(np.ceil(need.max())) + 2
    finest = fine * np.min(np.where(measured, scale, np.inf), axis=1)
    finest = np.where(np.isfinite(finest), finest, 1.0)
    width = (high - low) / (levels - 1) if levels > 1 else np.maximum(most - least, finest)
    width = np.where(width > 0, width, finest)
    per_level = int(np.ceil(np.max(width / finest)))
    step = width / per_level
    below = np.ceil(np.max(-least / step)) + 1
    above = np.ceil(np.max(most / step)) + 2
    places = int(np.ceil((below + above) / per_level)) + levels
    offset = np.full(samples.engines, int(below), dtype=np.int64)
    grid = low[:, None] + step[:, None] * (np.arange(places * per_level) - below)
    chance = _chances(samples, e, grid)
    largest = chance.max(axis=-1)
    chance /= largest[..., None]
    chance = np.ascontiguousarray(
        chance.reshape(*chance.shape[:2], places, per_level).swapaxes(-1, -2)
    )
    weight = _weights(low, width, levels, centre, spread)
    none, phase = np.divmod(int(below), per_level)
    plain = chance[:, :, phase, none : none + levels]
    before = np.cumprod(np.concatenate([weight[None], plain]), axis=0)
    misled = _misled(samples, e) / largest.T
    return Table(
        chance=chance,
        step=step,
        offset=offset,
        weight=weight,
        before=before,
        inverse=np.ascontiguousarray(np.moveaxis(1 / plain, 0, -1)),
        misled=np.where(measured, misled, 1.0),
    )


def _chances(samples: Samples, e: int, grid: Floats) -> Floats:
    """Of each sample's reading at levels `grid` (M, L): (n, M, L); 1 where not measured."""
    scale = samples.scale[:, e].T[..., None]
    low = (samples.low[:, e].T[..., None] - grid) / scale
    high = (samples.high[:, e].T[..., None] - grid) / scale
    return student_between(low, high)


def _steepest(samples: Samples, failure: Floats, log_rise: Floats) -> Floats:
    """What distress from new on adds to each sample at most; (M, n)."""
    at = np.where(samples.taken, samples.at, 0.0)
    age = np.where(samples.taken, samples.oil_age, 1.0)
    found = log_fill_mean(
        0.0, np.maximum(failure, samples.last)[:, None], at, age, log_rise[:, None]
    )
    return np.where(samples.taken, found, 0.0)


def _reach(samples: Samples, e: int, steepest: Floats) -> tuple[Floats, Floats]:
    """Where levels begin and end, (M,) each: all that any onset, and any sample that misleads,
    leave within e^-DROP of the highest density."""
    centre, spread = samples.centre[:, e, None], samples.spread[:, e, None]
    measured = samples.measured[:, e]
    # six standard deviations of the prior, and as far as the readings themselves may pull
    least = np.where(measured, samples.high[:, e] - steepest, np.inf).min(axis=1) - 1
    seen = measured & np.isfinite(samples.low[:, e])
    most = np.where(seen, samples.low[:, e], -np.inf).max(axis=1) + 1
    free = spread[:, 0] > 0
    centre, spread = centre[:, 0], spread[:, 0]
    low_end = np.where(free, np.minimum(centre - 6 * spread, least), centre)
    high_end = np.where(free, np.maximum(centre + 6 * spread, most), centre)
    grid = low_end[:, None] + (high_end - low_end)[:, None] * np.linspace(0, 1, SCAN)
    centre, spread = centre[:, None], spread[:, None]
    prior = -(((grid - centre) / np.where(spread > 0, spread, 1.0)) ** 2) / 2
    keep = np.zeros(grid.shape, dtype=bool)
    for shift in (np.zeros_like(steepest), steepest):
        scale = samples.scale[:, e].T[..., None]
        place = grid + shift.T[..., None]
        logs = np.log(
            student_between(
                (samples.low[:, e].T[..., None] - place) / scale,
                (samples.high[:, e].T[..., None] - place) / scale,
            )
        )
        whole = prior + logs.sum(axis=0)
        for density in (whole, *(whole - one for one in logs)):
            keep |= density > density.max(axis=1, keepdims=True) - DROP
    first = np.argmax(keep, axis=1)
    last = SCAN - 1 - np.argmax(keep[:, ::-1], axis=1)
    rows = np.arange(len(grid))
    gap = (high_end - low_end) / (SCAN - 1)
    return grid[rows, first] - gap, grid[rows, last] + gap


def _weights(low: Floats, width: Floats, levels: int, centre: Floats, spread: Floats) -> Floats:
    """Prior masses of the levels (M, K); on one level where the usual rate is known exactly."""
    if levels == 1:
        return np.ones((len(low), 1))
    grid = low[:, None] + width[:, None] * np.arange(levels)
    exact = spread == 0
    z = (grid - centre) / np.where(exact, 1.0, spread)
    mass = np.exp(-z * z / 2) * width[:, None] / (np.where(exact, 1.0, spread) * np.sqrt(2 * np.pi))
    return np.where(exact, np.eye(1, levels), mass)


def _misled(samples: Samples, e: int) -> Floats:
    """The chance of each reading where its sample tells of something else; (M, n)."""
    centre = samples.centre[:, e, None]
    spread = np.hypot(samples.spread[:, e, None], MISLED)
    return normal_between(
        (samples.low[:, e] - centre) / spread, (samples.high[:, e] - centre) / spread
    )
