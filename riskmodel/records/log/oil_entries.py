"""Entries about the meter, the oil and its samples."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from riskmodel.records.log.payload import LONGEST_NOTE, Faults, Payload, day, measured, number, text
from riskmodel.records.tables import Reading


@dataclass(frozen=True, slots=True)
class MeterReading(Payload):
    """What the meter showed on a day."""

    kind: ClassVar[str] = "reading"
    title: ClassVar[str] = "meter reading"
    reading: float
    date: str
    note: str = ""

    def _faults(self) -> Faults:
        yield from number("reading", self.reading)
        yield from day("date", self.date)
        yield from text("note", self.note, LONGEST_NOTE)


@dataclass(frozen=True, slots=True)
class OilChange(Payload):
    """The oil was changed at this meter reading."""

    kind: ClassVar[str] = "oil_change"
    title: ClassVar[str] = "oil change"
    reading: float
    date: str
    note: str = ""

    def _faults(self) -> Faults:
        yield from number("reading", self.reading)
        yield from day("date", self.date)
        yield from text("note", self.note, LONGEST_NOTE)


@dataclass(frozen=True, slots=True)
class SampleTaken(Payload):
    """A used-oil sample was drawn, at a meter `reading` or a part's `age` (one of the two).

    `oil_age` is the usage on that oil, `top_up` the litres added since the last drain,
    `bottle` what stands on the bottle, `drained` whether the oil was changed with it. Results
    known already come along in `elements` [ppm by symbol]; the sample then counts as back.
    """

    kind: ClassVar[str] = "sample"
    title: ClassVar[str] = "sample"
    oil_age: float
    reading: float | None = None
    age: float | None = None
    date: str | None = None
    top_up: float = 0.0
    lab: str = ""
    bottle: str = ""
    drained: bool = False
    elements: Mapping[str, Reading] = field(default_factory=dict)
    note: str = ""

    def _faults(self) -> Faults:
        if (self.reading is None) == (self.age is None):
            found = "neither reading nor age" if self.reading is None else "both reading and age"
            yield "reading", found, "one of the two"
        yield from number("reading", self.reading)
        yield from number("age", self.age)
        yield from number("oil_age", self.oil_age, above=0.0)
        yield from number("top_up", self.top_up)
        yield from day("date", self.date)
        yield from text("lab", self.lab, table=True)
        yield from text("bottle", self.bottle)
        yield from text("note", self.note, LONGEST_NOTE)
        yield from measured(self.elements)


@dataclass(frozen=True, slots=True)
class SampleSent(Payload):
    """A sample (by the uuid of its `SampleTaken`) went to the laboratory."""

    kind: ClassVar[str] = "sample_sent"
    title: ClassVar[str] = "sample sent"
    sample: str
    date: str
    lab: str = ""

    def _faults(self) -> Faults:
        yield from day("date", self.date)
        yield from text("lab", self.lab, table=True)


@dataclass(frozen=True, slots=True)
class SampleBack(Payload):
    """The results of a sample came back: `elements` in ppm by symbol."""

    kind: ClassVar[str] = "sample_back"
    title: ClassVar[str] = "sample back"
    sample: str
    date: str
    elements: Mapping[str, Reading]

    def _faults(self) -> Faults:
        yield from day("date", self.date)
        if not self.elements:
            yield "elements", "no element measured", "at least one in each sample"
        yield from measured(self.elements)


@dataclass(frozen=True, slots=True)
class SampleTold(Payload):
    """The owner was told what a sample showed."""

    kind: ClassVar[str] = "sample_told"
    title: ClassVar[str] = "sample told"
    sample: str
    date: str
    note: str = ""

    def _faults(self) -> Faults:
        yield from day("date", self.date)
        yield from text("note", self.note, LONGEST_NOTE)
