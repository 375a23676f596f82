"""Effective age against plain age, stretch by stretch."""

from __future__ import annotations

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, label, layer, number
from riskmodel.decision.results import Weighing
from riskmodel.words import use as words

HEIGHT = 320
_X, _Y = number("x"), number("y")


def use_ages(w: Weighing) -> Spec | None:
    """What the part's usage counts like, with its band, beside average use; None for a new part."""
    told, unit = w.use, w.case.machine.unit
    if told is None or told.plain_age == 0:
        return None
    rows: Rows = [
        {"x": at, "y": age.median, "low": age.low, "high": age.high}
        for at, age in zip(told.at, told.ages, strict=True)
    ]
    end = told.at[-1]
    top = max(end, *(age.high for age in told.ages))
    average: Rows = [{"x": 0.0, "y": 0.0}, {"x": end, "y": end}]
    today = {"x": told.plain_age, "y": told.age.median, "low": told.age.low, "high": told.age.high}
    axes = [{"grid": False, "format": ",.0f", "tickCount": 4, "title": title} for title in (
        f"Age of the part, {unit}", f"Counts like, {unit}"
    )]  # fmt: skip
    return style.finished(
        [
            layer(
                rows,
                "area",
                {"x": _X, "y": number("low"), "y2": {"field": "high"}},
                color=style.COST_BAND,
                opacity=1,
            ),
            layer(average, "line", {"x": _X, "y": _Y}, color=style.INK, strokeDash=style.DASHED),
            layer(rows, "line", {"x": _X, "y": _Y}, color=style.COST, strokeWidth=2.5),
            layer(
                [today],
                "rule",
                {"x": _X, "y": number("low"), "y2": {"field": "high"}},
                color=style.COST,
                strokeWidth=2,
            ),
            layer(
                [today],
                "point",
                {"x": _X, "y": _Y},
                color=style.COST,
                filled=True,
                size=90,
                opacity=1,
            ),
            label("today", told.plain_age, told.age.low, dx=8, dy=14),
        ],
        height=HEIGHT,
        description=words.caption(w),
        encoding={
            "x": number("x", scale={"domain": [0, end], "nice": False}, axis=axes[0]),
            "y": number("y", scale={"domain": [0, top], "nice": False}, axis=axes[1]),
        },
        title=words.AGES_TITLE,
        subtitle=words.AGES_KEY,
    )
