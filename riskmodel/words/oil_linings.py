"""Linings of plain bearings in words: what each sheds, and values to start an element from."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.oil.linings import (
    LININGS,
    SCATTER,
    Lining,
    Shed,
    precision,
    starting_elements,
)
from riskmodel.records.inputs import Unit
from riskmodel.words import formats
from riskmodel.words.oil_names import element, elements

TITLE = "Which metals does the part shed?"
ABOUT = (
    "This case names no metal that the part sheds, so oil samples can say nothing about it, and "
    "the plans count on none. If you know what the shells are lined with (the bearing's code and "
    "its maker's catalogue tell), values to start from can be filled in here. With them samples "
    "count as evidence, and the plans take one at every oil change unless the case says otherwise."
)
CHOOSE = "Lining of the shells"
CHOOSE_NONE = "choose one"
FILL_IN = "Fill in these metals"
ALL = "Linings, and the metals they shed"
ALL_ABOUT = (
    "The soft overlay wears first, so its metals speak early; those of the lining under it speak "
    "late. Alloys by their general names; where each figure is from stands beside it."
)
STARTING = (
    "Values to start from, each with where it is from. The usual rates are judgements, and wide: "
    "nobody has published them for engines at large. What other engines of the kind show is "
    "better, where you have it."
)
TAKE_OUT = "Take these metals out again"
_JUDGEMENT = "judgement"


def filled(lining: str) -> str:
    """That the metals of a lining were filled in."""
    return (
        f"The metals of {lining} were filled in with values to start from, judgements for the most "
        "part; what is saved holds them."
    )


def lead_sentence(lining: Lining) -> str:
    """Why lead is no evidence, or hardly any; "" where the lining sheds it."""
    if any(metal.symbol == "Pb" for metal in lining.sheds):
        return ""
    if "Pb" in lining.traces:
        return (
            f"Lead (Pb) is not among them: {lining.name} holds only a little of it, or none in "
            "newer kinds, so most lead in the oil comes from elsewhere. It is no evidence on the "
            "part here."
        )
    return (
        f"Lead (Pb) is not among them: {lining.name} contains none, so lead in the oil comes from "
        "elsewhere, such as other bearings and bushes or solder. It is no evidence on the part."
    )


def remarks(lining: Lining) -> list[str]:
    """What to bear in mind of one lining."""
    return [text for text in (lead_sentence(lining), lining.remark) if text]


def replaced_sentence(lining: Lining, held: Sequence[str]) -> str:
    """Which metals that the case names already take the lining's values; "" for none."""
    both = [metal.symbol for metal in lining.sheds if metal.symbol in held]
    if not both:
        return ""
    one = len(both) == 1
    return (
        f"{formats.sentence(elements(both))} {'stands' if one else 'stand'} in the case already, "
        f"as not shed by the part: {'it takes' if one else 'they take'} the values above."
    )


def starting_table(lining: Lining, unit: Unit) -> list[dict[str, str]]:
    """One row for each metal; every figure with its source."""
    rows = []
    for metal, made in zip(lining.sheds, starting_elements(lining, unit), strict=True):
        usual = f"{formats.exact(made.typical.low)} to {formats.exact(made.typical.high)}"
        rise = f"{formats.exact(made.rise.low)} to {formats.exact(made.rise.high)}"
        rows.append(
            {
                "Metal": formats.sentence(element(metal.symbol)),
                "Out of the": metal.layer,
                f"Usual, ppm per 1,000{formats.NBSP}{unit}": _with(
                    usual, _rate_source(metal, unit)
                ),
                "Scatter": _with(formats.exact(SCATTER), _JUDGEMENT),
                "At failure, times the usual": _with(rise, metal.source),
                "Laboratory noise, ppm": _with(
                    formats.exact(made.noise), _noise_source(metal.symbol)
                ),
            }
        )
    return rows


def lining_table() -> list[dict[str, str]]:
    """Every lining: what its layers shed, and where that is from."""
    return [
        {
            "Lining": formats.sentence(lining.name),
            "Overlay sheds": _layer(lining, "overlay"),
            "Lining sheds": _layer(lining, "lining"),
            "Only traces of": elements(lining.traces) if lining.traces else "none",
            "Source": lining.source,
        }
        for lining in LININGS
    ]


def _layer(lining: Lining, layer: str) -> str:
    symbols = [metal.symbol for metal in lining.sheds if metal.layer == layer]
    return elements(symbols) if symbols else "nothing that can be told"


def _rate_source(metal: Shed, unit: Unit) -> str:
    return f"{metal.source}, at 60 km an hour" if unit == "h" else metal.source


def _noise_source(symbol: str) -> str:
    if precision(symbol, 1.0) is None:
        return _JUDGEMENT
    return f"{_JUDGEMENT}, between two limits of ASTM D5185 from memory"


def _with(figure: str, source: str) -> str:
    return f"{figure} ({source})"
