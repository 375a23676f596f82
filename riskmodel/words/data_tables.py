"""The tables of a case as a person reads them: headings and entries in words."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pandas as pd

from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.words import formats

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
    columns: dict[str, list[object]] = {
        f"Age, {unit}": list(held.age),
        "What became of it": [OUTCOMES[outcome] for outcome in held.outcome],
        f"Failed after, {unit}": [None if math.isnan(age) else age for age in held.age_from],
        f"Watched from, {unit}": list(held.entered_at),
        "Parts": list(held.count),
        "Cause": list(held.cause),
        "Why taken out": list(held.why),
    }
    needed = {
        f"Failed after, {unit}": "age_from",
        f"Watched from, {unit}": "entered_at",
        "Parts": "count",
        "Cause": "cause",
        "Why taken out": "why",
    }
    shown = {
        name: values
        for name, values in columns.items()
        if name not in needed or needed[name] in held.columns
    }
    for name, values in held.covariates.items():
        shown[formats.sentence(name.replace("_", " "))] = list(values)
    return pd.DataFrame(shown)


def samples(case: Case) -> pd.DataFrame:
    """The oil samples, one row each, with one column per element."""
    held = case.samples
    if held is None:
        return pd.DataFrame()
    unit = case.machine.unit
    symbols = [name for name in held.columns if any(name in row.elements for row in held.rows)]
    return pd.DataFrame(
        [
            {
                f"Meter, {unit}": row.reading,
                f"Part's age, {unit}": row.age,
                f"Age of the oil, {unit}": row.oil_age,
                "Date": row.date,
                "Topped up, litres": row.top_up,
                "Laboratory": row.lab,
            }
            | {f"{symbol}, ppm": _reading(row.elements.get(symbol)) for symbol in symbols}
            for row in held.rows
        ]
    ).dropna(axis="columns", how="all")


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
                "Needed anyway": formats.of_100(line.chance),
                "Single-use hardware": "yes" if line.one_time_use else "no",
            }
            for line in case.cost.while_open
        ],
        "Kinds of use": [
            {
                "Kind": kind.name,
                "Harshness": quantity(kind.harshness),
                "Share in the records": formats.of_100(kind.population_share),
            }
            for kind in case.use.kinds
        ],
        "How it was used": [
            {"Until": formats.usage(stretch.until, unit), "Use": _shares(stretch.shares)}
            for stretch in case.use.stretches
        ],
        "What the laboratory measures": [
            {
                "Element": element.symbol,
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


def _reading(reading: object) -> str | None:
    return None if reading is None else str(reading)


def _shares(shares: object) -> str:
    if not isinstance(shares, Mapping) or not shares:
        return "not known"
    return ", ".join(
        f"{name} {formats.exact(100 * share)} of 100" for name, share in shares.items()
    )
