"""The input of the simulation: one JSON object, read whole or refused whole.

A quantity is a number (exact) or ``[low, high]``, the central 90 % of a lognormal. The keys are
described in the docstring of :mod:`brute_force`.
"""

from __future__ import annotations

import json
import math
from dataclasses import MISSING, dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np

Z95 = 1.6448536269514722  # upper 5 % point of the standard normal


@dataclass(frozen=True)
class Quantity:
    """A lognormal given by the mean and the standard deviation of its log; exact if ``sigma`` is 0.

    A quantity of exactly 0 has ``mu = -inf``.
    """

    mu: float
    sigma: float = 0.0

    @staticmethod
    def exact(value: float) -> Quantity:
        return Quantity(math.log(value) if value > 0 else -math.inf)

    @staticmethod
    def between(low: float, high: float) -> Quantity:
        """The lognormal whose central 90 % is ``low`` to ``high``."""
        return Quantity(math.log(low * high) / 2, math.log(high / low) / (2 * Z95))

    @property
    def mean(self) -> float:
        return math.exp(self.mu + self.sigma**2 / 2)

    def at(self, z: Any) -> Any:
        """The value at standard normal score ``z`` (an array)."""
        return np.exp(self.mu + self.sigma * z)


ZERO = Quantity.exact(0.0)
ONE = Quantity.exact(1.0)


@dataclass(frozen=True)
class Case:
    """One engine with a part whose life curve is known exactly. Usage and ages in one unit."""

    shape: float
    scale: float
    age: float
    interval: float
    next_change_in: float
    usage_per_year: float
    keep_usage: float
    planned: Quantity
    failure: Quantity
    consequences: tuple[tuple[str, Quantity], ...] = ()
    found_worn: Quantity = ZERO
    visible_lead: Quantity | None = None
    install_fault: float = 0.0
    install_fault_price: Quantity | None = None
    rate: float = 0.0
    oil_change: Quantity = ZERO
    sale_credit: Quantity = ZERO
    new_part_life: Quantity = ONE
    after_failure: str = "repair"
    replace_new_parts: bool = True
    ahead: tuple[float, ...] = ()
    unit: str = "km"
    currency: str = ""
    name: str = ""

    @property
    def repair(self) -> bool:
        return self.after_failure == "repair"

    @property
    def failure_mean(self) -> float:
        """Mean price of one failure, consequences included."""
        return self.failure.mean + sum(amount.mean for _, amount in self.consequences)

    @property
    def fault_mean(self) -> float:
        """Mean price of one fitting fault."""
        given = self.install_fault_price
        return self.failure_mean if given is None else given.mean

    @property
    def discount(self) -> float:
        """Continuous discount rate per unit of usage."""
        return math.log1p(self.rate) / self.usage_per_year

    @property
    def tolerance(self) -> float:
        """A service closer than this to keep-until counts as falling at keep-until."""
        return 1e-9 * self.keep_usage

    def services(self) -> list[float]:
        """The services of the present part, in usage from now, strictly before keep-until."""
        times: list[float] = []
        while (t := self.next_change_in + len(times) * self.interval) < (
            self.keep_usage - self.tolerance
        ):
            times.append(t)
        return times

    def plans(self) -> list[tuple[str, float | None]]:
        """Name and time (usage from now; ``None`` for never) of every plan."""
        later = [(f"after {t:g}", t) for t in self.services()]
        return [("now", 0.0), *later, ("never", None)]


_POSITIVE = {"shape", "scale", "interval", "next_change_in", "usage_per_year", "keep_usage"}
_NUMBERS = _POSITIVE | {"age", "install_fault", "rate"}
_QUANTITIES = {
    *("planned", "failure", "found_worn", "visible_lead", "install_fault_price"),
    *("oil_change", "sale_credit", "new_part_life"),
}
_STRINGS = {"after_failure", "unit", "currency", "name"}


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _quantity(value: Any) -> Quantity | None:
    if _is_number(value) and value >= 0:
        return Quantity.exact(float(value))
    if isinstance(value, list) and len(value) == 2 and all(map(_is_number, value)):
        low, high = value
        if 0 < low < high:
            return Quantity.between(low, high)
    return None


def case_from(data: dict[str, Any]) -> Case:
    """Build a case from a JSON object. Raises ``ValueError`` naming every fault at once."""
    data = dict(data)
    faults: list[str] = []
    if "keep_years" in data:
        if "keep_usage" in data:
            faults.append("keep_years and keep_usage: both given, expected one of them")
        years, per_year = data.pop("keep_years"), data.get("usage_per_year")
        if _is_number(years) and _is_number(per_year):
            data["keep_usage"] = years * per_year
        else:
            faults.append(f"keep_years: {years!r}, expected a number, with usage_per_year")
    read: dict[str, Any] = {}
    known = {f.name: f for f in fields(Case) if f.init}
    for key, value in data.items():
        expected, result = "", value
        if key not in known:
            expected = "one of " + ", ".join(sorted(known))
        elif key in _NUMBERS:
            ok = _is_number(value) and value >= 0 and (value > 0 or key not in _POSITIVE)
            ok = ok and (key != "install_fault" or value < 1)
            expected = "" if ok else "a number in range"
        elif key in _QUANTITIES:
            result = _quantity(value)
            expected = "" if result else "a number or [low, high] with 0 < low < high"
        elif key == "consequences":
            if isinstance(value, dict) and all(_quantity(v) for v in value.values()):
                result = tuple((k, _quantity(v)) for k, v in value.items())
            else:
                expected = "an object of name: amount"
        elif key == "ahead":
            if isinstance(value, list) and all(_is_number(v) and v > 0 for v in value):
                result = tuple(map(float, value))
            else:
                expected = "a list of positive numbers"
        elif key in _STRINGS:
            expected = "" if isinstance(value, str) else "text"
            if key == "after_failure" and value not in ("repair", "stop"):
                expected = '"repair" or "stop"'
        elif not isinstance(value, bool):
            expected = "true or false"
        if expected:
            faults.append(f"{key}: found {value!r}, expected {expected}")
        read[key] = result
    faults += [
        f"{key}: missing"
        for key, f in known.items()
        if f.default is MISSING and key not in data and not (key == "keep_usage" and faults)
    ]
    worn = read.get("found_worn")
    if isinstance(worn, Quantity) and worn.mean > 0 and read.get("visible_lead") is None:
        faults.append("visible_lead: missing, needed by found_worn")
    if faults:
        raise ValueError("\n".join(faults))
    return Case(**read)


def read_case(path: Path) -> Case:
    """Read a case from a JSON file. Raises ``ValueError`` naming the file and every fault."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if isinstance(data, dict):
            return case_from(data)
    except ValueError as error:
        raise ValueError(f"{path}:\n{error}") from None
    raise ValueError(f"{path}: found {type(data).__name__}, expected one JSON object")
