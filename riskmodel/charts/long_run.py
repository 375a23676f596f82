"""The cost rate of replacing new parts at one age, against that age."""

from __future__ import annotations

import pandas as pd

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, label, layer, number
from riskmodel.decision.results import Interval, LongRun, Weighing
from riskmodel.words import formats
from riskmodel.words import long_run as words

HEIGHT = 320
_X, _Y = number("x"), number("y")
_ROWS = 9
_TOP = 2.2
"""The highest rate drawn, over the least."""


def long_run(w: Weighing) -> Spec | None:
    """The rate with its band, the best age, the ages about as good, the rate of never; None
    beside symptoms."""
    found = w.long_run
    if found is None:
        return None
    by = words.per(w.case)
    top = by * max(_TOP * found.cost.value, 1.25 * found.never.value)
    axis = {
        "title": f"{w.case.cost.currency} {words.per_phrase(w.case)}".strip(),
        "format": ",.0f",
        "tickCount": 5,
    }
    across = {
        "title": f"Age at which each is replaced, {w.case.machine.unit}",
        "grid": False,
        "format": ",.0f",
        "tickCount": 5,
    }
    ends = [float(found.at[0]), float(found.at[-1])]
    return style.finished(
        [
            *_window(found, ends, top),
            *_band(found, by),
            *_never(found, by, ends),
            *_best(found, by),
        ],
        height=HEIGHT,
        description=words.caption(w),
        encoding={
            "x": number("x", scale={"domain": [0, ends[1]], "nice": False}, axis=across),
            "y": number("y", scale={"domain": [0, top], "nice": False}, axis=axis),
        },
        title=words.TITLE,
        subtitle=words.KEY,
    )


def figures(w: Weighing) -> pd.DataFrame:
    """The rate at ages from early to late, and of never."""
    found = w.long_run
    if found is None:
        return pd.DataFrame()
    case, by = w.case, words.per(w.case)
    every = max(1, (len(found.at) - 1) // (_ROWS - 1))
    told = [
        (
            words.age(case, float(found.at[i])),
            Interval(float(found.rate[i]), float(found.low[i]), float(found.high[i])),
        )
        for i in range(0, len(found.at), every)
    ]
    if found.age is not None:
        told = sorted(
            [*told, (f"{words.age(case, found.age)}: {words.BEST_LABEL}", found.cost)],
            key=lambda row: float(row[0].split(formats.NBSP)[0].replace(",", "")),
        )
    told.append((formats.sentence(words.NEVER_LABEL), found.never))
    return pd.DataFrame(
        [
            {
                "Replaced at": name,
                f"Cost {words.per_phrase(case)}": formats.money(
                    by * cost.value, case.cost.currency
                ),
                "Nine times in ten": formats.money_range(by * cost.low, by * cost.high, ""),
            }
            for name, cost in told
        ]
    )


def _window(found: LongRun, ends: list[float], top: float) -> list[Spec]:
    """The ages about as good as the best one."""
    if found.age is None:
        return []
    low, high = found.window
    row = {"x": max(low, 0.0), "high": ends[1] if high is None else high, "y": 0.0, "top": top}
    channels = {"x": _X, "x2": {"field": "high"}, "y": _Y, "y2": {"field": "top"}}
    return [layer([row], "rect", channels, color=style.BAND)]


def _band(found: LongRun, by: float) -> list[Spec]:
    """The mean rate and the band about it, cut off at the top."""
    rows: Rows = [
        {"x": x, "y": y, "low": low, "high": high}
        for x, y, low, high in zip(
            found.at.tolist(),
            (by * found.rate).tolist(),
            (by * found.low).tolist(),
            (by * found.high).tolist(),
            strict=True,
        )
    ]
    band = {"x": _X, "y": number("low"), "y2": {"field": "high"}}
    return [
        layer(rows, "area", band, color=style.COST_BAND, opacity=0.7, clip=True),
        layer(rows, "line", {"x": _X, "y": _Y}, color=style.COST, strokeWidth=3, clip=True),
    ]


def _never(found: LongRun, by: float, ends: list[float]) -> list[Spec]:
    at = by * found.never.value
    rows: Rows = [{"x": 0.0, "y": at}, {"x": ends[1], "y": at}]
    line = layer(
        rows,
        "line",
        {"x": _X, "y": _Y},
        color=style.RISK,
        strokeWidth=2.5,
        strokeDash=style.DASHED,
    )
    note = label(
        words.NEVER_LABEL, ends[1], at, align="right", dy=-11, color=style.RISK, fontWeight="bold"
    )
    return [line, note]


def _best(found: LongRun, by: float) -> list[Spec]:
    """The best age, with a line down to it."""
    if found.age is None:
        return []
    at = by * found.cost.value
    down = layer(
        [{"x": found.age, "y": 0.0, "up": at}],
        "rule",
        {"x": _X, "y": _Y, "y2": {"field": "up"}},
        color=style.INK,
        strokeWidth=1.5,
    )
    dot = layer(
        [{"x": found.age, "y": at}],
        "point",
        {"x": _X, "y": _Y},
        shape="circle",
        size=120,
        filled=True,
        color=style.INK,
        opacity=1,
    )
    return [down, dot, label(words.BEST_LABEL, found.age, 0.4 * at, dx=6)]
