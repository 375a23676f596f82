"""The plans side by side: what each costs, and how often it ends in a failure."""

from __future__ import annotations

from typing import Any

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, layer, name, number
from riskmodel.decision.results import Weighing
from riskmodel.words import captions, formats, plan_short, screen

MOST_ROWS = 9
ROW_HEIGHT = 32
HEAD = 100
"""Height of titles and axis."""
BAND = 9


def shown_plans(w: Weighing, most: int = MOST_ROWS) -> list[int]:
    """The plans that a picture shows: now, next, the cheapest ones, never, a sale, others evenly.

    All of them where there are no more than `most`; in their order of time.
    """
    everything = range(len(w.all_plans))
    if len(everything) <= most:
        return list(everything)
    wanted = [0, *everything[len(w.plans) - 1 :]]
    verdict = w.recommended
    wanted += [] if verdict is None else [verdict]
    wanted += [1, *sorted(everything, key=lambda i: w.all_plans[i].cost.value)[:3]]
    kept = set(wanted)
    while len(kept) < most:
        # Into the widest gap, so that the shape of the whole is kept.
        ordered = sorted(kept)
        gap = max(range(len(ordered) - 1), key=lambda k: ordered[k + 1] - ordered[k])
        if ordered[gap + 1] - ordered[gap] < 2:
            break
        kept.add((ordered[gap] + ordered[gap + 1]) // 2)
    return sorted(kept)


def plan_costs(w: Weighing) -> Spec:
    """Expected cost of each plan with its interval, and the bad case."""
    shown = shown_plans(w)
    rows: Rows = [
        {
            "plan": plan_short(w, i),
            "value": w.all_plans[i].cost.value,
            "low": w.all_plans[i].cost.low,
            "high": w.all_plans[i].cost.high,
            "bad": w.all_plans[i].bad_case,
        }
        for i in shown
    ]
    axis = {"title": None, "format": ",.0f", "tickCount": 4}
    across = number("low", scale={"zero": True, "nice": True}, axis=axis)
    layers = [
        *_highlight(w),
        _interval(rows, style.COST_BAND),
        layer(
            rows,
            "point",
            {"x": number("bad")},
            shape="diamond",
            size=110,
            filled=False,
            color=style.RISK,
            strokeWidth=2,
        ),
        _estimate(rows, "circle", style.COST),
    ]
    return style.finished(
        layers,
        height=_height(shown),
        description=captions.plans(w),
        encoding={"x": across, "y": _down(w, shown)},
        title=screen.cost_title(w.case),
        subtitle=screen.COST_KEY,
    )


def plan_chances(w: Weighing) -> Spec:
    """Chance of at least one failure within keep-until with each plan."""
    shown = shown_plans(w)
    failures = [w.all_plans[i].failure for i in shown]
    rows: Rows = [
        {
            "plan": plan_short(w, i),
            "value": 100 * failure.value,
            "low": 100 * failure.low,
            "high": 100 * failure.high,
            "text": formats.count_short(failure.value),
        }
        for i, failure in zip(shown, failures, strict=True)
    ]
    most = max(10.0, 118 * max(failure.high for failure in failures))
    axis = {"title": None, "tickCount": 5}
    across = number("low", scale={"domain": [0, most], "nice": True}, axis=axis)
    layers = [
        *_highlight(w),
        _interval(rows, style.RISK_BAND),
        _estimate(rows, "triangle-up", style.RISK),
        layer(rows, "text", {"x": number("high"), "text": name("text")}, align="left", dx=8),
    ]
    return style.finished(
        layers,
        height=_height(shown),
        description=captions.plans(w),
        encoding={"x": across, "y": _down(w, shown)},
        title=screen.FAILURES_TITLE,
        subtitle=screen.FAILURES_KEY,
    )


def _height(shown: list[int]) -> int:
    return HEAD + ROW_HEIGHT * len(shown)


def _interval(rows: Rows, color: str) -> Spec:
    channels = {"x": number("low"), "x2": {"field": "high"}}
    return layer(rows, "rule", channels, color=color, strokeWidth=BAND)


def _estimate(rows: Rows, shape: str, color: str) -> Spec:
    channels = {"x": number("value")}
    return layer(
        rows, "point", channels, shape=shape, size=110, filled=True, color=color, opacity=1
    )


def _down(w: Weighing, shown: list[int]) -> Spec:
    """The plans from top to bottom, that of the verdict in bold."""
    verdict = w.chosen
    bold: Any = "normal"
    if verdict is not None:
        test = f"datum.value === '{plan_short(w, verdict)}'"
        bold = {"condition": {"test": test, "value": "bold"}, "value": "normal"}
    axis = {"title": None, "domain": False, "ticks": False, "labelFontWeight": bold}
    return name("plan", sort=[plan_short(w, i) for i in shown], axis=axis)


def _highlight(w: Weighing) -> list[Spec]:
    """A band behind the plan of the verdict."""
    verdict = w.chosen
    if verdict is None:
        return []
    across = {"x": {"value": 0}, "x2": {"value": "width"}}
    return [layer([{"plan": plan_short(w, verdict)}], "rect", across, color=style.HIGHLIGHT)]
