"""Wear rates of one metal over the part's age, against the engine's own usual level.

One small chart for each metal, all alike. The part's own are in full colour; those of no evidence
on the part are grey. A sample that does not count is hollow.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, label, layer, number
from riskmodel.oil.fleet import Drawn
from riskmodel.oil.limits import OwnLimit
from riskmodel.oil.mass_balance import SampleRates
from riskmodel.records.case import Case
from riskmodel.words import captions, formats, oil_fleet_limits, screen
from riskmodel.words.oil_names import element

HEIGHT = 230
SIZE = 75
MOST_NAMED = 5
"""More samples above their limit than these are not each named."""
RIGHT = 0.7
"""From this share of the age on a word stands to the left of its sample."""
NEAR = 0.1
"""Share of the height within which two words beside each other would overlap."""
END = 1.02
ROOM = 1.16
"""Room above the limits for their name."""
FAR = 2.5
"""A limit by other engines more times above all else than this would flatten the samples."""
DOTS = [0.1, 5]
"""With round ends: dots, which no other line here is made of."""
_X, _Y = number("x"), number("y")


def symbols(case: Case, rows: Sequence[SampleRates]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The metals measured: those of the part, and the others."""
    measured = {symbol for row in rows for symbol in row.rates}
    held = [e for e in case.oil.element if e.symbol in measured]
    own = tuple(e.symbol for e in held if e.from_part)
    return own, tuple(e.symbol for e in held if not e.from_part)


def oil_rates(
    case: Case,
    rows: Sequence[SampleRates],
    limit: OwnLimit | None,
    symbol: str,
    others: Sequence[Drawn] = (),
) -> Spec | None:
    """The chart of one metal; None where it was never measured. `others` are limits that other
    engines' samples set."""
    told = [row for row in rows if symbol in row.rates]
    if not told:
        return None
    own = any(e.from_part for e in case.oil.element if e.symbol == symbol)
    color = style.RISK if own else style.QUIET
    start = max(min(row.age - row.oil_age for row in rows), 0.0)
    start = 0.0 if start < case.age / 4 else start
    others = near(others, told, limit, symbol)
    top = _top(told, limit, symbol, others)
    age_axis = {"title": screen.age_axis(case), "format": ",.0f", "tickCount": 4, "grid": False}
    return style.finished(
        [
            *_others(others, END * case.age, start),
            *_limit(
                rows,
                limit,
                (start, END * case.age),
                _name(rows, limit, symbol, case.age, top),
                bool(others),
            ),
            _fills(told, symbol, color),
            _ends(told, symbol, color),
            *_points(told, symbol, color),
            *_above(rows, limit, symbol, case.age),
        ],
        height=HEIGHT,
        description=captions.oil_rates_of(case, symbol, told, limit)
        + oil_fleet_limits.described(others),
        encoding={
            "x": number(
                "x", scale={"domain": [start, END * case.age], "nice": False}, axis=age_axis
            ),
            "y": number(
                "y",
                scale={"domain": [0, top], "nice": False},
                axis={"title": None, "tickCount": 4},
            ),
        },
        title=formats.sentence(element(symbol)),
        subtitle=[
            screen.OIL_FROM_PART if own else screen.OIL_NOT_FROM_PART,
            screen.rate_unit(case),
            *([oil_fleet_limits.key(others)] if others else []),
        ],
    )


def near(
    others: Sequence[Drawn], rows: Sequence[SampleRates], limit: OwnLimit | None, symbol: str
) -> tuple[Drawn, ...]:
    """The first and the last of the limits by other engines, as far as they leave this engine's
    samples room."""
    told = [row for row in rows if symbol in row.rates]
    if not told:
        return ()
    most = FAR * _highest(told, limit, symbol)
    return tuple(one for one in (*others[:1], *others[1:][-1:]) if one.limit <= most)


def _highest(rows: Sequence[SampleRates], limit: OwnLimit | None, symbol: str) -> float:
    ends = [row.rates[symbol].high for row in rows]
    if limit is not None:
        ends += [limit.limit, *limit.against[np.isfinite(limit.against)].tolist()]
    return max(ends)


def _top(
    rows: Sequence[SampleRates], limit: OwnLimit | None, symbol: str, others: Sequence[Drawn]
) -> float:
    ends = [_highest(rows, limit, symbol), *(one.limit for one in others)]
    return (1.0 if limit is None and not others else ROOM) * 1.08 * max(ends)


