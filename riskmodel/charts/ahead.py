"""The chance of failure as usage adds up, with the coming oil changes."""

from __future__ import annotations

import numpy as np

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, label, layer, name, number
from riskmodel.decision.results import Weighing
from riskmodel.words import captions, formats, screen

HEIGHT = 340
LABEL = 0.14
"""Share of the width that a chance beside its mark needs on a phone ("under 1")."""
YEAR_LABEL = 0.75
"""Up to this share of the width the words at the year have room to the right of it on a phone."""
MOST_SERVICES = 24
"""More oil changes than these would run together on the axis: none are marked then."""
_X, _Y = number("x"), number("y")


def ahead(w: Weighing) -> Spec:
    """Chance that the part has failed, against usage from now, if it is left in."""
    curve = w.ahead
    rows: Rows = [
        {"x": float(x), "y": 100 * float(y), "low": 100 * float(low), "high": 100 * float(high)}
        for x, y, low, high in zip(curve.usage, curve.chance, curve.low, curve.high, strict=True)
    ]
    top = min(100.0, max(5.0, 112 * float(np.max(curve.high))))
    usage_axis = {
        "title": screen.usage_axis(w.case),
        "format": ",.0f",
        "tickCount": 5,
        "grid": False,
    }
    interval = {"x": _X, "y": number("low"), "y2": {"field": "high"}}
    layers = [
        layer(rows, "area", interval, color=style.RISK_BAND),
        layer(rows, "line", {"x": _X, "y": _Y}, color=style.RISK, strokeWidth=3),
        *_year(w, top),
        *_services(w),
        *_marks(w),
    ]
    return style.finished(
        layers,
        height=HEIGHT,
        description=captions.ahead(w),
        encoding={
            "x": number("x", scale={"domain": [0, w.keep], "nice": False}, axis=usage_axis),
            "y": number(
                "y",
                scale={"domain": [0, top], "nice": False},
                axis={"title": None, "tickCount": 5},
            ),
        },
        title=screen.AHEAD_TITLE,
    )


def _services(w: Weighing) -> list[Spec]:
    """Marks on the axis where the oil changes fall."""
    if not 0 < len(w.services) <= MOST_SERVICES:
        return []
    marks = layer(
        [{"x": float(at), "y": 0.0} for at in w.services],
        "point",
        {"x": _X, "y": _Y},
        shape="triangle-up",
        size=70,
        filled=True,
        color=style.INK,
        opacity=1,
        yOffset=-4,
    )
    last = float(w.services[-1])
    align = "right" if last > w.keep / 2 else "left"
    return [marks, label(screen.OIL_CHANGES_MARK, last, 0.0, align=align, dy=-18)]


def _year(w: Weighing, top: float) -> list[Spec]:
    """A quiet line one year from now."""
    year = w.case.machine.usage_per_year
    if year >= 0.95 * w.keep:
        return []
    line = layer(
        [{"x": year, "y": 0.0, "top": top}],
        "rule",
        {"x": _X, "y": _Y, "y2": {"field": "top"}},
        color=style.QUIET,
        strokeDash=[2, 3],
    )
    # To the right of its line, unless it would run over the edge there.
    side = {"dx": 5} if year < YEAR_LABEL * w.keep else {"dx": -5, "align": "right"}
    return [line, label(screen.ONE_YEAR_MARK, year, 0.96 * top, color=style.QUIET, **side)]


def _marks(w: Weighing) -> list[Spec]:
    """The chances that the sentences name, on the curve."""
    rows: Rows = [
        {
            "x": risk.ahead,
            "y": 100 * risk.chance.value,
            "text": formats.count_short(risk.chance.value),
        }
        for risk in w.risk
        if risk.ahead <= w.keep
    ]
    at = {"x": _X, "y": _Y}
    points = layer(
        rows, "point", at, shape="circle", size=90, filled=True, color=style.RISK, opacity=1
    )
    # To the left of its mark, clear of the rising curve, but never across the axis; where the
    # next mark is too close for that as well, the sentences and the table tell it.
    near = [row for row in rows if row["x"] < LABEL * w.keep]
    far = [row for row in rows if row["x"] >= LABEL * w.keep]
    if len(near) > 1 or (far and far[0]["x"] < 2.5 * LABEL * w.keep):
        near = []
    return [points, *_chances(far, "right", -7, -5), *_chances(near, "left", 0, -9)]


def _chances(rows: Rows, align: str, dx: int, dy: int) -> list[Spec]:
    """The chances of some marks as bold figures beside them."""
    if not rows:
        return []
    channels = {"x": _X, "y": _Y, "text": name("text")}
    look = {"baseline": "bottom", "dx": dx, "dy": dy, "fontWeight": "bold"}
    return [layer(rows, "text", channels, align=align, **look)]
