"""Guesses which column of a laboratory's table is what; the person may put it right."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from riskmodel.records.log.lab_entries import DateOrder, LabColumns
from riskmodel.records.log.state import LogState
from riskmodel.records.loose_cells import Decimal, guessed_decimal
from riskmodel.records.loose_guess import _holds, _plain
from riskmodel.records.loose_text import LooseTable

_HEADINGS: Mapping[str, tuple[str, ...]] = {
    "oil_age": ("oil age", "oil hour", "hours on oil", "km on oil", "miles on oil", "oil mileage",
                "oil usage", "since oil change", "since change", "oil life", "on oil", "oil km",
                "oil mile", "oil time"),
    "top_up": ("top up", "topped up", "top ups", "make up oil", "oil added", "added"),
    "bottle": ("bottle", "sample number", "sample no", "sample id", "lab number", "lab no",
               "barcode"),
    "age": ("part age", "component age", "part hour", "part km"),
    "date": ("date drawn", "drawn", "sampled", "sample date", "date taken", "taken", "date"),
    "machine": ("machine", "engine", "unit number", "unit no", "unit id", "fleet number",
                "vehicle", "asset", "equipment", "unit"),
    "reading": ("reading", "odometer", "meter", "mileage", "kilometrage", "machine hour",
                "engine hour", "total hour", "running hour", "km", "mile", "hour", "usage"),
}  # fmt: skip
"""Words of headings; the narrower meanings first."""
_ELEMENTS: Mapping[str, tuple[str, ...]] = {
    "Fe": ("iron",), "Cu": ("copper",), "Pb": ("lead",), "Sn": ("tin",),
    "Al": ("aluminium", "aluminum"), "Cr": ("chromium",), "Ni": ("nickel",), "Ag": ("silver",),
    "Si": ("silicon",), "Na": ("sodium",), "K": ("potassium",), "Ti": ("titanium",),
    "Mn": ("manganese",), "Mo": ("molybdenum",), "Sb": ("antimony",), "Cd": ("cadmium",),
    "V": ("vanadium",), "B": ("boron",), "Ba": ("barium",), "Ca": ("calcium",),
    "Mg": ("magnesium",), "P": ("phosphorus",), "Zn": ("zinc",),
}  # fmt: skip
DATE = re.compile(r"(\d{1,4})[-./](\d{1,2})[-./](\d{1,4})(?:[T ].*)?")
"""A day as day, month and year in some order."""


def guessed(
    loose: LooseTable, laboratory: str, state: LogState, known: LabColumns | None = None
) -> LabColumns:
    """What each column seems to be. What was remembered of the laboratory goes first, where the
    table has those headings."""
    headings = loose.headings
    plain_of = {heading: _plain(heading) for heading in headings}
    columns = {} if known is None else _present(known.columns, headings)
    elements = {} if known is None else _present(known.elements, headings)
    taken = {*columns.values(), *elements.values()}
    symbols = dict.fromkeys([*_declared(state), *_ELEMENTS])
    for symbol in symbols:
        if symbol in elements:
            continue
        names = (symbol.lower(), *_ELEMENTS.get(symbol, ()))
        hit = next((h for h in headings if h not in taken and _names(h, plain_of[h], names)), None)
        if hit is not None:
            elements[symbol] = hit
            taken.add(hit)
    for name, wanted in _HEADINGS.items():
        if name in columns or (name == "age" and "reading" in columns):
            continue
        for words in wanted:
            free = [h for h in headings if h not in taken and _holds(plain_of[h], words)]
            if free:
                columns[name] = free[0]
                taken.add(free[0])
                break
    if "age" in columns and "reading" in columns:
        del columns["age"]
    dates: DateOrder = "ymd" if known is None else known.dates
    if known is None and "date" in columns:
        dates = _guessed_order(loose.column(columns["date"]))
    numbers = [*elements.values(), *(columns[n] for n in ("reading", "oil_age") if n in columns)]
    decimal: Decimal = "point" if known is None else known.decimal
    if known is None:
        decimal = guessed_decimal(cell for heading in numbers for cell in loose.column(heading))
    machines = {} if known is None else dict(known.machines)
    return LabColumns(laboratory, columns, elements, machines, dates, decimal)


def _present(columns: Mapping[str, str], headings: Sequence[str]) -> dict[str, str]:
    return {name: heading for name, heading in columns.items() if heading in headings}


def _declared(state: LogState) -> list[str]:
    """The elements that the machines' cases name."""
    return [
        str(row.get("symbol", ""))
        for machine in state.machines.values()
        for row in machine.contents.get("oil", {}).get("element", [])
    ]


def _names(heading: str, plain_heading: str, names: Sequence[str]) -> bool:
    """Whether a heading is an element's: "Fe", "Fe ppm", "Iron (Fe)", but not "lead time"."""
    words = [w for w in plain_heading.split() if w not in ("ppm", "mg", "kg", "content")]
    return bool(words) and all(word in names for word in words)


def _guessed_order(cells: Sequence[str]) -> DateOrder:
    found = [DATE.fullmatch(cell.strip()) for cell in cells]
    parts = [(int(m[1]), int(m[2]), m[1]) for m in found if m is not None]
    if any(len(first) == 4 for *_, first in parts):
        return "ymd"
    if any(b > 12 for _, b, _ in parts):
        return "mdy"
    return "dmy" if parts else "ymd"
