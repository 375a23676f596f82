"""The rate of wear behind a reading: what the old oil left, what was topped up, and rounding.

In a fill of oil, dC/dx = r - lambda C from C(0) = carry_over x (last reading before the drain):
C the concentration, x the usage on that oil, r the wear rate, lambda the volume topped up per
usage over the sump's. The oil lost carries its metal away (a balance of mass; common practice,
no source). Solved for r, that is the average over the fill's life, in ppm per 1,000 units.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.oil.laboratories import laboratory_of
from riskmodel.records.case import Case
from riskmodel.records.tables import OilSample, Reading

Floats = NDArray[np.float64]

WhyNot = Literal["", "break_in"]

PER = 1000.0
"""Rates are per this much usage."""

SAME_OIL = 0.5
"""Two samples are of the same oil where the later one's began nearer to the beginning of the
earlier one's than to its end: meters and oil ages are written down roughly."""

MOSTLY = 0.5
"""A sample is one of the break-in where so much of its oil's life is within it."""


@dataclass(frozen=True, slots=True)
class Rate:
    """One element's wear rate in one fill of oil, ppm per 1,000 units of usage.

    `point` may be below 0: then it is less than the rounding can tell. `low` and `high` are the
    ends of what the laboratory rounded to this reading, low at least 0. `carried` is the
    concentration at the fill's start [ppm], `carried_known` False where no earlier reading
    tells it and a share of this one was taken.
    """

    reading: Reading
    carried: float
    carried_known: bool
    point: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class SampleRates:
    """A sample at the part's usage `age`, of oil used for `oil_age`, with a rate by element.

    `top_up_rate` is the share of the sump topped up per unit of usage. `used` tells whether it
    is evidence on the part; if not, `why_not` says why. `same_oil` is True where the oil is that
    of the sample before, `new_lab` where that one went to another laboratory.
    """

    sample: OilSample
    age: float
    oil_age: float
    top_up_rate: float
    used: bool
    why_not: WhyNot
    same_oil: bool
    new_lab: bool
    rates: Mapping[str, Rate]


def wear_rates(case: Case) -> tuple[SampleRates, ...]:
    """The rates of all samples of a case, in their order; () without samples."""
    if case.samples is None:
        return ()
    oil = case.oil
    rows: list[SampleRates] = []
    samples = case.samples.rows
    ages = [_age(sample, case.part.fitted_at) for sample in samples]
    lab = laboratory_of(samples)
    for i, (sample, age) in enumerate(zip(samples, ages, strict=True)):
        top_up = sample.top_up / (oil.sump_litres * sample.oil_age) if sample.top_up else 0.0
        begun = age - sample.oil_age
        drained = [j for j in range(i) if not _same_oil(samples[j], ages[j], begun)]
        rates = {}
        for symbol, reading in sample.elements.items():
            before = _last_reading(samples, drained, symbol)
            carried = oil.carry_over * point_of(reading if before is None else before)
            ends = rate_interval(reading, carried, sample.oil_age, top_up, oil.resolution)
            point = wear_rate(point_of(reading), carried, sample.oil_age, top_up)
            rates[symbol] = Rate(reading, carried, before is not None, float(point), *ends)
        why_not = _why_not(begun, sample.oil_age, oil.break_in)
        rows.append(
            SampleRates(
                sample=sample,
                age=age,
                oil_age=sample.oil_age,
                top_up_rate=top_up,
                used=why_not == "",
                why_not=why_not,
                same_oil=i > 0 and i - 1 not in drained,
                new_lab=i > 0 and bool(lab[i] != lab[i - 1]),
                rates=rates,
            )
        )
    return tuple(rows)


def wear_rate(
    reading: ArrayLike, carried: ArrayLike, oil_age: ArrayLike, top_up_rate: ArrayLike = 0.0
) -> Floats:
    """The rate [ppm per 1,000] that took the oil from `carried` to `reading` [ppm]; broadcasts.

    (reading - carried e^(-lambda o)) lambda / (1 - e^(-lambda o)), lambda the `top_up_rate` per
    unit of usage and o the `oil_age` above 0; accurate down to lambda = 0.
    """
    reading, carried = np.asarray(reading, dtype=float), np.asarray(carried, dtype=float)
    left, gathered = _kept(oil_age, top_up_rate)
    return np.asarray(PER * (reading - carried * left) / gathered)


def reading_after(
    rate: ArrayLike, carried: ArrayLike, oil_age: ArrayLike, top_up_rate: ArrayLike = 0.0
) -> Floats:
    """The concentration [ppm] that a `rate` [ppm per 1,000] leads to: `wear_rate` inverted."""
    rate, carried = np.asarray(rate, dtype=float), np.asarray(carried, dtype=float)
    left, gathered = _kept(oil_age, top_up_rate)
    return np.asarray(carried * left + rate / PER * gathered)


def rate_interval(
    reading: Reading, carried: float, oil_age: float, top_up_rate: float, resolution: float
) -> tuple[float, float]:
    """The rates [ppm per 1,000] that a laboratory would have rounded to this reading.

    The carry-over is taken at its point value. So that a reading below what the carry-over alone
    leaves is never impossible, the upper end is at least the rate that lifts it half a
    `resolution` above that.
    """
    value = reading.value
    half = resolution / 2
    ends = [0.0, value] if reading.below else [max(value - half, 0.0), value + half]
    low, high = wear_rate(ends, carried, oil_age, top_up_rate).tolist()
    least = float(wear_rate(half, 0.0, oil_age, top_up_rate))
    return max(low, 0.0), max(high, least)


def point_of(reading: Reading) -> float:
    """A reading as one number [ppm]: half the limit where it is below one."""
    return reading.value / 2 if reading.below else reading.value


def _kept(oil_age: ArrayLike, top_up_rate: ArrayLike) -> tuple[Floats, Floats]:
    """What top-ups leave of the first oil, and the usage whose metal is in the oil now."""
    age, rate = np.asarray(oil_age, dtype=float), np.asarray(top_up_rate, dtype=float)
    total = rate * age
    with np.errstate(divide="ignore", invalid="ignore"):
        gathered = np.where(total == 0, age, age * (-np.expm1(-total) / total))
    return np.asarray(np.exp(-total)), gathered


def _age(sample: OilSample, fitted_at: float) -> float:
    if sample.age is not None:
        return sample.age
    assert sample.reading is not None  # the reader requires one of the two
    return sample.reading - fitted_at


def _same_oil(earlier: OilSample, at: float, begun: float) -> bool:
    """Whether the oil that began at `begun` was already in when the earlier sample was drawn."""
    return at - begun > SAME_OIL * earlier.oil_age


def _last_reading(
    samples: Sequence[OilSample], drained: Sequence[int], symbol: str
) -> Reading | None:
    """The last one of an element before the oil now in the engine."""
    for j in reversed(drained):
        if symbol in samples[j].elements:
            return samples[j].elements[symbol]
    return None


def _why_not(begun: float, oil_age: float, break_in: float) -> WhyNot:
    """Why a sample is no evidence on the part; "" if it is."""
    return "break_in" if break_in > 0 and break_in - begun >= MOSTLY * oil_age else ""
