"""Replacing now against waiting, as the chance of failure before the next oil change varies."""

from __future__ import annotations

from riskmodel.charts import style
from riskmodel.charts.style import Spec, label, layer, number
from riskmodel.decision.results import TradeOff, Weighing
from riskmodel.words import captions, formats, screen

HEIGHT = 400
ROOM = 0.42
"""Share of the width that a label needs on a phone."""
PLACES = (0.28, 0.45, 0.62, 0.78, 0.9)
"""Heights at which the engine's label may stand, as shares of the axis; the first that is free."""
CLEAR = 0.09
"""Share of the axis that the label needs above and below its middle."""
_X, _Y = number("x"), number("y")
_STEPS = (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 60, 80)


def trade_off(w: Weighing) -> Spec | None:
    """The two costs against the chance, their crossing, and where this engine stands.

    None where there is nothing to trade off (symptoms).
    """
    trade = w.trade_off
    if trade is None:
        return None
    most = _most(trade)
    floor, top = _cost_axis(trade, most)
    layers = [
        *_here(trade, floor, top, most),
        *_lines(w, trade, most),
        *_crossing(trade, floor, top, most),
        _engine(trade),
    ]
    chance_axis = {"title": screen.CHANCE_AXIS, "grid": False, "tickCount": 5}
    cost_axis = {"title": None, "format": ",.0f", "tickCount": 5}
    return style.finished(
        layers,
        height=HEIGHT,
        description=captions.trade_off(w),
        encoding={
            "x": number("x", scale={"domain": [0, most], "nice": False}, axis=chance_axis),
            "y": number("y", scale={"domain": [floor, top], "nice": False}, axis=cost_axis),
        },
        title=screen.kept_cost_title(w.case),
    )


def _wait(trade: TradeOff, chance: float) -> float:
    return (1 - chance) * trade.if_lasts + chance * trade.if_fails


def _most(trade: TradeOff) -> float:
    """The right end of the chance axis, of 100: the crossing and the engine well inside."""
    cross = trade.break_even_chance or 0.0
    wanted = 100 * max(1.6 * cross, 1.4 * trade.chance.high, 2.0 * trade.chance.value, 0.01)
    return float(next((step for step in _STEPS if step >= wanted), 100))


def _cost_axis(trade: TradeOff, most: float) -> tuple[float, float]:
    """The ends of the cost axis: the lines in its upper part, room for labels below them."""
    ends = (trade.now.value, trade.if_lasts, _wait(trade, most / 100))
    low, high = min(ends), max(ends)
    rise = max(high - low, 0.05 * max(abs(high), 1.0))
    floor = low - 0.8 * rise
    return (max(0.0, floor) if low >= 0 else floor), high + 0.14 * rise


def _here(trade: TradeOff, floor: float, top: float, most: float) -> list[Spec]:
    """The band of this engine's chance, with its label where no line runs through it."""
    low, high = 100 * trade.chance.low, min(100 * trade.chance.high, most)
    band = layer(
        [{"x": low, "high": high, "y": floor, "top": top}],
        "rect",
        {"x": _X, "x2": {"field": "high"}, "y": _Y, "y2": {"field": "top"}},
        color=style.BAND,
    )
    align, at = _engine_label(trade, most)
    ends = formats.outward(trade.chance)
    value = formats.count_short(trade.chance.value)
    text = screen.engine_label(value, ends)
    place = floor + _free(trade, floor, top, most, (align, at)) * (top - floor)
    note = label(text, at, place, align=align, dx=_nudge(align), fontWeight="bold")
    return [band, note]


def _engine_label(trade: TradeOff, most: float) -> tuple[str, float]:
    """Alignment and place of the engine's label: by its band, clear of the crossing's line."""
    low, high = 100 * trade.chance.low, min(100 * trade.chance.high, most)
    line = trade.break_even_chance
    room = ROOM * most
    if line is None or 100 * line <= low:
        return ("left", low) if most - low > room else ("right", high)
    at = 100 * line
    if min(at, high) > room:
        return "right", min(at, high)
    if at - low > room:
        return "left", low
    return ("left", at) if most - at > room else ("right", min(at, high))


def _free(
    trade: TradeOff, floor: float, top: float, most: float, label_at: tuple[str, float]
) -> float:
    """The first height, as a share of the axis, at which neither line crosses the label; the
    first of all where there is none."""
    align, at = label_at
    ends = (at, min(at + ROOM * most, most)) if align == "left" else (max(at - ROOM * most, 0), at)
    costs = [[trade.now.value] * 2, [_wait(trade, x / 100) for x in ends]]
    lines = [[(cost - floor) / (top - floor) for cost in line] for line in costs]

    def is_free(place: float) -> bool:
        return all(max(line) < place - CLEAR or min(line) > place + CLEAR for line in lines)

    return next((place for place in PLACES if is_free(place)), PLACES[0])


def _lines(w: Weighing, trade: TradeOff, most: float) -> list[Spec]:
    now, end = trade.now.value, _wait(trade, most / 100)
    rising = end > now
    now_line = layer(
        [{"x": x, "y": now} for x in (0.0, most)],
        "line",
        {"x": _X, "y": _Y},
        color=style.COST,
        strokeWidth=3,
    )
    wait_line = layer(
        [{"x": x, "y": _wait(trade, x / 100)} for x in (0.0, most)],
        "line",
        {"x": _X, "y": _Y},
        color=style.RISK,
        strokeWidth=3,
        strokeDash=style.DASHED,
    )
    now_label = label(
        screen.NOW_LINE,
        most,
        now,
        color=style.COST,
        align="right",
        dy=14 if rising else -14,
        fontWeight="bold",
    )
    wait_label = label(
        captions.trade_off_wait_label(w),
        most,
        end,
        color=style.RISK,
        align="right",
        baseline="bottom" if rising else "top",
        dx=-14 if rising else 0,
        dy=-4 if rising else 8,
        fontWeight="bold",
    )
    return [now_line, wait_line, now_label, wait_label]


def _crossing(trade: TradeOff, floor: float, top: float, most: float) -> list[Spec]:
    """A line down from the crossing to the chance at which it lies; nothing without one."""
    if trade.break_even_chance is None:
        return []
    at, now = 100 * trade.break_even_chance, trade.now.value
    drop = layer(
        [{"x": at, "y": floor, "up": now}],
        "rule",
        {"x": _X, "y": _Y, "y2": {"field": "up"}},
        color=style.INK,
        strokeWidth=1.5,
    )
    ring = layer(
        [{"x": at, "y": now}],
        "point",
        {"x": _X, "y": _Y},
        shape="circle",
        size=130,
        filled=False,
        color=style.INK,
        strokeWidth=2,
    )
    align = "left" if at / most < 1 - ROOM else "right"
    text = screen.crossing_label(trade.break_even_chance)
    note = label(text, at, floor + 0.09 * (top - floor), align=align, dx=_nudge(align))
    return [drop, ring, note]


def _engine(trade: TradeOff) -> Spec:
    chance = trade.chance.value
    return layer(
        [{"x": 100 * chance, "y": _wait(trade, chance)}],
        "point",
        {"x": _X, "y": _Y},
        shape="diamond",
        size=220,
        filled=True,
        color=style.INK,
        opacity=1,
    )


def _nudge(align: str) -> float:
    return {"left": 6.0, "right": -6.0}.get(align, 0.0)
