"""Common linings of plain bearings, the metals they shed, and values to start an element from.

A lining without lead makes lead no evidence. The soft overlay wears first, so its metals speak
early; those of the lining under it speak late, once the overlay is through. Nearly every metal
has other sources too: copper from bushes and the oil cooler, aluminium from the pistons.

Alloys by their general names and SAE J460 numbers. The usual rates are judgements, wide because
nobody has published them for engines at large: replace them by what other engines of the kind
show (`riskmodel.oil.usual`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from riskmodel.oil.alarm import shed
from riskmodel.records.case import Element
from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Quantity

JUDGEMENT = "judgement"

NAMES = {
    "Pb": "lead",
    "Cu": "copper",
    "Sn": "tin",
    "Al": "aluminium",
    "Bi": "bismuth",
    "Ag": "silver",
    "Sb": "antimony",
}

PER_KM: dict[Unit, float] = {"km": 1.0, "mi": 1.609344, "h": 60.0}
"""Kilometres in a unit of usage; 60 km to an engine hour is a judgement."""


@dataclass(frozen=True, slots=True)
class Shed:
    """A metal that a lining sheds: from which layer, and the values to start from.

    `typical` is in ppm per 1,000 km, central 90 % between engines; `rise` how many times the
    usual rate is reached at failure. Both, and the scatter, are judgements.
    """

    symbol: str
    layer: Literal["overlay", "lining"]
    typical: tuple[float, float]
    rise: tuple[float, float]
    source: str = JUDGEMENT


@dataclass(frozen=True, slots=True)
class Lining:
    """One kind of lining. `words` are those that name it in a note; `sheds` are its metals that
    a laboratory can tell from the rest, `traces` those it has too little of."""

    name: str
    words: tuple[frozenset[str], ...]
    sheds: tuple[Shed, ...]
    traces: tuple[str, ...]
    source: str
    remark: str = ""

    @property
    def metals(self) -> frozenset[str]:
        """Symbols of all it contains."""
        return frozenset(metal.symbol for metal in self.sheds) | frozenset(self.traces)


SCATTER = 1.4
"""One fill about the engine's own level (judgement)."""

_LEAD = Shed("Pb", "overlay", (0.10, 1.2), (3, 20))
_TIN = Shed("Sn", "overlay", (0.05, 0.5), (2, 10))
_COPPER = Shed("Cu", "lining", (0.15, 1.5), (2, 10))
_ALUMINIUM = Shed("Al", "lining", (0.20, 1.5), (1.5, 6))
_TIN_BELOW = Shed("Sn", "lining", (0.03, 0.4), (2, 10))
_BISMUTH = Shed("Bi", "overlay", (0.03, 0.6), (3, 20))
_ANTIMONY = Shed("Sb", "overlay", (0.03, 0.4), (2, 10))

_COATING = (
    "The coating is a resin with graphite and molybdenum disulphide: nothing in it can be told "
    "in the oil, so the first warning is missing and the metal below it speaks late."
)
_PISTONS = "Most aluminium in the oil is from the pistons, so a rise of it says less."


def _words(*ways: str) -> tuple[frozenset[str], ...]:
    return tuple(frozenset(way.split()) for way in ways)


