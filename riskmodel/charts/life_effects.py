"""How much longer or shorter parts last, by what the records' columns say of them."""

from __future__ import annotations

import math

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, layer, name, number
from riskmodel.life.covariates import Term
from riskmodel.records.case import Case
from riskmodel.risk.learned import Learned
from riskmodel.words import captions, screen
from riskmodel.words.learned_effects import factor_range, factor_text, is_told, told_factor

ROW_HEIGHT, HEAD = 52, 138
NARROWEST, WIDEST = 2.0, 8.0
"""The axis reaches at least to the first factor either way and at most to the second."""
MARKS = (1 / 8, 1 / 4, 1 / 2, 3 / 4, 1, 1.5, 2, 4, 8)
_X, _DOWN = number("x"), name("row")


def effects(case: Case, learnt: Learned) -> Spec | None:
    """One row per level: the factor on life and its interval; None where there is none.

    An interval that goes on beyond the axis, or has no end, ends in an arrow.
    """
    terms = shown_terms(learnt)
    if not terms:
        return None
    reach = _reach(terms)
    axis = (1 / reach, reach)
    names = [screen.effect_row(term) for term in terms]
    bars, dots, arrows, texts = Rows(), Rows(), Rows(), Rows()
    ranges: list[Spec] = []
    for term, row in zip(terms, names, strict=True):
        factor = told_factor(term)
        low, high = factor.low or 0.0, factor.high or math.inf
        left, right = (min(max(end, axis[0]), axis[1]) for end in (low, high))
        bars.append({"row": row, "x": left, "end": right})
        arrows += [{"row": row, "x": axis[0], "angle": -90}] if low < axis[0] else []
        arrows += [{"row": row, "x": axis[1], "angle": 90}] if high > axis[1] else []
        guess = factor.estimate
        if guess is None:
            side = "right" if high > axis[1] else "left"
            place = {"row": row, "x": axis[1] if side == "right" else axis[0]}
            ranges.append(_written([{**place, "text": factor_range(factor)}], side))
        else:
            at = min(max(guess, axis[0]), axis[1])
            texts.append({"row": row, "x": at, "text": factor_text(guess)})
            dots += [{"row": row, "x": guess}] if at == guess else []
    across = {"x": _X, "y": {"value": 0}, "y2": {"value": "height"}}
    layers = [
        layer([{"x": 1.0}], "rule", across, color=style.INK, strokeWidth=1, strokeDash=[2, 3]),
        layer(
            bars,
            "rule",
            {"x": _X, "x2": {"field": "end"}, "y": _DOWN},
            color=style.LINE,
            strokeWidth=9,
        ),
        layer(
            arrows,
            "point",
            {"x": _X, "y": _DOWN, "angle": number("angle", scale=None)},
            shape="triangle",
            size=110,
            filled=True,
            color=style.QUIET,
            opacity=1,
        ),
        layer(
            dots,
            "point",
            {"x": _X, "y": _DOWN},
            shape="diamond",
            size=130,
            filled=True,
            color=style.INK,
            opacity=1,
        ),
        _written(texts, "center"),
        *ranges,
    ]
    marks = [mark for mark in MARKS if axis[0] <= mark <= axis[1]]
    return style.finished(
        layers,
        height=HEAD + ROW_HEIGHT * len(terms),
        description=captions.effects(case, learnt),
        encoding={
            "x": number(
                "x",
                scale={"type": "log", "domain": list(axis), "nice": False},
                axis={
                    "title": screen.EFFECT_AXIS,
                    "values": marks,
                    "format": ".2~g",
                    "grid": False,
                },
            ),
            "y": name(
                "row",
                sort=names,
                axis={
                    "title": None,
                    "domain": False,
                    "ticks": False,
                    "labelExpr": "split(datum.label, '\\n')",
                    "labelLimit": 150,
                },
            ),
        },
        title=screen.EFFECT_TITLE,
        subtitle=screen.EFFECT_KEY,
    )


def _written(rows: Rows, align: str) -> Spec:
    """Figures above their bars."""
    return layer(
        rows,
        "text",
        {"x": _X, "y": _DOWN, "text": name("text")},
        align=align,
        baseline="bottom",
        dy=-9,
        fontWeight="bold",
    )


def shown_terms(learnt: Learned) -> list[Term]:
    """The effects that the records say anything of."""
    fit = None if learnt.effects is None else learnt.effects.fit
    if fit is None:
        return []
    return [term for term in fit.terms if is_told(term)]


def _reach(terms: list[Term]) -> float:
    """How far the axis goes either way: to the ends of all intervals, within reason."""
    ends = [
        abs(math.log(end))
        for term in terms
        for end in (told_factor(term).low, told_factor(term).high)
        if end is not None
    ]
    widest = math.exp(min(max(ends, default=0.0), math.log(WIDEST)))
    return min(max(NARROWEST, 1.08 * widest), WIDEST)
