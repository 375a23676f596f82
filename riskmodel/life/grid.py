"""A grid of nodes that follows a density of two variables, ridge, skewness and all.

The trapezoid rule converges exponentially for smooth densities once its spacing is about
half a standard deviation (Trefethen & Weideman 2014, SIAM Review 56, 385-458). So x is laid
out along the ridge and y across it, each stretched such that the density falls alike on
both sides. Moving or stretching such a grid changes nothing but the last digits, so results
move smoothly with the inputs though every grid is laid out anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

Line = Callable[[Floats], Floats]
"""Log densities (M, N) at positions (M, N): each row has its own density."""

DROP = 18.4
"""The grid ends where the log density has fallen so far, to e^-18.4 = 1e-8."""

REACH = float(np.sqrt(2 * DROP))
"""Where a standard normal density has fallen by DROP."""

SPACING = 0.5
FINE = 0.1
"""Spacing in standard deviations: of two open variables, and of only one."""

PRUNED = 1e-8
"""The share of the mass that the lightest nodes, left out, hold together."""

_FARTHEST = float(np.log(200.0))
"""The logarithm of how far from the ridge nodes may lie, in e-foldings."""

_STENCIL = np.array([-1.0, 0.0, 1.0])

AGREE = 1e-4
"""How closely every other node must give the same mass as all of them."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Where a variable may be: about `centre` give or take `spread`, or fixed (spread 0)."""

    centre: float
    spread: float


def nodes(
    section: Callable[[Floats], Line],
    first: Axis,
    second: Axis | None,
    start: Callable[[Floats], Floats] | None = None,
) -> tuple[Floats, Floats, Floats]:
    """Nodes (x, y) and weights summing to 1, ordered so that neighbours are alike.

    `section(x)` gives the log density along y at each x. `start(x)` is a first guess of the
    best y there, required where `second` is None (y may be anywhere).
    """
    fixed_y = second is not None and second.spread == 0
    width = 0.3 if second is None else second.spread

    def ridge(x: Floats, line: Line) -> tuple[Floats, Floats]:
        """The y of highest density at each x, and the density's height there."""
        if second is not None and second.spread == 0:
            y = np.full(x.shape, second.centre)
            return y, line(y[:, None])[:, 0]
        guesses = [] if start is None else [start(x)]
        if second is not None:
            guesses += [(g + second.centre) / 2 for g in guesses]
            guesses.append(np.full(x.shape, second.centre))
        tried = np.stack(guesses, axis=1)
        best = np.argmax(line(tried), axis=1) if len(guesses) > 1 else np.zeros(len(x), int)
        return climb(line, tried[np.arange(len(x)), best], width)

    def profile(x: Floats) -> Floats:
        """The height of the ridge at x, of any shape."""
        flat = x.ravel()
        return ridge(flat, section(flat))[1].reshape(x.shape)

    for spacing in (SPACING, SPACING / 2):
        if first.spread == 0:
            x, dx = np.array([first.centre]), np.ones(1)
        else:
            tried = first.centre + first.spread * np.linspace(-4, 4, 13)
            best = tried[np.argmax(profile(tried)), None]
            top = climb(profile, best, first.spread / 4)
            dense = FINE * spacing / SPACING if fixed_y else spacing
            x, dx = (a[0] for a in stretched(profile, *top, first.spread, dense))
        line = section(x)
        y, height = ridge(x, line)
        if fixed_y:
            rows = [Row(y[i : i + 1], height[i : i + 1] + np.log(dx[i])) for i in range(len(x))]
        else:
            dense = FINE if first.spread == 0 else SPACING
            rows = _across(section, x, dx, y, height, width, dense)
        if len(rows) == 1 or _settled(np.array([row.log_mass for row in rows])):
            break
    return _gathered(x, rows)


@dataclass(frozen=True, slots=True)
class Row:
    """The nodes at one x: their y and the log of the mass that each stands for."""

    y: Floats
    log_node: Floats

    @property
    def log_mass(self) -> float:
        return float(np.logaddexp.reduce(self.log_node))


def _across(
    section: Callable[[Floats], Line],
    x: Floats,
    dx: Floats,
    y: Floats,
    height: Floats,
    width: float,
    spacing: float,
) -> list[Row]:
    """The nodes across the ridge (x, y), closer together in the rows that need it."""
    rows: list[Row | None] = [None] * len(x)
    total = -np.inf
    todo = np.arange(len(x))
    for halving in range(3):
        line = section(x[todo])
        ys, dy = stretched(line, y[todo], height[todo], width, spacing / 2**halving)
        log_nodes = line(ys) + np.log(dy) + np.log(dx[todo])[:, None]
        mass = np.logaddexp.reduce(log_nodes, axis=1)
        half = np.logaddexp.reduce(log_nodes[:, ::2], axis=1) + np.log(2)
        for k, i in enumerate(todo):
            rows[i] = Row(ys[k], log_nodes[k])
        total = max(total, float(np.logaddexp.reduce(mass)))
        with np.errstate(over="ignore", invalid="ignore"):
            rough = np.abs(np.expm1(half - mass)) * np.exp(mass - total) > AGREE / len(x)
        todo = todo[rough]
        if len(todo) == 0:
            break
    return [row for row in rows if row is not None]


