"""Numbers as people write them in tables of their own: "120.000,5", "120 000 km", "1,234"."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from riskmodel.records.inputs import Unit
from riskmodel.records.scalars import UnreadableError
from riskmodel.records.units import ALIASES

Decimal = Literal["point", "comma"]
"""What stands before the decimals; the other one, blanks and apostrophes part thousands."""

EXAMPLES: dict[Decimal, str] = {"point": "120,000.5", "comma": "120.000,5"}
_UNIT = re.compile(r"\s*([^\W\d_]+)\.?$")
_BLANKS = r"\s'’"
_FORMS = {
    decimal: re.compile(
        rf"[+-]?(?:[0-9]+|[0-9]{{1,3}}(?:[{thousands}{_BLANKS}][0-9]{{3}})+)(?:{sign}[0-9]+)?"
        rf"|[+-]?{sign}[0-9]+"
    )
    for decimal, sign, thousands in (("point", r"\.", ","), ("comma", ",", "."))
}
_ONLY_POINT = re.compile(r"\d*\.\d{1,2}$|\d*\.\d{4,}$|\d,\d{3}(,|\.|$)|^0\.\d")
_ONLY_COMMA = re.compile(r"\d*,\d{1,2}$|\d*,\d{4,}$|\d\.\d{3}(\.|,)|^0,\d")
_GROUPED_POINT = re.compile(r"[1-9]\d{0,2}\.\d{3}")


def read_loose_number(text: str, decimal: Decimal, unit: Unit) -> float:
    """The number that a cell states, a unit behind it taken off.

    `unit` is the one that the table is said to be in. Raises UnreadableError with what is
    expected instead: for anything else than a number, and for another unit.
    """
    number = text.strip()
    if match := _UNIT.search(number):
        word = match[1].lower()
        told: Unit | None = "km" if word == "km" else ALIASES.get(word, _SHORT.get(word))
        if told is None:
            raise UnreadableError(f"a number, such as {EXAMPLES[decimal]}")
        if told != unit:
            raise UnreadableError(f"a number in {unit}, as the other rows")
        number = number[: match.start()].strip()
    if not _FORMS[decimal].fullmatch(number):
        raise UnreadableError(f"a number, such as {EXAMPLES[decimal]}")
    thousands = "," if decimal == "point" else "."
    plain = re.sub(rf"[{re.escape(thousands)}{_BLANKS}]", "", number)
    return float(plain.replace(",", "."))


_SHORT: dict[str, Unit] = {"mi": "mi", "h": "h"}


def guessed_decimal(cells: Iterable[str]) -> Decimal:
    """Which decimal sign the numbers of a column speak for.

    "120.000" reads both ways; taken as a hundred and twenty thousand where every number with
    a point is written so.
    """
    point = comma = two_ways = 0
    for cell in cells:
        number = _UNIT.sub("", cell.strip())
        if _GROUPED_POINT.fullmatch(number):
            two_ways += 1
        elif _ONLY_COMMA.search(number):
            comma += 1
        elif _ONLY_POINT.search(number):
            point += 1
    return "comma" if comma + two_ways > point else "point"
