"""The input of the simulation with oil samples: one JSON object, read whole or refused whole.

The keys of :mod:`case`, and those of the oil, described in the docstring of :mod:`sampled`.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .case import ONE, Z95, ZERO, Case, Quantity, _is_number, _quantity, case_from

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Share:
    """A logit-normal share given by the mean and deviation of its logit; exact if ``sigma`` is 0
    (a share of exactly 0 or 1 has an infinite ``mu``)."""

    mu: float
    sigma: float = 0.0

    def at(self, z: Any) -> Any:
        """The share at standard normal score ``z`` (an array)."""
        return 1 / (1 + np.exp(-(self.mu + self.sigma * z)))


@dataclass(frozen=True)
class Element:
    """A wear metal. ``typical`` in ppm per 1,000 of usage, ``scatter`` = exp(sigma), ``noise`` in
    ppm."""

    symbol: str
    typical: Quantity
    scatter: float
    rise: Quantity
    noise: float

    def deviation(self, oil_age: float) -> float:
        """sigma_e of oil of this age, the laboratory's noise included."""
        usual = math.exp(self.typical.mu) * oil_age / 1000
        return math.hypot(math.log(self.scatter), self.noise / usual)


@dataclass(frozen=True)
class Sample:
    """A past sample: the part's ``age`` and the ``oil_age`` at it, ``top_up`` as a share of the
    sump. ``readings`` (low, point, high) in ppm by symbol."""

    age: float
    oil_age: float
    top_up: float
    readings: dict[str, tuple[float, float, float]]


@dataclass(frozen=True)
class SampledCase:
    """A case and its oil. Elements that do not come from the part are left out."""

    base: Case
    elements: tuple[Element, ...] = ()
    lead: Quantity = ZERO
    lead_factor: Quantity = ONE
    silent: Share = Share(-math.inf)
    false_alarm: float = 0.02
    investigation_sees: float = 0.8
    turnaround: float = 0.0
    sample: Quantity = ZERO
    investigation: Quantity = ZERO
    urgent: Quantity = ZERO
    carry_over: float = 0.1
    resolution: float = 1.0
    misleading: float = 0.02
    noise_in_level: bool = False
    history: tuple[Sample, ...] = ()


_QUANTITIES = {"lead", "lead_factor", "sample", "investigation", "urgent"}
_SHARES = {"false_alarm", "investigation_sees", "carry_over", "misleading"}
_NUMBERS = {"turnaround", "resolution"}
_OTHER = {"elements", "silent", "history", "noise_in_level", "sump"}
_OIL = _QUANTITIES | _SHARES | _NUMBERS | _OTHER


def _share(value: Any) -> Share | None:
    if _is_number(value) and 0 <= value <= 1:
        return Share(-math.inf if value == 0 else math.inf if value == 1 else _logit(value))
    if isinstance(value, list) and len(value) == 2 and all(map(_is_number, value)):
        low, high = value
        if 0 < low < high < 1:
            a, b = _logit(low), _logit(high)
            return Share((a + b) / 2, (b - a) / (2 * Z95))
    return None


def _logit(p: float) -> float:
    return math.log(p / (1 - p))


def _element(data: Any) -> Element | None:
    """An element; raises ``ValueError`` saying what is wrong, ``None`` if not from the part."""
    if not isinstance(data, dict):
        raise ValueError("expected an object")  # noqa: TRY004
    known = {"symbol", "typical", "scatter", "rise", "noise", "from_part"}
    if set(data) - known:
        raise ValueError(f"unknown {sorted(set(data) - known)}")
    if data.get("from_part", True) is False:
        return None
    typical, rise = _quantity(data.get("typical")), _quantity(data.get("rise"))
    scatter: Any = data.get("scatter")
    noise: Any = data.get("noise", 0.0)
    symbol = data.get("symbol")
    if not (isinstance(symbol, str) and symbol):
        raise ValueError("symbol: expected text")
    if typical is None or typical.mu == -math.inf:
        raise ValueError("typical: expected a positive number or [low, high]")
    if rise is None or rise.mu <= 0:
        raise ValueError("rise: expected a quantity above 1")
    if not _is_number(scatter) or scatter <= 1 or not _is_number(noise) or noise < 0:
        raise ValueError("scatter, noise: expected a number above 1, a number not below 0")
    return Element(symbol, typical, float(scatter), rise, float(noise))