def _settled(log_mass: Floats) -> bool:
    """Whether every other row would have given the same total."""
    mass = np.exp(log_mass - log_mass.max())
    return bool(abs(2 * mass[::2].sum() / mass.sum() - 1) < AGREE)


def _gathered(x: Floats, rows: list[Row]) -> tuple[Floats, Floats, Floats]:
    """All nodes, row by row and there and back, with their weights."""
    turn = [slice(None, None, 1 if i % 2 == 0 else -1) for i in range(len(rows))]
    xs = np.repeat(x, [len(row.y) for row in rows])
    ys = np.concatenate([row.y[t] for row, t in zip(rows, turn, strict=True)])
    log_node = np.concatenate([row.log_node[t] for row, t in zip(rows, turn, strict=True)])
    weight = np.exp(log_node - log_node.max())
    keep = _kept(weight)
    return xs[keep], ys[keep], weight[keep] / weight[keep].sum()


def _kept(weight: Floats) -> NDArray[np.bool_]:
    """All but the lightest nodes that together hold the share PRUNED."""
    order = np.argsort(weight, kind="stable")
    light = np.cumsum(weight[order]) < PRUNED * weight.sum()
    keep = np.ones(len(weight), dtype=bool)
    keep[order[light]] = False
    return keep


def climb(line: Line, start: Floats, width: float | Floats) -> tuple[Floats, Floats]:
    """The highest point of each row's log density and its height, by Newton from `start`.

    Close enough for laying out a grid: to about a hundredth of a standard deviation, the
    height to a thousandth.
    """
    y = start.astype(float)
    sd = np.broadcast_to(np.asarray(width, dtype=float), y.shape)
    highest = np.full(y.shape, -np.inf)
    step = np.zeros(y.shape)
    with np.errstate(invalid="ignore", divide="ignore"):
        for _ in range(60):
            d = 0.1 * sd
            low, here, high = line((y + step)[:, None] + d[:, None] * _STENCIL).T
            rose = here >= highest - 1e-9
            y = np.where(rose, y + step, y)
            highest = np.where(rose, here, highest)
            slope = (high - low) / (2 * d)
            curve = (high - 2 * here + low) / d**2
            known = np.isfinite(curve)
            down = known & (curve < 0)
            newton = np.where(down, -slope / curve, np.where(known, 3 * sd * np.sign(slope), 0.0))
            newton = np.minimum(np.maximum(newton, -5 * sd), 5 * sd)
            step = np.where(rose, newton, step / 4)
            bound = np.where(down, 1 / np.sqrt(np.abs(curve)), sd)
            sd = np.where(rose, np.minimum(np.maximum(bound, sd / 5), sd * 5), sd)
            if np.all(np.abs(step) < 0.02 * sd):
                break
    return y + step, highest


def stretched(
    line: Line, top: Floats, height: Floats, width: float | Floats, spacing: float
) -> tuple[Floats, Floats]:
    """Nodes (M, N) about each of the M maxima `top` of given `height`, and their spacings.

    Node j is top + s (e^(g v) - 1) / g at v = j * spacing, g and s such that the log density
    has fallen by DROP at v = -REACH and at v = REACH, as a normal density's has.
    """
    sides = np.array([-1.0, 1.0])
    d = np.zeros((len(top), 2)) + 4 * np.asarray(width, dtype=float)
    log_d, log_drop, power = np.log(d), np.log(DROP), np.full(d.shape, 2.0)
    before = log_d, np.zeros(d.shape)
    for attempt in range(40):
        d = np.exp(log_d)
        with np.errstate(invalid="ignore"):  # of a line with no mass at all
            fallen = height[:, None] - line(top[:, None] + sides * d)
        log_fallen = np.log(np.where(np.isfinite(fallen), np.clip(fallen, 1e-9, 1e9), 1e9))
        if attempt > 0:
            # the power of distance by which the density falls just there
            moved = log_d - before[0]
            far = np.abs(moved) > 1e-6
            measured = (log_fallen - before[1]) / np.where(far, moved, 1.0)
            power = np.where(far, np.minimum(np.maximum(measured, 0.5), 30.0), power)
        before = log_d, log_fallen
        change = np.minimum(np.maximum((log_drop - log_fallen) / power, -2.0), 1.5)
        log_d = np.minimum(log_d + change, _FARTHEST)
        if np.all(np.abs(change) < 0.005):
            break
    d = np.exp(log_d)
    left, right = d.T
    g = np.log(right / left) / REACH
    g = np.where(np.abs(g) < 1e-9, 1e-9, g)
    s = (right * g / np.expm1(g * REACH))[:, None]
    count = int(REACH / spacing)
    v = g[:, None] * (spacing * np.arange(-count, count + 1))
    return top[:, None] + s * np.expm1(v) / g[:, None], s * np.exp(v) * spacing
