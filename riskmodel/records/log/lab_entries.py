"""Entries about laboratories: how to read the tables that they send."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Literal

from riskmodel.records.errors import one_of, shown
from riskmodel.records.log.payload import Faults, Payload, text
from riskmodel.records.scalars import SYMBOL

DateOrder = Literal["ymd", "dmy", "mdy"]
LAB_FIELDS = ("machine", "date", "reading", "age", "oil_age", "top_up", "bottle")
"""What a column of a laboratory's table may hold, besides elements."""


@dataclass(frozen=True, slots=True)
class LabColumns(Payload):
    """Which column of a laboratory's table is what, for its next one.

    `columns` gives a heading for a field of `LAB_FIELDS`, `elements` one for a symbol; `machines`
    the id in the log for a name in the table (in lower case). `dates` is the order of day, month
    and year, `decimal` what stands before the decimals. The latest of a `laboratory` counts.
    """

    kind: ClassVar[str] = "lab_columns"
    title: ClassVar[str] = "columns of a laboratory"
    laboratory: str
    columns: Mapping[str, str]
    elements: Mapping[str, str]
    machines: Mapping[str, str] = field(default_factory=dict)
    dates: DateOrder = "ymd"
    decimal: Literal["point", "comma"] = "point"

    @property
    def gist(self) -> str:
        return self.laboratory

    def _faults(self) -> Faults:
        if not self.laboratory.strip():
            yield "laboratory", "nothing", "a name for it"
        yield from text("laboratory", self.laboratory, table=True)
        for name in self.columns:
            if name not in LAB_FIELDS:
                yield "columns", shown(name), one_of(LAB_FIELDS)
        for symbol in self.elements:
            if not SYMBOL.fullmatch(symbol):
                yield "elements", shown(symbol), "a chemical symbol or short word, such as Fe"