def _reading(value: Any, resolution: float) -> tuple[float, float, float]:
    if isinstance(value, str) and value.startswith("<"):
        high = float(value[1:])
        return 0.0, high / 2, high
    if not _is_number(value) or value < 0:
        raise ValueError(f"reading {value!r}, expected a number or '<n'")
    return value - resolution / 2, float(value), value + resolution / 2


def _history(rows: Any, sump: float | None, resolution: float, age: float) -> tuple[Sample, ...]:
    found: list[Sample] = []
    for row in rows:
        if set(row) - {"age", "oil_age", "top_up", "readings"}:
            raise ValueError(f"found {sorted(row)}, expected age, oil_age, top_up, readings")
        top_up = row.get("top_up", 0.0)
        if top_up and not sump:
            raise ValueError("top_up needs sump")
        if not 0 < row["oil_age"] <= row["age"] <= age:
            raise ValueError("expected 0 < oil_age <= age <= today's age")
        readings = {
            symbol: _reading(value, resolution)
            for symbol, value in row["readings"].items()
            if value is not None
        }
        share = top_up / sump if sump else 0.0
        found.append(Sample(float(row["age"]), float(row["oil_age"]), share, readings))
    return tuple(sorted(found, key=lambda s: s.age))


def sampled_case_from(data: dict[str, Any]) -> SampledCase:
    """Build a case from a JSON object. Raises ``ValueError`` naming every fault at once."""
    faults: list[str] = []
    base: Case | None = None
    try:
        base = case_from({key: value for key, value in data.items() if key not in _OIL})
    except ValueError as error:
        faults.append(str(error))
    read: dict[str, Any] = {}
    for key in _OIL & set(data):
        value = data[key]
        result: Any = None
        if key in _QUANTITIES:
            result, expected = _quantity(value), "a number or [low, high] with 0 < low < high"
        elif key == "silent":
            result, expected = _share(value), "a share or [low, high] of shares"
        elif key in _SHARES | _NUMBERS:
            ok = _is_number(value) and value >= 0 and (key in _NUMBERS or value <= 1)
            result, expected = float(value) if ok else None, "a number in range"
        elif key == "noise_in_level":
            result, expected = value if isinstance(value, bool) else None, "true or false"
        else:
            continue
        if result is None:
            faults.append(f"{key}: found {value!r}, expected {expected}")
        read[key] = result
    elements: list[Element] = []
    for number, row in enumerate(data.get("elements", [])):
        try:
            element = _element(row)
        except ValueError as error:
            faults.append(f"elements[{number}]: {error}")
        else:
            elements += [] if element is None else [element]
    if elements:
        faults += [f"{key}: missing" for key in ("lead", "urgent") if key not in data]
    if base is not None:
        if read.get("turnaround", 0.0) is not None and not (
            read.get("turnaround", 0.0) < base.interval
        ):
            faults.append("turnaround: expected less than the interval")
        try:
            read["history"] = _history(
                data.get("history", []), data.get("sump"), read.get("resolution", 1.0), base.age
            )
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            faults.append(f"history: {error!r}")
    if faults or base is None:
        raise ValueError("\n".join(faults))
    return SampledCase(base, tuple(elements), **read)


def read_sampled_case(path: Path) -> SampledCase:
    """Read a case from a JSON file. Raises ``ValueError`` naming the file and every fault."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if isinstance(data, dict):
            return sampled_case_from(data)
    except ValueError as error:
        raise ValueError(f"{path}:\n{error}") from None
    raise ValueError(f"{path}: found {type(data).__name__}, expected one JSON object")
