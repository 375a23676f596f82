"""The oil factor: how many times likelier each age at failure has become because of the samples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, label, layer, number
from riskmodel.decision.results import Weighing
from riskmodel.oil.history import History
from riskmodel.words import captions, screen

Floats = NDArray[np.float64]

HEIGHT = 300
POINTS = 60
SWEPT = 9
"""Factors on the lead between the ends of its range: in between the samples may say more."""
LEAST, MOST = 0.5, 2.0
"""The axis reaches at least so far, so that a small difference looks small."""
_TICKS = [m * 10.0**e for e in range(-4, 9) for m in (1, 2, 5)]
_CLOSE_TICKS = [0.5, 0.7, 1.0, 1.5, 2.0]
_X, _Y = number("x"), number("y")


@dataclass(frozen=True, eq=False, slots=True)
class FactorCurve:
    """The factor against the part's age at failure, and its range over what is not known of the
    warning and of silent failures, over their stated ranges; (points,) each."""

    age: Floats
    factor: Floats
    low: Floats
    high: Floats


def factor_curve(taken: History, ahead: float) -> FactorCurve:
    """The factor from today to `ahead` (usage) later."""
    age = taken.today + ahead * np.linspace(0, 1, POINTS) ** 1.5
    told = taken.likelihood(age, np.geomspace(taken.lead_factor.low, taken.lead_factor.high, SWEPT))
    swept = [s + (1 - s) * told for s in (taken.silent.low, taken.silent.high)]
    factor = taken.factor(age)
    among = np.vstack([*swept, factor])
    return FactorCurve(age, factor, among.min(axis=0), among.max(axis=0))


def oil_factor(w: Weighing, curve: FactorCurve) -> Spec:
    """The factor on a scale of ratios, with 1, no difference, marked."""
    rows: Rows = [
        {"x": float(x), "y": float(y), "low": float(low), "high": float(high)}
        for x, y, low, high in zip(curve.age, curve.factor, curve.low, curve.high, strict=True)
    ]
    bottom, top = min(LEAST, 0.9 * curve.low.min()), max(MOST, 1.1 * curve.high.max())
    ticks = _CLOSE_TICKS if top / bottom < 8 else _TICKS
    ages = [float(curve.age[0]), float(curve.age[-1])]
    one = layer([{"y": 1.0}], "rule", {"y": _Y}, color=style.INK, strokeWidth=1.5)
    band = {"x": _X, "y": number("low"), "y2": {"field": "high"}}
    return style.finished(
        [
            layer(rows, "area", band, color=style.RISK_BAND),
            one,
            layer(rows, "line", {"x": _X, "y": _Y}, color=style.RISK, strokeWidth=3),
            label(screen.OIL_NO_DIFFERENCE, ages[1], 1.0, align="right", dy=11),
        ],
        height=HEIGHT,
        description=captions.oil_factor(w, curve.factor),
        encoding={
            "x": number(
                "x",
                scale={"domain": ages, "nice": False, "zero": False},
                axis={
                    "title": screen.failure_age_axis(w.case),
                    "format": ",.0f",
                    "tickCount": 4,
                    "grid": False,
                },
            ),
            "y": number(
                "y",
                scale={"type": "log", "domain": [float(bottom), float(top)], "nice": False},
                axis={
                    "title": None,
                    "values": [t for t in ticks if bottom <= t <= top],
                    "format": "~r",
                },
            ),
        },
        title=screen.OIL_FACTOR_TITLE,
        subtitle=[screen.OIL_FACTOR_KEY],
    )
