"""The share failed by each age: as observed, as fitted, by the records and by the belief alone."""

from __future__ import annotations

import numpy as np

from riskmodel.charts import style
from riskmodel.charts.life_labels import HEIGHT as INSIDE
from riskmodel.charts.life_labels import LETTER, LINE, WIDTH, Box, Floats, Line, Place, places
from riskmodel.charts.style import Rows, Spec, label, layer, number
from riskmodel.life.curves import FittedCurve, Observed
from riskmodel.records.case import Case
from riskmodel.risk.learned import Learned
from riskmodel.words import captions, screen

HEIGHT = 360
HEADROOM = 1.12
"""The row at the top in which this engine is named."""
ROW = 0.965
"""Where its middle lies, as a share of the height."""
DOTTED = [2, 3]
_X, _Y = number("x"), number("y")
_STEPS = (1, 2, 5, 10, 20)


def life_curve(case: Case, learnt: Learned) -> Spec | None:
    """All curves that there are, each with its own kind of line; None without any."""
    both = learnt.both.curve
    if both is None:
        return None
    seen = learnt.observed
    seen = None if seen is None or seen.reason is not None else seen
    records, belief = learnt.by_records.curve, learnt.by_belief.curve
    ages = (float(min(both.age[0], learnt.age)), float(both.age[-1]))
    most = _most(both, seen, [c for c in (records, belief) if c is not None])
    top = HEADROOM * most
    layers = [_band(both)]
    drawn: dict[str, Line] = {}
    if belief is not None and case.records is not None:
        layers.append(_line(belief, style.QUIET, 2, DOTTED))
        drawn[screen.BY_BELIEF_LINE] = Line(belief.age, 100 * belief.failed)
    if records is not None:
        layers.append(_line(records, style.INK, 2, style.DASHED))
        drawn[screen.BY_RECORDS_LINE] = Line(records.age, 100 * records.failed)
    layers.append(_line(both, style.RISK, 3))
    thick = screen.BELIEF_ONLY_LINE if case.records is None else screen.FITTED_LINE
    drawn[thick] = Line(both.age, 100 * both.failed)
    faint = []
    if seen is not None:
        layers += _observed(seen)
        x, y = steps(seen)
        drawn = {screen.OBSERVED_LINE: Line(x, 100 * y)} | drawn
        faint = [Line(*part) for part in _edges(seen)]
    clear = _around_engine(case, learnt, ages)
    found = places(drawn, faint, clear, ages, (0.0, top))
    layers += _engine(case, learnt, ages, top)
    layers += [_name(text, place) for text, place in found.items()]
    unnamed = [text for text in drawn if text not in found]
    age_axis = {"title": screen.age_axis(case), "format": ",.0f", "tickCount": 5, "grid": False}
    return style.finished(
        layers,
        height=HEIGHT,
        description=captions.life_curve(case, learnt),
        encoding={
            "x": number("x", scale={"domain": list(ages), "nice": False}, axis=age_axis),
            "y": number(
                "y",
                scale={"domain": [0, top], "nice": False},
                axis={"title": None, "values": _ticks(most)},
            ),
        },
        title=screen.LIFE_TITLE,
        subtitle=[screen.life_key(bool(faint)), *(screen.also(text) for text in unnamed)],
    )


def steps(seen: Observed) -> tuple[Floats, Floats]:
    """Corners of the observed curve; it slopes where the records leave open when it rose."""
    return _corners(seen, seen.failed, 0.0)


def _corners(seen: Observed, share: Floats, start: float) -> tuple[Floats, Floats]:
    before = np.concatenate(([start], share[:-1]))
    x = np.column_stack((seen.since, seen.age)).ravel()
    y = np.column_stack((before, share)).ravel()
    end = max(seen.to_age, float(seen.age[-1]))
    return (
        np.concatenate(([min(seen.from_age, float(seen.since[0]))], x, [end])),
        np.concatenate(([start], y, [float(share[-1])])),
    )


