"""What every kind of entry has in common, and checks of the values that it may hold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import ClassVar

from riskmodel.records.errors import InputError, Problem, plain, shown
from riskmodel.records.inputs import CEILING
from riskmodel.records.scalars import SYMBOL, UnreadableError, read_date, text_fault
from riskmodel.records.tables import Reading

LONGEST_NOTE = 2000
Faults = Iterator[tuple[str, str, str]]
"""What is wrong: the field, what was found, what was expected."""


class Payload:
    """What one kind of entry says. `title` is what messages call it."""

    __slots__ = ()
    kind: ClassVar[str]
    title: ClassVar[str]

    def __post_init__(self) -> None:
        problems = [Problem(self.title, *fault) for fault in self._faults()]
        if problems:
            raise InputError(problems)

    def _faults(self) -> Faults:
        """What is wrong in itself: the field, what was found, what was expected."""
        yield from ()

    @property
    def gist(self) -> str:
        """What it says in a few words, for a message; nothing where the title says enough."""
        reading = getattr(self, "reading", None)
        return "" if reading is None else f"at {plain(reading)}"


def number(name: str, value: object, above: float | None = None, high: float = CEILING) -> Faults:
    if value is None:
        return
    expected = "a number of 0 or more" if above is None else f"a number above {plain(above)}"
    if isinstance(value, bool) or not isinstance(value, int | float) or not _finite(value):
        yield name, shown(value), expected
    elif value < 0 or (above is not None and value <= above):
        yield name, plain(value), expected
    elif value > high:
        yield name, plain(value), f"a number not larger than {plain(high)}"


def _finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number larger than any float
        return False


def day(name: str, value: str | None) -> Faults:
    if value is None:
        return
    try:
        read_date(value)
    except UnreadableError as fault:
        yield name, shown(value), str(fault)


def text(name: str, value: str, longest: int | None = None, *, table: bool = False) -> Faults:
    """One line of plain words; a note (`longest` given) may have several lines."""
    if longest is None:
        if (fault := text_fault(value, in_table=table)) is not None:
            yield name, shown(value), fault
        return
    if len(value) > longest:
        yield name, shown(value), f"a text of at most {longest} characters"
    for line in value.split("\n"):
        for start in range(0, len(line), 200):
            fault = text_fault(line[start : start + 200])
            if fault is not None:
                yield name, shown(value), fault.replace("on one line, ", "")
                return


def measured(elements: Mapping[str, Reading]) -> Faults:
    for symbol, reading in elements.items():
        if not SYMBOL.fullmatch(symbol):
            yield "elements", shown(symbol), "a chemical symbol or short word, such as Fe"
        yield from number(symbol, reading.value, above=0.0 if reading.below else None)
