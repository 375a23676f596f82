"""Names of what a laboratory measures, and how one sample is named in a sentence."""

from __future__ import annotations

from collections.abc import Iterable

from riskmodel.oil.laboratories import laboratory_of
from riskmodel.oil.linings import NAMES
from riskmodel.oil.mass_balance import SampleRates
from riskmodel.records.case import Case
from riskmodel.words import formats

OTHER_NAMES = {
    "Fe": "iron",
    "Si": "silicon",
    "Cr": "chromium",
    "Ni": "nickel",
    "Mn": "manganese",
    "Na": "sodium",
    "K": "potassium",
    "Mo": "molybdenum",
    "Ti": "titanium",
    "Zn": "zinc",
    "P": "phosphorus",
    "Ca": "calcium",
    "Mg": "magnesium",
    "B": "boron",
    "Ba": "barium",
    "V": "vanadium",
}
ELSEWHERE = {
    "Fe": "iron comes from cylinders, crankshaft and cams",
    "Si": "silicon is dust or sealant",
    "Al": "aluminium is mostly from the pistons",
    "Cr": "chromium is from the piston rings",
    "Na": "sodium is coolant or an additive",
    "K": "potassium is coolant",
}
"""Where metals that are no evidence on a bearing come from as a rule (common practice)."""


def element(symbol: str) -> str:
    """ "copper (Cu)"; the symbol alone where it has no name here."""
    name = NAMES.get(symbol) or OTHER_NAMES.get(symbol)
    return f"{name} ({symbol})" if name else symbol


def elements(symbols: Iterable[str]) -> str:
    """ "lead (Pb), copper (Cu) and tin (Sn)"."""
    return formats.listed([element(symbol) for symbol in symbols])


def sample(case: Case, row: SampleRates) -> str:
    """A sample by where and when it was drawn: "29,800 km (12 April 2018)".

    The place is the meter where that was entered, else the part's age; which of them is said
    where the two differ.
    """
    unit, held = case.machine.unit, row.sample
    at = formats.usage(row.age if held.reading is None else held.reading, unit)
    of = "" if case.part.fitted_at == 0 else " of the part"
    of = " on the meter" if of and held.reading is not None else of
    return f"{at}{of} ({formats.day(held.date)})" if held.date else f"{at}{of}"


def laboratory_changes(case: Case, rows: Iterable[SampleRates], most: int = 4) -> str:
    """Where the laboratory changed: "at 90,000 km, from A to B"; "" where it never did.

    One that is not named is not taken for another.
    """
    told, last = [], ""
    for row in rows:
        lab = row.sample.lab
        if row.new_lab:
            told.append(f"at {sample(case, row)}, from {last} to {lab}")
        last = lab or last
    if len(told) > most:
        told = [*told[: most - 1], f"{len(told) - most + 1} times more"]
    return formats.listed(told)


def many_laboratories(case: Case) -> int:
    """How many laboratories read this engine's samples; 0 without samples."""
    rows = () if case.samples is None else case.samples.rows
    return len(set(laboratory_of(rows).tolist()))


def samples(case: Case, rows: Iterable[SampleRates], most: int = 4) -> str:
    """Several of them, the first few by name."""
    names = [sample(case, row) for row in rows]
    if len(names) > most:
        names = [*names[: most - 1], f"{len(names) - most + 1} more"]
    return formats.listed(names)