LININGS: tuple[Lining, ...] = (
    Lining(
        "copper-lead with lead-tin overlay",
        _words("copper lead", "leaded bronze", "lead bronze", "lead indium"),
        (_LEAD, _TIN, _COPPER),
        (),
        "lining SAE 49 or 794: 21 to 27 % lead, about 2 % tin, the rest copper (an alloy table "
        "of the trade); overlay about 10 % tin in lead (from memory)",
    ),
    Lining(
        "aluminium-tin",
        _words("aluminium tin"),
        (_ALUMINIUM, _TIN_BELOW),
        ("Cu",),
        "SAE 783: 17.5 to 22.5 % tin, about 1 % copper (an alloy table of the trade)",
        _PISTONS,
    ),
    Lining(
        "aluminium-tin-silicon",
        _words("aluminium silicon", "aluminium tin silicon"),
        (_ALUMINIUM, _TIN_BELOW),
        ("Si", "Cu", "Pb"),
        "6 to 10 % tin and 3 to 4 % silicon; older kinds 1.5 to 2 % lead as well (SAE papers of "
        "1995 and 2005 on such alloys)",
        _PISTONS + " Silicon in the oil is dust or sealant before it is lining.",
    ),
    Lining(
        "lead-free bronze with bismuth overlay",
        _words("bismuth", "bronze leadfree", "copper tin bismuth"),
        (_BISMUTH, _COPPER, Shed("Sn", "lining", (0.03, 0.3), (2, 10))),
        ("Ag",),
        "copper, tin and bismuth under a bismuth or bismuth and silver overlay "
        "(AutoTechnology 6, 2006, 60-63)",
        "Few laboratories report bismuth unless asked: ask for it.",
    ),
    Lining(
        "aluminium-tin under a polymer coating",
        _words("polymer aluminium", "coated aluminium", "polymer aluminium tin"),
        (_ALUMINIUM, _TIN_BELOW),
        ("Cu", "Si", "Mo"),
        "polyamide-imide with graphite and molybdenum disulphide (research on such overlays); "
        "lining as aluminium-tin",
        _COATING + " " + _PISTONS,
    ),
    Lining(
        "lead-free bronze under a polymer coating",
        _words("polymer bronze", "polymer copper", "coated bronze", "polymer bronze leadfree"),
        (_COPPER, Shed("Sn", "lining", (0.03, 0.3), (2, 10))),
        ("Bi", "Mo"),
        "polyamide-imide with graphite and molybdenum disulphide (research on such overlays); "
        "lining copper and tin (from memory)",
        _COATING,
    ),
    Lining(
        "bronze with sputtered aluminium-tin overlay",
        _words("sputter", "sputtered", "sputtered bronze aluminium tin"),
        (Shed("Al", "overlay", (0.20, 1.5), (1.5, 6)), _TIN, _COPPER),
        ("Pb",),
        "aluminium with about 20 % tin on bronze, with lead in older kinds (from memory)",
        _PISTONS,
    ),
    Lining(
        "tin-based white metal",
        _words("white metal tin", "white metal"),
        (Shed("Sn", "overlay", (0.10, 1.0), (3, 20)), _ANTIMONY),
        ("Cu", "Pb"),
        "SAE 12: 6.5 to 7.5 % antimony, 2.5 to 3.5 % copper, at most 0.35 % lead, the rest tin "
        "(an alloy table of the trade)",
    ),
    Lining(
        "lead-based white metal",
        _words("white metal lead"),
        (_LEAD, _ANTIMONY, _TIN),
        ("Cu",),
        "SAE 14 and 15: 13 to 15.5 % antimony, 1 to 10 % tin, at most 1 % copper, the rest lead "
        "(an alloy table of the trade)",
    ),
)


def lining_of(text: str) -> Lining | None:
    """The lining that a note in plain words means; None where none or more than one fits."""
    plain = text.lower().replace("aluminum", "aluminium").replace("babbitt", "white metal")
    plain = re.sub(r"\b(lead[\s-]*free|without lead|no lead|unleaded)\b", "leadfree", plain)
    said = set(re.findall(r"[a-z]+", plain))
    fits = [
        (len(way), lining)
        for lining in LININGS
        for way in lining.words
        if way <= said and not ("leadfree" in said and _holds_lead(lining))
    ]
    if not fits:
        return None
    most = max(length for length, _ in fits)
    best = {lining.name: lining for length, lining in fits if length == most}
    return next(iter(best.values())) if len(best) == 1 else None


def precision(symbol: str, ppm: float) -> tuple[float, float] | None:
    """Standard deviation [ppm] of repeated readings in one laboratory, and between laboratories.

    The limits r and R of ASTM D5185, by its power laws from memory, over 2.77. Those of copper
    and lead agree with figures published for 10 ppm. Below some 10 ppm (copper and iron: 2) they
    reach beyond the range that the standard was tried in. None for other metals.
    """
    if symbol not in _D5185:
        return None
    a, b, c, d = _D5185[symbol]
    return a * ppm**b / 2.77, c * ppm**d / 2.77


