"""What other engines' samples tell, in words: what is usual, and how to bring such samples in."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from riskmodel.oil.fleet import Fleet, FleetElement, InUse
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.words import formats
from riskmodel.words.oil_names import element, elements

TITLE = "Beside other engines"
LEVELS = "What is usual in other engines"
BRING = "Bring in other engines' samples"
BRING_ABOUT = (
    "A table (CSV) of used-oil samples of other engines of this kind tells what is usual. One row "
    "is one sample. Its columns: engine (any name, the same for each sample of one engine), "
    "reading (the meter) or age (the part's), oil_age (usage on that oil), and one for each metal "
    "in ppm, named by its symbol; date, top_up (litres) and lab may be added. The samples of one "
    "engine stand oldest first; usage is in {unit}."
)
BRING_FILE = "Table of other engines' samples"
BRING_HELP = (
    "It stays with the case: what you save holds it. This engine's own samples are not in it."
)
BRING_FIRST = (
    "This case does not say yet which metals the laboratory measures, so there is nothing to read "
    "from such a table. Fill in a lining first, or add an [[oil.element]] for each metal to the "
    "case file."
)
TELLING = "samples that tell what is usual"
TAKE_OUT = "Take these samples out again"

METAL, FROM = "Metal", "From"
FEW = 5
"""Fewer engines than these say little of how engines differ (judgement)."""
MANY_UNREAD = 0.25
"""From this share on it is said that readings are below what can be told (judgement)."""


def level_sentences(case: Case, fleet: Fleet) -> list[str]:
    """What was learned from, which figures the answer takes, and where the two disagree."""
    found = [
        _how_many(fleet),
        _left_out(case, fleet),
        _taken(fleet),
        _stated(fleet),
        *_at_odds(fleet),
        _few(fleet),
        _unread(fleet),
        _alike(),
    ]
    return [text for text in found if text]


def level_table(case: Case, fleet: Fleet) -> list[dict[str, str]]:
    """One row for each metal: what is usual by the other engines, and what the case states; from
    how many, where that is not the same for all."""
    rows = [
        {
            METAL: formats.sentence(element(held.symbol)),
            "Usual, others": _range(held.usual.typical),
            "Usual, stated": _stated_level(held.use),
            "Scatter, others": f"{_factor(held.usual.scatter)} "
            f"({_ends(*held.usual.scatter_range)})",
            "Scatter, stated": formats.exact(held.use.scatter)
            if held.use.scatter_stated
            else "not stated",
            "Engines differ by": f"{figure(float(np.exp(held.usual.between)))} "
            f"({_range(Quantity(*np.exp(held.usual.between_range).tolist()))})",
            FROM: f"{formats.plural(held.usual.samples, 'sample')}, "
            f"{formats.plural(held.usual.engines, 'engine')}",
        }
        for held in in_order(case, fleet.elements)
    ]
    if len({row[FROM] for row in rows}) > 1 or fleet.left_out:
        return rows
    return [{name: text for name, text in row.items() if name != FROM} for row in rows]


def table_title(case: Case) -> str:
    unit = case.machine.unit
    return f"Usual wear in ppm per 1,000{formats.NBSP}{unit}, by other engines and as stated here"


def table_note() -> str:
    """How to read the figures of the table."""
    return (
        "Usual: between these two the level of another engine lies nine times in ten. Scatter: "
        "about two samples of three lie within this factor of their engine's own level. Engines "
        "differ by: about two engines of three have a level within this factor of the middle one. "
        "In brackets: where each factor lies nine times in ten."
    )


def order(case: Case, fleet: Fleet) -> list[str]:
    """Symbols in the order of the table: the part's own metals first."""
    return [one.symbol for one in in_order(case, fleet.elements)]


def brought(fleet: Fleet) -> str:
    return f"In this case: {_count(fleet)}."


def in_order(case: Case, held: Mapping[str, FleetElement]) -> list[FleetElement]:
    """The part's own metals first."""
    shed = {e.symbol for e in case.oil.element if e.from_part}
    return sorted(held.values(), key=lambda one: one.symbol not in shed)


def _count(fleet: Fleet) -> str:
    engines = formats.plural(fleet.engines, "other engine")
    return f"{formats.plural(fleet.samples, 'sample')} of {engines}"


