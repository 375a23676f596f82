"""One value of case.toml checked against its row in the table of inputs.

Each kind of input has one function here. It gets the raw value and a `Note` to tell what is
wrong, and returns the value as the case holds it, or None where it is not usable.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from riskmodel.records.errors import Problem, did_you_mean, one_of, plain, shown
from riskmodel.records.inputs import CEILING, Input, Kind
from riskmodel.records.quantity import Quantity
from riskmodel.records.scalars import (
    TRAIT_NAME,
    UnreadableError,
    read_date,
    read_number,
    text_fault,
)
from riskmodel.records.toml_text import Path, lines_of
from riskmodel.records.units import ALIASES

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]{1,60}")
FILE_NAME = re.compile(r"[^\x00-\x1f/\\:]{1,96}\.csv", re.IGNORECASE)


def spelt(path: Path) -> str:
    """A key as a message gives it; rows of a list are counted from 1: oil.element[2].rise."""
    words = ""
    for part in path:
        if isinstance(part, int):
            words += f"[{part + 1}]"
        else:
            name = part if _BARE_KEY.fullmatch(part) else shown(part)
            words += f".{name}" if words else name
    return words


Note = Callable[[str, str], None]
"""Tells one problem of the value at hand: what was found, what was expected."""


@dataclass(slots=True)
class Notes:
    """The problems found in one case file, each with the line of its key where there is text."""

    file: str
    text: str | None = None
    problems: list[Problem] = field(default_factory=list)
    _lines: dict[Path, int] | None = None

    def add(self, path: Path, found: str, expected: str) -> None:
        line = self._line(path)
        where = spelt(path) if line is None else f"line {line}, {spelt(path)}".rstrip(", ")
        self.problems.append(Problem(self.file, where, found, expected))

    def about(self, path: Path) -> Note:
        """Notes of one key."""
        return lambda found, expected: self.add(path, found, expected)

    def _line(self, path: Path) -> int | None:
        """The line of a key or, where it is missing, of the table in which it should stand."""
        if self.text is None:
            return None
        if self._lines is None:
            self._lines = lines_of(self.text)
        for length in range(len(path), 0, -1):
            if path[:length] in self._lines:
                return self._lines[path[:length]]
        return None


def bounds(entry: Input) -> str:
    """The bounds of an input in words: "above 0", "of 0 or more", "from 1 to 1000"."""
    low, high = plain(entry.low), plain(entry.high)
    unbounded = entry.high == CEILING
    if entry.open_low:
        return f"above {low}" if unbounded else f"above {low}, at most {high}"
    return f"of {low} or more" if unbounded else f"from {low} to {high}"


def expected_number(entry: Input) -> str:
    """What is expected where one number of this input should stand."""
    unit = "" if entry.unit in ("", "money") else f" ({entry.unit})"
    return f"a number {bounds(entry)}{unit}"


def number(raw: object, note: Note, expected: str = "a number") -> float | None:
    """A finite float of ordinary size; a flag or a text is none."""
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        if isinstance(raw, str):
            try:
                expected = f"{expected}, without quotes: {plain(read_number(raw))}"
            except UnreadableError as fault:
                expected = str(fault) if str(fault) != "a number" else expected
        note(shown(raw), expected)
        return None
    if raw != raw:
        note("nan", expected)
    elif abs(raw) == float("inf"):
        note("infinity, or a number too large to hold", expected)
    elif abs(raw) > CEILING:
        note(shown(raw), f"{expected}, not larger than {plain(CEILING)}")
    else:
        return float(raw) + 0.0  # no negative zero
    return None


def _within(raw: object, entry: Input) -> float | None:
    """The number as a float, where it is one within the bounds of the input."""
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        return None
    if not entry.low <= raw <= entry.high or (entry.open_low and raw == entry.low):
        return None
    return float(raw) + 0.0  # no negative zero


def _number(entry: Input, raw: object, note: Note, prefix: str = "", suffix: str = "") -> Any:
    value = _within(raw, entry)
    if value is None:  # now say why
        expected = prefix + expected_number(entry) + suffix
        if number(raw, note, expected) is not None:
            note(shown(raw), expected)
    return value


def _quantity(entry: Input, raw: object, note: Note) -> Quantity | None:
    share = entry.kind == "share_quantity"
    if not isinstance(raw, list | tuple):
        value = _number(entry, raw, note, suffix=", or a range [low, high]")
        return None if value is None else Quantity(value, value, share)
    if len(raw) != 2:
        note(shown(raw), "two numbers, [low, high]")
        return None
    low, high = (_number(entry, end, note, prefix="in the range: ") for end in raw)
    if low is None or high is None:
        return None
    if low > high:
        note(shown(raw), "the lower number first")
    elif low < high and low == 0:
        note(shown(raw), "a range that begins above 0 (only an exact value may be 0)")
    elif share and low < high and high == 1:
        note(shown(raw), "a range that ends below 1 (only an exact value may be 1)")
    else:
        return Quantity(low, high, share)
    return None


def _text(entry: Input, raw: object, note: Note) -> str | None:
    if not isinstance(raw, str):
        note(shown(raw), 'a text in quotes, "like this"')
        return None
    fault = text_fault(raw)
    if fault is None and not raw.strip() and entry.default != "":
        fault = "a text that is not blank"
    if fault is not None:
        note(shown(raw), fault)
        return None
    return raw


def _choice(entry: Input, raw: object, note: Note) -> str | None:
    if isinstance(raw, str) and raw in entry.choices:
        return raw
    hint = did_you_mean(raw, entry.choices) if isinstance(raw, str) else ""
    alias = ALIASES.get(raw.lower()) if isinstance(raw, str) else None
    if alias in entry.choices:
        hint = f" (did you mean {alias}?)"
    note(shown(raw), one_of(f'"{choice}"' for choice in entry.choices) + hint)
    return None


def _texts(entry: Input, raw: object, note: Note) -> tuple[str, ...] | None:
    if not isinstance(raw, list | tuple):
        note(shown(raw), f'a list, such as ["{entry.choices[0]}"]')
        return None
    items = [_choice(entry, item, note) for item in raw]
    known = tuple(item for item in items if item is not None)
    if len(known) < len(items):
        return None
    for item in sorted({item for item in known if known.count(item) > 1}):
        note(f"{shown(item)} more than once", "each once")
    return known if len(set(known)) == len(known) else None


def _flag(entry: Input, raw: object, note: Note) -> bool | None:
    if isinstance(raw, bool):
        return raw
    note(shown(raw), "true or false, without quotes")
    return None


def _date(entry: Input, raw: object, note: Note) -> str | None:
    if isinstance(raw, datetime.date) and not isinstance(raw, datetime.datetime):
        raw = raw.isoformat()  # TOML has dates of its own
    try:
        return read_date(raw if isinstance(raw, str) else "").isoformat()
    except UnreadableError as fault:
        note(shown(raw), str(fault))
        return None


def _file(entry: Input, raw: object, note: Note) -> str | None:
    if isinstance(raw, str) and FILE_NAME.fullmatch(raw) and not raw.startswith("."):
        return raw
    note(shown(raw), "the plain name of a .csv file beside case.toml, without a path")
    return None


def _table(raw: object, note: Note, example: str) -> Mapping[str, object] | None:
    if isinstance(raw, Mapping):
        return raw
    note(shown(raw), f"a table, such as {example}")
    return None


def _shares(entry: Input, raw: object, note: Note) -> dict[str, float] | None:
    items = _table(raw, note, "{ towing = 0.2 }")
    if items is None:
        return None
    shares = {}
    for name, item in items.items():
        expected = "a share from 0 to 1"
        value = number(item, _about(name, note), expected)
        if value is not None and not 0 <= value <= 1:
            note(f"{name} = {shown(value)}", expected)
        elif value is not None:
            shares[name] = value
    return shares if len(shares) == len(items) else None


def _traits(entry: Input, raw: object, note: Note) -> dict[str, float | str] | None:
    items = _table(raw, note, '{ gearbox = "manual" }')
    if items is None:
        return None
    traits: dict[str, float | str] = {}
    for name, item in items.items():
        if not TRAIT_NAME.fullmatch(name):
            expected = "the name of a covariate column: small letters, digits and _"
            note(f"{name} = {shown(item)}", expected)
            continue
        value: float | str | None
        if isinstance(item, str):
            value = _word(item, _about(name, note))
        else:
            value = number(item, _about(name, note), "a number or a word")
        if value is not None:
            traits[name] = value
    return traits if len(traits) == len(items) else None


def _word(text: str, note: Note) -> str | None:
    fault = text_fault(text, in_table=True)
    if fault is None and (text.strip() != text or not text):
        fault = "a word without blanks around it"
    if fault is not None:
        note(shown(text), fault)
        return None
    return text


def _about(name: str, note: Note) -> Note:
    """Notes of one entry of a table, with its name."""
    return lambda found, expected: note(f"{name} = {found}", expected)


_BY_KIND: Mapping[Kind, Callable[[Input, object, Note], Any]] = {
    "number": _number,
    "quantity": _quantity,
    "share": _number,
    "share_quantity": _quantity,
    "text": _text,
    "texts": _texts,
    "file": _file,
    "flag": _flag,
    "choice": _choice,
    "date": _date,
    "shares": _shares,
    "traits": _traits,
}


def checked(entry: Input, raw: object, note: Note) -> Any:
    """The value of one input as the case holds it; None, with a note made, where it is wrong.

    Kinds: number and share -> float; quantity and share_quantity -> Quantity; text, choice,
    date and file -> str; texts -> tuple of str; flag -> bool; shares and traits -> dict.
    The tables in a list (kind "rows") are read by their own keys, not here.
    """
    return _BY_KIND[entry.kind](entry, raw, note)


def raw_of(value: object) -> Any:
    """The inverse of `checked`: a value as TOML states it."""
    if isinstance(value, Quantity):
        ends = [raw_of(value.low), raw_of(value.high)]
        return ends[0] if value.exact else ends
    if isinstance(value, float) and value == int(value) and abs(value) < 1e15:
        return int(value)
    if isinstance(value, tuple):
        return [raw_of(item) for item in value]
    if isinstance(value, Mapping):
        return {name: raw_of(item) for name, item in value.items()}
    return value