_D5185 = {
    "Pb": (1.6, 0.32, 3.0, 0.36),
    "Cu": (0.12, 0.91, 0.24, 1.0),
    "Sn": (2.4, 0.17, 2.1, 0.62),
    "Fe": (0.13, 0.80, 0.52, 0.80),
    "Al": (0.71, 0.41, 3.8, 0.26),
}

USUAL_READING = 5.0
"""The reading [ppm] at which the noise to start from is taken (judgement)."""
OTHER_NOISE = 1.0
"""For metals whose precision is not at hand [ppm] (judgement)."""


def starting_noise(symbol: str) -> float:
    """One standard deviation [ppm] between samples of different days sent to one laboratory:
    between its repeatability and that among laboratories, their geometric mean (judgement)."""
    known = precision(symbol, USUAL_READING)
    return OTHER_NOISE if known is None else round((known[0] * known[1]) ** 0.5, 1)


def starting_elements(lining: Lining, unit: Unit) -> tuple[Element, ...]:
    """What the lining sheds, as elements of a case whose usage is in `unit`."""
    return tuple(
        Element(
            symbol=metal.symbol,
            typical=Quantity(
                round(metal.typical[0] * PER_KM[unit], 3), round(metal.typical[1] * PER_KM[unit], 3)
            ),
            scatter=SCATTER,
            rise=Quantity(*metal.rise),
            noise=starting_noise(metal.symbol),
            from_part=True,
        )
        for metal in lining.sheds
    )


def starting_rows(
    lining: Lining, unit: Unit, held: Sequence[Mapping[str, Any]] = ()
) -> list[dict[str, Any]]:
    """The same as a case file states them, before the rows of elements `held` already; of a
    metal in both the lining's counts."""
    new: list[dict[str, Any]] = [
        {
            "symbol": element.symbol,
            "typical": [element.typical.low, element.typical.high],
            "scatter": element.scatter,
            "rise": [element.rise.low, element.rise.high],
            "noise": element.noise,
            "from_part": True,
        }
        for element in starting_elements(lining, unit)
    ]
    symbols = {row["symbol"] for row in new}
    return [*new, *(dict(row) for row in held if row["symbol"] not in symbols)]


def not_in(lining: Lining, elements: Sequence[Element]) -> tuple[str, ...]:
    """Symbols marked as shed by the part that its lining does not contain."""
    return tuple(e.symbol for e in shed(elements) if e.symbol not in lining.metals)


def note(lining: Lining | None, elements: Sequence[Element]) -> tuple[str, ...]:
    """Sentences on how the elements marked as the part's agree with its lining."""
    marked = [element.symbol for element in shed(elements)]
    if lining is None:
        if not marked:
            return ()
        return (
            f"What the shells are lined with is not known here, so that {_listed(marked)} "
            f"{'comes' if len(marked) == 1 else 'come'} from them is an assumption: ask for the "
            "bearing's code and what it is lined with.",
        )
    said = [
        f"{_named(symbol).capitalize()} ({symbol}) is marked as shed by the part, but "
        f"{lining.name} does not contain it: it is no evidence on this part."
        for symbol in not_in(lining, elements)
    ]
    said += [
        f"There is only a little {_named(symbol)} ({symbol}) in {lining.name}: most of it in the "
        "oil comes from elsewhere."
        for symbol in marked
        if symbol in lining.traces
    ]
    missing = [metal.symbol for metal in lining.sheds if metal.symbol not in marked]
    if missing:
        said.append(
            f"{lining.name.capitalize()} sheds {_listed(missing)} as well, not among the elements "
            "that count here: see whether the laboratory can report it."
        )
    if lining.remark:
        said.append(lining.remark)
    return tuple(said)


def _holds_lead(lining: Lining) -> bool:
    return any(metal.symbol == "Pb" for metal in lining.sheds)


def _named(symbol: str) -> str:
    return NAMES.get(symbol, symbol)


def _listed(symbols: Sequence[str]) -> str:
    names = [_named(symbol) for symbol in symbols]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
