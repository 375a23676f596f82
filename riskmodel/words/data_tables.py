"""The tables of a case as a person reads them: headings and entries in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import pandas as pd

from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.words import formats
from riskmodel.words.oil_names import element as named

OUTCOMES = {
    "failed": "failed",
    "running": "still running",
    "removed": "taken out, not looked at",
    "removed_worn": "taken out, looked worn",
    "removed_unworn": "taken out, did not look worn",
}


def records(case: Case) -> pd.DataFrame:
    """The life records, one row each; columns that say nothing are left out."""
    held = case.records
    if held is None:
        return pd.DataFrame()
    unit = case.machine.unit
    failed = [outcome == "failed" for outcome in held.outcome]
    removed = [outcome.startswith("removed") for outcome in held.outcome]
    shown: dict[str, list[object]] = {
        f"Age, {unit}": list(held.age),
        "What became of it": [OUTCOMES[outcome] for outcome in held.outcome],
    }
    optional: dict[str, tuple[str, list[object]]] = {
        "age_from": (
            f"Failed after, {unit}",
            ["" if math.isnan(age) else formats.number(age) for age in held.age_from.tolist()],
        ),
        "entered_at": (f"Watched from, {unit}", list(held.entered_at)),
        "count": ("Parts", list(held.count)),
        "cause": ("Cause", _where(failed, held.cause)),
        "why": ("Why taken out", _where(removed, held.why)),
    }
    for column, (heading, values) in optional.items():
        if column in held.columns:
            shown[heading] = values
    for name, traits in held.covariates.items():
        shown[formats.sentence(name.replace("_", " "))] = list(traits)
    return pd.DataFrame(shown)


def samples(case: Case) -> pd.DataFrame:
    """The oil samples, one row each, with one column per element."""
    held = case.samples
    if held is None:
        return pd.DataFrame()
    unit = case.machine.unit
    symbols = [name for name in held.columns if any(name in row.elements for row in held.rows)]
    frame = pd.DataFrame(
        [
            {
                f"Meter, {unit}": _number(row.reading),
                f"Part's age, {unit}": _number(row.age),
                f"Age of the oil, {unit}": _number(row.oil_age),
                "Date": row.date or "",
                "Topped up, litres": _number(row.top_up),
                "Laboratory": row.lab,
            }
            | {f"{symbol}, ppm": _reading(row.elements.get(symbol)) for symbol in symbols}
            for row in held.rows
        ]
    )
    return frame[[name for name in frame.columns if (frame[name] != "").any()]]


def lists(case: Case) -> dict[str, pd.DataFrame]:
    """The other lists of a case, by title; only those that hold something."""
    currency, unit = case.cost.currency, case.machine.unit
    found = {
        "Consequences of a failure": [
            {"What": line.name, "Costs": money(line.amount, currency)}
            for line in case.cost.consequence
        ],
        "Jobs while access is open": [
            {
                "Job": line.job,
                "With this job": money(line.now, currency),
                "Alone later": money(line.alone, currency),
                "Needed anyway": of_100(line.chance),
                "Single-use hardware": "yes" if line.one_time_use else "no",
            }
            for line in case.cost.while_open
        ],
        "Kinds of use": [
            {
                "Kind": kind.name,
                "Harshness": quantity(kind.harshness),
                "Share in the records": of_100(kind.population_share),
            }
            for kind in case.use.kinds
        ],
        "How it was used": [
            {"Until": formats.usage(stretch.until, unit), "Use": _shares(stretch.shares)}
            for stretch in case.use.stretches
        ],
        "What the laboratory measures": [
            {
                "Metal": formats.sentence(named(element.symbol)),
                f"Usual, ppm per 1,000{formats.NBSP}{unit}": quantity(element.typical),
                "At failure, times the usual": quantity(element.rise),
                "Shed by the part": "yes" if element.from_part else "no",
            }
            for element in case.oil.element
        ],
    }
    return {title: pd.DataFrame(entries) for title, entries in found.items() if entries}


def quantity(held: Quantity) -> str:
    """A quantity as it was entered: "2.5", "1.2 to 5"."""
    low, high = formats.exact(held.low), formats.exact(held.high)
    return low if held.exact else f"{low} to {high}"


def money(held: Quantity, currency: str) -> str:
    """A price as it was entered, with its currency."""
    low = formats.money(held.low, currency, 1.0)
    return low if held.exact else f"{low} to {formats.money(held.high, '', 1.0)}"


def of_100(share: float) -> str:
    """A share as it was entered: "15 of 100"."""
    return f"{formats.share_of_100(share)} of 100"


def _where(said: list[bool], words: Sequence[str]) -> list[object]:
    """The words where they say something, else nothing: a part still running has no cause."""
    return [word if speaks else "" for speaks, word in zip(said, words, strict=True)]


def _number(value: float | None) -> str:
    return "" if value is None else formats.number(value)


def _reading(reading: object) -> str:
    return "" if reading is None else str(reading)


def _shares(shares: object) -> str:
    if not isinstance(shares, Mapping) or not shares:
        return "not known"
    return ", ".join(f"{name} {of_100(share)}" for name, share in shares.items())
