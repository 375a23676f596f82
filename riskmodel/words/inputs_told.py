"""The value of any input in a few words: "2,200 to 3,100 EUR", "3 lines", "not stated"."""

from __future__ import annotations

import re
from collections.abc import Mapping

from riskmodel.records.case import Case
from riskmodel.records.inputs import BY_KEY, Input
from riskmodel.records.quantity import Quantity
from riskmodel.words import data_tables, formats, screen
from riskmodel.words.fields import NOT_STATED, PLAIN, unit_of

NONE = "none"
_ROWS = {"life.records": "part", "oil.samples": "sample", "oil.fleet": "sample"}
_MOST = 4
_KEY = re.compile(
    "|".join(rf"\b{re.escape(key)}\b" for key in sorted(BY_KEY, key=len, reverse=True))
)


def label(key: str) -> str:
    """The plain name of an input."""
    return PLAIN.get(key, BY_KEY[key].label)


def with_labels(text: str) -> str:
    """A message with the plain names of inputs in the place of their keys."""
    return _KEY.sub(lambda match: f"“{label(match[0])}”", text)


def told(key: str, value: object, case: Case) -> str:
    """A value of an input of `case`, or how many rows its table has."""
    entry = BY_KEY[key]
    if key in _ROWS and isinstance(value, int):
        return formats.plural(value, _ROWS[key]) if value else NONE
    if value is None:
        return NOT_STATED
    if entry.kind == "flag":
        return "yes" if value else "no"
    if entry.kind == "date":
        return formats.day(str(value))
    if entry.kind == "choice":
        return screen.CHOICES.get(key, {}).get(str(value), str(value))
    if isinstance(value, Mapping):
        return _shares(value) if entry.kind == "shares" else _traits(value)
    if isinstance(value, tuple):
        return _listed(entry, value, case)
    if isinstance(value, Quantity | int | float):
        return _number(entry, value, case)
    return str(value) or NONE


def _number(entry: Input, value: Quantity | float, case: Case) -> str:
    shares = "share" in entry.kind
    yearly = entry.unit == "per year"
    figures = _figures(value, 100.0 if shares or yearly else 1.0)
    unit = "%" if yearly else unit_of(entry, case)
    return f"{figures}{formats.NBSP}{unit}" if unit else figures


def _figures(value: Quantity | float, scale: float) -> str:
    if isinstance(value, Quantity):
        low, high = (formats.exact(round(scale * x, 6)) for x in (value.low, value.high))
        return low if value.exact else f"{low} to {high}"
    return formats.exact(round(scale * value, 6))


def _shares(value: Mapping[str, float]) -> str:
    parts = [f"{name} {_figures(share, 100.0)} of 100" for name, share in value.items()]
    return _some(parts)


def _traits(value: Mapping[str, float | str]) -> str:
    parts = [
        f"{name.replace('_', ' ')} {held if isinstance(held, str) else formats.exact(held)}"
        for name, held in value.items()
    ]
    return _some(parts)


def _listed(entry: Input, value: tuple[object, ...], case: Case) -> str:
    """The entries of a list by their names, with what each costs."""
    if entry.key == "use.stretches":
        return _many_stretches(len(value))
    names = []
    for each in value:
        name = next(
            (str(getattr(each, at)) for at in ("name", "job", "symbol") if hasattr(each, at)), ""
        )
        amount = getattr(each, "amount", None)
        if isinstance(amount, Quantity):
            name = f"{name} {data_tables.money(amount, case.cost.currency)}"
        names.append(name or str(each))
    return _some(names)


def _many_stretches(many: int) -> str:
    return f"{many} stretch{'' if many == 1 else 'es'}" if many else NONE


def _some(parts: list[str]) -> str:
    if not parts:
        return NONE
    more = len(parts) - _MOST
    return ", ".join(parts[:_MOST]) + (f" and {more} more" if more > 0 else "")
