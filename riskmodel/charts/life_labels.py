"""Where names can stand beside rising curves without touching any of them.

Worked out for a phone: on a wider screen the same places are freer still.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

WIDTH, HEIGHT = 300.0, 270.0
"""Inside of a chart on a screen of 390 pixels, in pixels."""
LETTER, LINE = 7.0, 17.0
"""Room for one letter and for one line of text, in pixels."""
GAP = 5.0
ENOUGH = 12.0
"""More room than this between a name and a line is no better, in pixels."""
TRIED = np.linspace(0.04, 0.99, 61)
"""Places along a curve, as shares of the width."""


@dataclass(frozen=True, slots=True)
class Line:
    """A curve as drawn: arrays (m,) in the units of the axes, x rising."""

    x: Floats
    y: Floats


@dataclass(frozen=True, slots=True)
class Place:
    """Where a name stands: left above its curve, or right below it."""

    x: float
    y: float
    above: bool


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, in pixels from the lower left."""

    left: float
    right: float
    bottom: float
    top: float

    def meets(self, other: Box) -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )


def places(
    named: Mapping[str, Line],
    faint: Sequence[Line],
    clear: Sequence[Box],
    x_axis: tuple[float, float],
    y_axis: tuple[float, float],
) -> dict[str, Place]:
    """A place for each name beside its line, clear of all lines, of each other and of `clear`.

    Where that leaves no room a name may lie across the `faint` lines; one for which there is
    still none is left out.
    """
    across = np.linspace(0.0, WIDTH, 301)
    heights = {name: _height(line, across, x_axis, y_axis) for name, line in named.items()}
    soft = [_height(line, across, x_axis, y_axis) for line in faint]
    found: dict[str, Place] = {}
    taken = list(clear)
    for name in named:
        lines = list(heights.values())
        best = _best(name, across, heights[name], [*lines, *soft], taken)
        best = best or _best(name, across, heights[name], lines, taken)
        if best is not None:
            at, y, above = best
            x = x_axis[0] + at / WIDTH * (x_axis[1] - x_axis[0])
            found[name] = Place(x, y_axis[0] + y / HEIGHT * (y_axis[1] - y_axis[0]), above)
            taken.append(_box(name, at, y, above))
    return found


def _best(
    name: str, across: Floats, own: Floats, lines: Sequence[Floats], taken: Sequence[Box]
) -> tuple[float, float, bool] | None:
    """The freest place of one name: (pixels across, pixels up, above its line)."""
    best: tuple[float, tuple[float, float, bool]] | None = None
    for at in (TRIED * WIDTH).tolist():
        y = float(np.interp(at, across, own))
        for above in (True, False):
            box = _box(name, at, y, above)
            if not _inside(box) or any(box.meets(other) for other in taken):
                continue
            room = min(_clearance(box, across, height) for height in lines)
            # as far from other lines as gives room to read, then as far right as may be
            score = min(room, ENOUGH) + at / WIDTH
            if room > 0 and (best is None or score > best[0]):
                best = score, (at, y, above)
    return None if best is None else best[1]


def _height(
    line: Line, across: Floats, x_axis: tuple[float, float], y_axis: tuple[float, float]
) -> Floats:
    """Pixels above the axis at each pixel; not a number where the line is not drawn."""
    x = (line.x - x_axis[0]) / (x_axis[1] - x_axis[0]) * WIDTH
    y = (line.y - y_axis[0]) / (y_axis[1] - y_axis[0]) * HEIGHT
    if len(x) == 0:
        return np.full(across.shape, np.nan)
    return np.interp(across, x, y, left=np.nan, right=np.nan)


def _box(name: str, x: float, y: float, above: bool) -> Box:
    width = LETTER * len(name)
    if above:
        return Box(x - GAP - width, x - GAP, y + GAP, y + GAP + LINE)
    return Box(x + GAP, x + GAP + width, y - GAP - LINE, y - GAP)


def _inside(box: Box) -> bool:
    return box.left >= 0 and box.right <= WIDTH and box.bottom >= 1 and box.top <= HEIGHT


def _clearance(box: Box, across: Floats, height: Floats) -> float:
    """The least distance between a box and a line above or below it; 0 where they meet."""
    some = height[(across >= box.left - 3) & (across <= box.right + 3)]
    some = some[np.isfinite(some)]
    if len(some) == 0:
        return np.inf
    if some.min() >= box.top:
        return float(some.min() - box.top) + 1e-9
    if some.max() <= box.bottom:
        return float(box.bottom - some.max()) + 1e-9
    return 0.0
