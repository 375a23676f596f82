"""The observed curve on Weibull paper, where a Weibull curve is a straight line."""

from __future__ import annotations

import math

import numpy as np

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, layer, number
from riskmodel.life.curves import Observed, ProbabilityPlot
from riskmodel.records.case import Case
from riskmodel.risk.learned import Learned
from riskmodel.words import captions, screen

HEIGHT = 360
ROOM = 0.35
"""Room beside the outermost points, on the scale of ln(-ln(1 - share))."""
SHARES = (0.01, 0.1, 0.5, 1, 2, 5, 10, 20, 40, 60, 80, 90, 95, 99, 99.9)
"""Shares failed, of 100, that may be marked on the axis."""
ROUND = (1, 5, 2, 3, 7, 4, 1.5, 6, 8, 9, 2.5, 1.2)
SPACING = 0.2
"""Distance of two marked ages at least, as a share of the width."""
APART = 0.28
"""Marks nearer to each other than this, on that scale, would run together."""
SEEN = 0.02
"""A stretch of age shorter than this share of the width hides behind its point."""
_X, _Y = number("x"), number("y")


def probability_plot(case: Case, learnt: Learned) -> Spec | None:
    """Points of the observed curve and the best-fitting Weibull line; None without either.

    x is age on a log scale, y the share failed on that of ln(-ln(1 - share)); the axis tells
    the shares themselves.
    """
    plot, seen = learnt.plot, learnt.observed
    if plot is None or seen is None or len(plot.x) == 0:
        return None
    y_axis = (
        float(min(plot.y.min(), plot.line_y.min())) - ROOM,
        float(max(plot.y.max(), plot.line_y.max())) + ROOM,
    )
    x_axis = _x_axis(plot.x)
    line: Rows = [
        {"x": math.exp(x), "y": y}
        for x, y in zip(plot.line_x.tolist(), plot.line_y.tolist(), strict=True)
    ]
    points: Rows = [
        {"x": math.exp(x), "y": y} for x, y in zip(plot.x.tolist(), plot.y.tolist(), strict=True)
    ]
    at = {"x": _X, "y": _Y}
    spans = _spans(points, seen, x_axis)
    layers = [
        *_bars(points, plot, y_axis),
        *spans,
        layer(line, "line", at, color=style.RISK, strokeWidth=3),
        layer(
            points, "point", at, shape="circle", size=50, filled=True, color=style.INK, opacity=1
        ),
    ]
    told = "format(round(1e6 * (1 - exp(-exp(datum.value)))) / 1e4, '~g')"
    return style.finished(
        layers,
        height=HEIGHT,
        description=captions.probability_plot(case, learnt),
        encoding={
            "x": number(
                "x",
                scale={"type": "log", "domain": list(x_axis), "nice": False},
                axis={
                    "title": screen.stretched_age_axis(case),
                    "format": ",.6~g",
                    "values": _ages(x_axis),
                    "grid": True,
                },
            ),
            "y": number(
                "y",
                scale={"domain": list(y_axis), "nice": False, "zero": False},
                axis={"title": None, "values": _marks(y_axis), "labelExpr": told, "grid": True},
            ),
        },
        title=screen.PAPER_TITLE,
        subtitle=screen.paper_key(plot.low is not None, bool(spans)),
    )


def _x_axis(x: np.ndarray[tuple[int], np.dtype[np.float64]]) -> tuple[float, float]:
    """Ages from a little before the first point to a little beyond the last."""
    low, high = float(x.min()), float(x.max())
    room = max(0.06 * (high - low), 0.1)
    return math.exp(low - room), math.exp(high + room)


def _ages(x_axis: tuple[float, float]) -> list[float]:
    """Ages for the axis, the roundest first, as far apart as their figures need on a phone."""
    low, high = x_axis
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    found: list[float] = []
    for digit in ROUND:
        for power in powers:
            age = digit * 10.0**power
            room = SPACING * math.log(high / low)
            if low <= age <= high and all(abs(math.log(age / other)) >= room for other in found):
                found.append(age)
    return sorted(found) or [float(f"{math.sqrt(low * high):.2g}")]


def _marks(y_axis: tuple[float, float]) -> list[float]:
    """Places of the shares on the axis, as far apart as can be read."""
    found: list[float] = []
    for share in SHARES:
        place = math.log(-math.log1p(-share / 100))
        if y_axis[0] <= place <= y_axis[1] and (not found or place - found[-1] >= APART):
            found.append(place)
    return found


def _bars(points: Rows, plot: ProbabilityPlot, y_axis: tuple[float, float]) -> list[Spec]:
    """The band of the observed curve at each point, as far as the chart reaches."""
    if plot.low is None or plot.high is None:
        return []
    rows: Rows = [
        {"x": point["x"], "low": max(low, y_axis[0]), "high": min(high, y_axis[1])}
        for point, low, high in zip(points, plot.low.tolist(), plot.high.tolist(), strict=True)
    ]
    ends = {"x": _X, "y": number("low"), "y2": {"field": "high"}}
    return [layer(rows, "rule", ends, color=style.LINE, strokeWidth=3)]


def _spans(points: Rows, seen: Observed, x_axis: tuple[float, float]) -> list[Spec]:
    """Between which ages the parts of a point failed, where that is wide enough to be seen."""
    wide = SEEN * math.log(x_axis[1] / x_axis[0])
    rows: Rows = [
        {"x": max(since, x_axis[0]), "end": point["x"], "y": point["y"]}
        for point, since in zip(points, seen.since.tolist(), strict=True)
        if math.log(point["x"] / max(since, x_axis[0])) > wide
    ]
    ends = {"x": _X, "x2": {"field": "end"}, "y": _Y}
    return [layer(rows, "rule", ends, color=style.QUIET, strokeWidth=1.5)] if rows else []
