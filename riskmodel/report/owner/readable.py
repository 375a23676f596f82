"""Names as they can be printed: no signs without a shape, none that turns the line, none too long.

Whatever a case holds, the report stays a report: names are shortened, signs that the report's
font lacks become a mark, and a name written from right to left keeps to its own place.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import replace
from functools import cache

from riskmodel.decision.results import Weighing
from riskmodel.records.case import Case
from riskmodel.report.owner.pictures import font_folder

LONGEST = 60
LONGEST_CURRENCY = 8
MARK = "\ufffd"
BREAK = "\u200b"
"""Where a word too long for a column may be broken."""
_UNBROKEN = re.compile(r"\S{16}(?=\S)")
_ISOLATE, _END = "\u2068", "\u2069"


def readable(weighing: Weighing) -> tuple[Weighing, bool]:
    """The weighing with its names made printable, and whether any was changed."""
    case = _case(weighing.case)
    return replace(weighing, case=case), case != weighing.case


def name(text: str, longest: int = LONGEST) -> str:
    """One name, printable."""
    known = _known()
    spaced = " ".join("".join(_sign(sign) for sign in text[: 20 * longest]).split())
    shown = "".join(sign if ord(sign) in known or sign == " " else MARK for sign in spaced)
    if len(shown) > longest or len(text) > 20 * longest:
        shown = shown[: longest - 1].rstrip() + "…"
    shown = _UNBROKEN.sub(lambda run: run[0] + BREAK, shown)
    if any(unicodedata.bidirectional(sign) in ("R", "AL", "AN") for sign in shown):
        return f"{_ISOLATE}{shown}{_END}"
    return shown


def _sign(sign: str) -> str:
    """Nothing for a sign that only steers, a space for a control; else the sign."""
    kind = unicodedata.category(sign)
    if kind == "Cf" or unicodedata.combining(sign):
        return "" if kind == "Cf" else sign
    return " " if kind in ("Cc", "Zl", "Zp", "Zs") else sign


def _case(case: Case) -> Case:
    machine, part, cost = case.machine, case.part, case.cost
    return replace(
        case,
        machine=replace(machine, name=_named(machine.name)),
        part=replace(
            part,
            name=_named(part.name),
            code=name(part.code),
            lining=name(part.lining),
            traits=_traits(part.traits),
        ),
        cost=replace(
            cost,
            currency=name(cost.currency, LONGEST_CURRENCY),
            while_open=tuple(replace(line, job=_named(line.job)) for line in cost.while_open),
            consequence=tuple(replace(line, name=_named(line.name)) for line in cost.consequence),
        ),
    )


def _named(text: str) -> str:
    return name(text) or MARK


def _traits(traits: Mapping[str, float | str]) -> dict[str, float | str]:
    return {
        name(key): name(value) if isinstance(value, str) else value
        for key, value in list(traits.items())[:20]
    }


@cache
def _known() -> frozenset[int]:
    """The signs that the report's font has."""
    from fontTools.ttLib import TTFont

    with TTFont(str(font_folder() / "DejaVuSans.ttf"), lazy=True) as font:
        return frozenset(font.getBestCmap())
