"""What samples of other engines tell: usual levels, their scatter, and limits to draw.

Their rates come by the same mass balance as this engine's, with its sump, carry-over and rounding:
what differs in theirs is taken for wear. Samples of an engine's break-in are left out, by its
meter where its part's age is not given. A level or a scatter that the case states is never
replaced by what is learned; the two stand side by side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.limits import FEWEST, FleetLimits, above, fleet_limits
from riskmodel.oil.mass_balance import Rate, SampleRates, wear_rate, wear_rates
from riskmodel.oil.usual import Usual, usual
from riskmodel.records.case import Case, Element
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import OilSamples

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A limit to draw: so many standard deviations above the mean of ln rate, or the rate below
    which a share of the samples lie; in ppm per 1,000 units of usage."""

    kind: Literal["deviations", "share"]
    at: float
    limit: float


@dataclass(frozen=True, slots=True)
class InUse:
    """The level and the scatter that the answer takes, and whether the case states them.

    What is learned is taken to three figures: it bears no more, and can be read where it stands.
    """

    typical: Quantity
    typical_stated: bool
    scatter: float
    scatter_stated: bool


@dataclass(frozen=True, slots=True)
class FleetElement:
    """One element in other engines' samples.

    `limits` is None with fewer than three samples. `unread` samples show less of it than the
    laboratory can tell: they count as half the most that they allow.
    """

    symbol: str
    usual: Usual
    limits: FleetLimits | None
    unread: int
    use: InUse

    @property
    def drawn(self) -> tuple[Drawn, ...]:
        """The limits to draw, lowest first: standard deviations where the samples bear them,
        else percentages as far as they are many enough for any."""
        if self.limits is None:
            return ()
        if self.limits.parametric:
            return tuple(Drawn("deviations", c.deviations, c.limit) for c in self.limits.control)
        told = self.limits.percentile
        return tuple(Drawn("share", p.fraction, p.limit) for p in told if p.limit is not None)


@dataclass(frozen=True, eq=False, slots=True)
class Fleet:
    """Rates of other engines' samples, by engine, and what is learned of each element."""

    rows: Mapping[str, tuple[SampleRates, ...]]
    elements: Mapping[str, FleetElement]

    @property
    def engines(self) -> int:
        return len(self.rows)

    @property
    def samples(self) -> int:
        return sum(map(len, self.rows.values()))

    @property
    def left_out(self) -> int:
        """Samples of a break-in."""
        return sum(not row.used for rows in self.rows.values() for row in rows)


def fleet(case: Case) -> Fleet | None:
    """What the other engines' samples of a case tell; None where it has none."""
    if case.fleet is None:
        return None
    rows = _rates(case)
    elements = {}
    for number, element in enumerate(case.oil.element, start=1):
        found = _learned(case, rows, element)
        if found is not None:
            stated = [
                f"oil.element[{number}].{name}" in case.stated for name in ("typical", "scatter")
            ]
            told, unread, limits = found
            use = InUse(
                element.typical if stated[0] else _plain(told.typical),
                stated[0],
                element.scatter if stated[1] else float(f"{told.scatter:.3g}"),
                stated[1],
            )
            elements[element.symbol] = FleetElement(element.symbol, told, limits, unread, use)
    return Fleet(rows, elements)


def with_usual(case: Case) -> Case:
    """The case with the levels and scatters that it does not state, as other engines tell them.

    The same case where it has no such samples or states all of them; applied twice it is the
    same as once. Raises CannotAnswer where a level is left to samples that all are of a
    break-in.
    """
    if case.fleet is None:
        return case
    stated = [
        f"oil.element[{number}].{name}" in case.stated
        for number in range(1, len(case.oil.element) + 1)
        for name in ("typical", "scatter")
    ]
    found = None if all(stated) else fleet(case)
    if found is None:
        return case
    elements = []
    for number, element in enumerate(case.oil.element, start=1):
        told = found.elements.get(element.symbol)
        if told is not None:
            element = replace(element, typical=told.use.typical, scatter=told.use.scatter)
        elif f"oil.element[{number}].typical" not in case.stated:
            raise CannotAnswer(
                f"The usual level of {element.symbol} is not stated, and all samples of other "
                "engines that tell of it are from an engine's running in. State typical for it, "
                "or add later samples."
            )
        elements.append(element)
    return replace(case, oil=replace(case.oil, element=tuple(elements)))


def lying_above(rows: Sequence[SampleRates], symbol: str, limit: float) -> tuple[int, ...]:
    """Which of an engine's samples lie above a limit of one element, by their places."""
    rates = [row.rates[symbol].point if symbol in row.rates else np.nan for row in rows]
    return above(rates, limit)


def _rates(case: Case) -> dict[str, tuple[SampleRates, ...]]:
    assert case.fleet is not None
    columns = case.fleet.columns
    theirs = replace(case, part=replace(case.part, fitted_at=0.0))
    return {
        name: wear_rates(replace(theirs, samples=OilSamples(rows, columns)))
        for name, rows in case.fleet.by_engine().items()
    }


def _learned(
    case: Case, rows: Mapping[str, tuple[SampleRates, ...]], element: Element
) -> tuple[Usual, int, FleetLimits | None] | None:
    """What is usual, how many samples show less than can be told, and the limits; None without
    a sample that counts."""
    told = [
        (name, row, row.rates[element.symbol])
        for name, held in rows.items()
        for row in held
        if row.used and element.symbol in row.rates
    ]
    if not told:
        return None
    engine = tuple(name for name, _, _ in told)
    values = np.array([_value(rate) for _, _, rate in told])
    step = np.array([_rounded(rate, case.oil.resolution) for _, _, rate in told])
    per_ppm = np.array([float(wear_rate(1.0, 0.0, r.oil_age, r.top_up_rate)) for _, r, _ in told])
    noise = np.hypot(element.noise, step) * per_ppm / _levels(values, engine)
    found = _usual(tuple(values.tolist()), engine, tuple(noise.tolist()))
    unread = sum(rate.reading.below or rate.point <= 0 for _, _, rate in told)
    limits = fleet_limits(values, engine) if len(values) >= FEWEST else None
    return found, unread, limits


@lru_cache(maxsize=64)  # a page asks for the same again at every change
def _usual(rates: tuple[float, ...], engine: tuple[str, ...], noise: tuple[float, ...]) -> Usual:
    return usual(rates, engine, noise)


def _plain(held: Quantity) -> Quantity:
    return Quantity(float(f"{held.low:.3g}"), float(f"{held.high:.3g}"))


def _value(rate: Rate) -> float:
    """A rate less than the rounding can tell counts as half the most that the reading allows."""
    return max(rate.point, rate.high / 2)


def _rounded(rate: Rate, resolution: float) -> float:
    """What rounding alone makes of a reading, one standard deviation [ppm]."""
    return (rate.reading.value if rate.reading.below else resolution) / float(np.sqrt(12))


def _levels(values: Floats, engine: Sequence[str]) -> Floats:
    """The rate about which each sample's noise is reckoned (samples,): its engine's median, that
    of all where the engine's samples are too few; not its own, or low ones would count less."""
    names = np.array(engine)
    levels = np.full(len(values), float(np.median(values)))
    for name in set(engine):
        own = names == name
        if own.sum() >= FEWEST:
            levels[own] = np.median(values[own])
    return levels
