"""The units of inputs, spelled for one case."""

from __future__ import annotations

from riskmodel.records.inputs import Unit

NAMES: dict[Unit, str] = {"km": "kilometres", "mi": "miles", "h": "hours"}


ALIASES: dict[str, Unit] = {
    "kilometre": "km",
    "kilometres": "km",
    "kilometer": "km",
    "kilometers": "km",
    "kms": "km",
    "mile": "mi",
    "miles": "mi",
    "hour": "h",
    "hours": "h",
    "hr": "h",
    "hrs": "h",
}
"""What people write for a unit: not accepted, but suggested from."""


KM_PER_MILE = 1.609344
"""Exact since 1959 (international yard and pound agreement)."""


def factor(from_unit: Unit, to_unit: Unit) -> float:
    """What a usage in one unit is to be multiplied by to be in the other.

    Raises ValueError between hours and distances: no factor leads from one to the other.
    """
    if from_unit == to_unit:
        return 1.0
    if "h" in (from_unit, to_unit):
        raise ValueError(f"no factor leads from {from_unit} to {to_unit}")
    return KM_PER_MILE if from_unit == "mi" else 1 / KM_PER_MILE


def spelled(unit_of_input: str, unit: Unit, currency: str = "") -> str:
    """The unit of an input in a case's own terms.

    The table of inputs speaks of "usage" and "money"; a case has a unit and a currency:
    "usage per year" becomes "km per year", "money" the currency where one is stated.
    """
    words = unit_of_input.replace("usage", unit)
    return words.replace("money", currency) if currency else words