def _how_many(fleet: Fleet) -> str:
    return (
        f"{_count(fleet)} tell what is usual. Their rates are worked out as if they had this "
        "engine's oil capacity, old oil left after a drain and rounding: one that differs in these "
        "looks as if it wore more or less than it does."
    )


def _left_out(case: Case, fleet: Fleet) -> str:
    many = fleet.left_out
    if not many:
        return ""
    until = formats.usage(case.oil.break_in, case.machine.unit)
    return (
        f"{formats.plural(many, 'sample')} of them {'is' if many == 1 else 'are'} left out: most "
        f"of that oil's life fell within the first {until} of the engine's own meter or part."
    )


def _taken(fleet: Fleet) -> str:
    """What is learned because the case leaves it out."""
    held = fleet.elements.values()
    levels = [one.symbol for one in held if not one.use.typical_stated]
    scatters = [one.symbol for one in held if not one.use.scatter_stated]
    parts = []
    if levels:
        parts.append(f"the usual level of {elements(levels)}")
    if scatters:
        parts.append(f"the scatter of {elements(scatters)}")
    if not parts:
        return ""
    return (
        f"The case does not state {formats.listed(parts)}: what the other engines tell is taken "
        "for it, in the chances and plans as well."
    )


def _stated(fleet: Fleet) -> str:
    uses = [one.use for one in fleet.elements.values()]
    every = all(use.typical_stated and use.scatter_stated for use in uses)
    if not uses or not any(use.typical_stated or use.scatter_stated for use in uses):
        return ""
    text = "The levels and scatters stated in the case are the ones that count"
    if not every:
        text = "What the case does state counts as stated"
    return f"{text}; what the other engines tell stands beside, to compare."


def _at_odds(fleet: Fleet) -> list[str]:
    """Where a figure stated and the one learned do not fit each other."""
    higher: list[str] = []
    lower: list[str] = []
    odd: list[str] = []
    for one in fleet.elements.values():
        stated, learned = one.use.typical, one.usual.typical
        if one.use.typical_stated and not stated.low <= learned.median <= stated.high:
            (higher if learned.median > stated.high else lower).append(one.symbol)
        low, high = one.usual.scatter_range
        if one.use.scatter_stated and not low <= one.use.scatter <= high:
            odd.append(one.symbol)
    found = [
        f"{formats.sentence(elements(symbols))}: the middle of what the other engines show lies "
        f"{where} the range stated. One of the two does not fit this kind of engine."
        for symbols, where in ((higher, "above"), (lower, "below"))
        if symbols
    ]
    if odd:
        found.append(
            f"{formats.sentence(elements(odd))}: the scatter stated lies outside what the other "
            "engines' samples leave open."
        )
    return found


def _few(fleet: Fleet) -> str:
    few = [one.symbol for one in fleet.elements.values() if one.usual.engines < FEW]
    if not few:
        return ""
    return (
        f"For {elements(few)} the engines are fewer than {FEW}: how far engines differ then rests "
        "on a judgement as much as on the samples, and the usual range is wide for that."
    )


def _unread(fleet: Fleet) -> str:
    many = [one for one in fleet.elements.values() if one.unread >= MANY_UNREAD * one.usual.samples]
    if not many:
        return ""
    told = [
        f"{one.unread} of {formats.plural(one.usual.samples, 'sample')} of {element(one.symbol)}"
        for one in many
    ]
    return (
        f"{formats.sentence(formats.listed(told))} show less than the rounding can tell, and count "
        "as half the most that they allow: the level of such a metal is known only roughly."
    )


def _alike() -> str:
    return (
        "Nobody says that the other engines were free of trouble: what is learned of them is "
        "what was usual, trouble included."
    )


def _stated_level(use: InUse) -> str:
    if not use.typical_stated:
        return "not stated"
    low, high = formats.exact(use.typical.low), formats.exact(use.typical.high)
    return low if use.typical.exact else f"{low} to {high}"


def _range(held: Quantity) -> str:
    return f"{figure(held.low)} to {figure(held.high)}"


def _ends(low: float, high: float) -> str:
    return f"{_factor(low)} to {_factor(high)}"


def _factor(value: float) -> str:
    return formats.significant(value, 3 if value < 10 else 2)


def figure(value: float) -> str:
    return formats.significant(value, 2) if value < 10 else formats.number(round(value))
