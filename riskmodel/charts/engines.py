"""A hundred engines as icons, those that fail grouped together."""

from __future__ import annotations

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, layer, number
from riskmodel.decision.results import Interval
from riskmodel.words import captions, formats

FAILS, MAY_FAIL, LASTS = "fails", "may fail", "lasts"
SIZE = 210
_SIDE = 10
_CROSS = {"shape": "cross", "angle": 45, "opacity": 1}


def icon_states(chance: Interval) -> list[str]:
    """What becomes of each of 100 engines, first those that fail: about the chance itself, then
    as many more as its interval reaches, then the rest."""
    failing, reaching = formats.count_of_100(chance.value), formats.outward(chance)[1]
    reaching = max(failing, reaching)
    return [FAILS] * failing + [MAY_FAIL] * (reaching - failing) + [LASTS] * (100 - reaching)


def engines(chance: Interval, when: str) -> Spec:
    """A grid of ten by ten; `when` says by when they fail."""
    states = icon_states(chance)
    layers = [
        layer(_of(FAILS, states), "point", {}, filled=True, size=130, color=style.RISK, **_CROSS),
        layer(
            _of(MAY_FAIL, states),
            "point",
            {},
            filled=False,
            size=110,
            color=style.RISK,
            strokeWidth=1.5,
            **_CROSS,
        ),
        layer(
            _of(LASTS, states),
            "point",
            {},
            shape="circle",
            filled=True,
            size=130,
            color=style.LINE,
            opacity=1,
        ),
    ]
    across = {"domain": [-0.6, _SIDE - 0.4], "nice": False}
    down = {"domain": [_SIDE - 0.4, -0.6], "nice": False}
    spec = style.finished(
        layers,
        height=SIZE,
        description=captions.engines(chance, when),
        encoding={
            "x": number("column", axis=None, scale=across),
            "y": number("row", axis=None, scale=down),
        },
    )
    return {**spec, "width": SIZE}


def _of(state: str, states: list[str]) -> Rows:
    """The places of the engines in one state."""
    return [{"column": i % _SIDE, "row": i // _SIDE} for i, s in enumerate(states) if s == state]