def _edges(seen: Observed) -> list[tuple[Floats, Floats]]:
    """The two edges of the observed band, of 100, from the first failure on."""
    found = []
    for end in (seen.low, seen.high):
        if end is not None:
            x, y = _corners(seen, end, 0.0)
            found.append((x[2:], 100 * y[2:]))
    return found


def _most(both: FittedCurve, seen: Observed | None, others: list[FittedCurve]) -> float:
    """The upper end of what is drawn, of 100."""
    ends = [float(both.high.max()), *(float(other.failed.max()) for other in others)]
    if seen is not None:
        ends.append(float((seen.failed if seen.high is None else seen.high).max()))
    return min(100.0, max(5.0, 104 * max(ends)))


def _ticks(most: float) -> list[float]:
    step = next((step for step in _STEPS if most / step <= 5.5), _STEPS[-1])
    return [float(tick) for tick in np.arange(0, most + 1e-9, step)]


def _band(curve: FittedCurve) -> Spec:
    rows: Rows = [
        {"x": float(x), "low": 100 * float(low), "high": 100 * float(high)}
        for x, low, high in zip(curve.age, curve.low, curve.high, strict=True)
    ]
    ends = {"x": _X, "y": number("low"), "y2": {"field": "high"}}
    return layer(rows, "area", ends, color=style.RISK_BAND)


def _line(curve: FittedCurve, color: str, width: float, dash: list[int] | None = None) -> Spec:
    return _path(curve.age, 100 * curve.failed, color, width, dash)


def _path(x: Floats, y: Floats, color: str, width: float, dash: list[int] | None = None) -> Spec:
    rows: Rows = [
        {"x": a, "y": b, "order": i}
        for i, (a, b) in enumerate(zip(x.tolist(), y.tolist(), strict=True))
    ]
    channels = {"x": _X, "y": _Y, "order": number("order")}
    more = {} if dash is None else {"strokeDash": dash}
    return layer(rows, "line", channels, color=color, strokeWidth=width, **more)


def _observed(seen: Observed) -> list[Spec]:
    x, y = steps(seen)
    edges = [_path(a, b, style.QUIET, 1, [1, 3]) for a, b in _edges(seen)]
    return [*edges, _path(x, 100 * y, style.INK, 1.5)]


def _engine(case: Case, learnt: Learned, ages: tuple[float, float], top: float) -> list[Spec]:
    """A line up at this engine's age, named in the row above all curves."""
    rule = layer(
        [{"x": learnt.age, "y": 0.0, "top": top}],
        "rule",
        {"x": _X, "y": _Y, "y2": {"field": "top"}},
        color=style.INK,
        strokeWidth=1,
    )
    leftward = _leftward(learnt, ages)
    name = label(
        screen.this_engine(case, learnt.age),
        learnt.age,
        ROW * top,
        align="right" if leftward else "left",
        dx=-6 if leftward else 6,
        fontWeight="bold",
    )
    return [rule, name]


def _leftward(learnt: Learned, ages: tuple[float, float]) -> bool:
    """Whether the name of this engine's age has more room to the left of it."""
    return learnt.age - ages[0] > (ages[1] - ages[0]) / 2


def _around_engine(case: Case, learnt: Learned, ages: tuple[float, float]) -> list[Box]:
    """What no other name may cover: the line at this engine's age and its name."""
    at = (learnt.age - ages[0]) / (ages[1] - ages[0]) * WIDTH
    width = LETTER * len(screen.this_engine(case, learnt.age)) + 8
    left, right = (at - width, at) if _leftward(learnt, ages) else (at, at + width)
    row = ROW * INSIDE
    return [Box(at - 3, at + 3, 0.0, INSIDE), Box(left, right, row - LINE / 2, INSIDE)]


def _name(text: str, place: Place) -> Spec:
    """The name of a curve beside it."""
    return label(
        text,
        place.x,
        place.y,
        align="right" if place.above else "left",
        baseline="bottom" if place.above else "top",
        dx=-5 if place.above else 5,
        dy=-5 if place.above else 5,
    )
