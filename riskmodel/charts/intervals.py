"""What a year costs at each oil interval."""

from __future__ import annotations

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, layer, name, number
from riskmodel.decision.intervals import IntervalStudy
from riskmodel.words import intervals as words

ROW_HEIGHT, HEAD = 40, 100
BAND, APART = 7, 8
"""Thickness of a band, and how far the two of a row lie from its middle; pixels."""


def interval_costs(study: IntervalStudy) -> Spec:
    """Expected cost a year with its interval, life as it is and longer beside each other."""
    case = study.case
    order = [words.every(case, row) for row in study.rows]
    claimed = study.gamma > 0
    layers: list[Spec] = []
    for longer, color, band, shape, shift in (
        (False, style.COST, style.COST_BAND, "circle", -APART if claimed else 0),
        (True, style.INK, style.LINE, "diamond", APART),
    ):
        outcomes = [(row, row.longer if longer else row.sooner) for row in study.rows]
        rows: Rows = [
            {
                "every": words.every(case, row),
                "value": found.cost.value,
                "low": found.cost.low,
                "high": found.cost.high,
            }
            for row, found in outcomes
            if found is not None
        ]
        if not rows:
            continue
        channels = {"x": number("low"), "x2": {"field": "high"}}
        layers.append(layer(rows, "rule", channels, color=band, strokeWidth=BAND, yOffset=shift))
        layers.append(
            layer(
                rows,
                "point",
                {"x": number("value")},
                shape=shape,
                size=100,
                filled=True,
                color=color,
                opacity=1,
                yOffset=shift,
            )
        )
    axis = {"title": None, "format": ",.0f", "tickCount": 4}
    down = {"title": None, "domain": False, "ticks": False}
    currency = case.cost.currency
    return style.finished(
        layers,
        height=HEAD + ROW_HEIGHT * len(order),
        description=words.summary(study)[0],
        encoding={
            "x": number("low", scale={"zero": True, "nice": True}, axis=axis),
            "y": name("every", sort=order, axis=down),
        },
        title=words.COST_TITLE + (f", {currency}" if currency else ""),
        subtitle=words.KEY_LONGER if claimed else words.KEY,
    )