def _others(others: Sequence[Drawn], end: float, start: float) -> list[Spec]:
    """Limits by other engines: dotted, over the whole width; the subtitle names them."""
    if not others:
        return []
    parts: Rows = [{"x": start, "to": end, "y": one.limit} for one in others]
    return [
        layer(
            parts,
            "rule",
            {"x": _X, "x2": {"field": "to"}, "y": _Y},
            color=style.QUIET,
            strokeWidth=2,
            strokeDash=DOTS,
            strokeCap="round",
        )
    ]


def _name(
    rows: Sequence[SampleRates], limit: OwnLimit | None, symbol: str, today: float, top: float
) -> tuple[str, float]:
    """Where the limit's name stands, its alignment and pixels down: on the right; on the left, or
    higher up, where the word beside a sample would be written over it."""
    if limit is None:
        return "right", -10
    level = max([limit.limit, *limit.against[np.isfinite(limit.against)].tolist()])
    beside = [
        rows[i].age > RIGHT * today
        for i in limit.above[:MOST_NAMED]
        if abs(rows[i].rates[symbol].point - level) < NEAR * top
    ]
    if not any(beside):
        return "right", -24 if beside else -10
    return ("left", -10) if all(beside) else ("right", -24)


def _limit(
    rows: Sequence[SampleRates],
    limit: OwnLimit | None,
    ends: tuple[float, float],
    name: tuple[str, float],
    halo: bool,
) -> list[Spec]:
    """The limit that each sample was held against, over the life of its oil, with its `name`; with
    a white `halo` where another line may run behind that."""
    if limit is None:
        return []
    start, today = ends
    parts: Rows = [
        {"x": max(row.age - row.oil_age, start), "to": row.age, "y": float(against)}
        for row, against in zip(rows, limit.against, strict=True)
        if np.isfinite(against)
    ]
    if rows[-1].age < today:
        parts.append({"x": rows[-1].age, "to": today, "y": limit.limit})
    if not parts:
        return []
    dashes = layer(
        parts,
        "rule",
        {"x": _X, "x2": {"field": "to"}, "y": _Y},
        color=style.INK,
        strokeWidth=1.5,
        strokeDash=[4, 3],
    )
    highest = max(float(part["y"]) for part in parts)
    named: Spec = {"align": name[0], "dx": 4 if name[0] == "left" else 0, "dy": name[1]}
    at = today if name[0] == "right" else start
    paper = {"stroke": style.PAPER, "strokeWidth": 4, "opacity": 0.9}
    behind = [label(screen.OIL_LIMIT, at, highest, **named, **paper)] if halo else []
    return [dashes, *behind, label(screen.OIL_LIMIT, at, highest, **named)]


def _above(
    rows: Sequence[SampleRates], limit: OwnLimit | None, symbol: str, today: float
) -> list[Spec]:
    """A word beside each sample above its limit: colour alone would not tell."""
    if limit is None:
        return []
    return [
        label(
            screen.OIL_ABOVE,
            rows[i].age,
            rows[i].rates[symbol].point,
            align="right" if rows[i].age > RIGHT * today else "left",
            dx=-7 if rows[i].age > RIGHT * today else 7,
            dy=-10,
        )
        for i in limit.above[:MOST_NAMED]
    ]


def _fills(rows: Sequence[SampleRates], symbol: str, color: str) -> Spec:
    """The oil's life that a rate speaks of, as a level line."""
    parts: Rows = [
        {"x": max(row.age - row.oil_age, 0.0), "to": row.age, "y": max(_point(row, symbol), 0.0)}
        for row in rows
    ]
    ends = {"x": _X, "x2": {"field": "to"}, "y": _Y}
    return layer(parts, "rule", ends, color=color, strokeWidth=1, opacity=0.7)


def _ends(rows: Sequence[SampleRates], symbol: str, color: str) -> Spec:
    """What the laboratory would have rounded to the same reading."""
    parts: Rows = [
        {"x": row.age, "y": row.rates[symbol].low, "to": row.rates[symbol].high} for row in rows
    ]
    return layer(parts, "rule", {"x": _X, "y": _Y, "y2": {"field": "to"}}, color=color)


def _points(rows: Sequence[SampleRates], symbol: str, color: str) -> list[Spec]:
    def at(used: bool) -> Rows:
        return [
            {"x": row.age, "y": max(_point(row, symbol), 0.0)} for row in rows if row.used is used
        ]

    channels, look = {"x": _X, "y": _Y}, {"shape": "circle", "size": SIZE, "opacity": 1}
    full = layer(at(True), "point", channels, filled=True, color=color, **look)
    hollow = layer(
        at(False),
        "point",
        channels,
        filled=True,
        fill=style.PAPER,
        stroke=color,
        strokeWidth=2,
        **look,
    )
    return [full, hollow]


def _point(row: SampleRates, symbol: str) -> float:
    return row.rates[symbol].point
