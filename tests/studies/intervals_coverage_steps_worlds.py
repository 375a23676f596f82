"""Worlds for the coverage of `intervals_coverage_steps`: an engine with samples, what its owner
tells, and what is so.

As those of `intervals_coverage_sampled`, but lighter (two or three oil changes ahead, records
without looks), and with all that a second sample, a look and a sale need. The metals of a sample
share no scatter: the simulation that says what is true knows of none. Settings are judgement,
near those of data/road-car; all is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import tomli_w

from riskmodel.oil.mass_balance import PER, wear_rates
from riskmodel.oil.surge import held, marks
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import OilSamples
from tests.simulation.case import Case as Played
from tests.simulation.case import Quantity as Ranged
from tests.simulation.sampled_case import Element, Sample, SampledCase, Share
from tests.studies.coverage import B50_PRIOR, SHAPE_PRIOR, Rng, late
from tests.studies.intervals_coverage_sampled import NEW_PART_LIFE, metals_told
from tests.studies.intervals_coverage_sampled import PRICES as OF_JOBS
from tests.studies.misfits_oil import Engine, draw_engine
from tests.studies.misfits_oil import World as OilWorld
from tests.studies.oil_calibration import (
    CARRY_OVER,
    LEAD,
    LEAD_FACTOR,
    METALS,
    MISLEADING,
    SILENT,
    SUMP,
)

KEEP_YEARS, PER_YEAR, RATE = 3.0, 10_000.0, 0.03
INTERVALS, AGES = (10_000.0, 15_000.0), (60_000.0, 180_000.0)
VISIBLE = Quantity(8_000.0, 50_000.0)
RETEST_IN, TURNAROUND = 500.0, 500.0
FALSE_ALARM, INVESTIGATION_SEES = 0.02, 0.8
SEES, DAMAGE = 0.8, 0.004
OIL_CHANGE, SAMPLE = 170.0, 35.0
FAULT = Quantity(0.005, 0.06, True)
PRICES = {**OF_JOBS, "install_fault_price": Quantity(5_000.0, 15_000.0)}
LOOK = Quantity(250.0, 600.0)
VALUE, LATER = 9_000.0, Quantity(4_500.0, 8_000.0)
UPKEEP, WITHOUT = Quantity(700.0, 1_400.0), (3_700.0, 1.5)
"""What a year without the machine costs: the median over owners, and how far off by a factor the
ends of an owner's own range are."""

SURGES = ("last", "earlier", "never")
"""Where a reading beyond its mark is: in the last sample, in earlier ones alone, in none."""


@dataclass(frozen=True)
class Money:
    """What is so of what a sale and a look take and give."""

    look: float
    later: float
    upkeep: float
    without: float


@dataclass(frozen=True)
class World:
    """What the owner tells the tool, what is so as the simulation takes it, and money."""

    told: Case
    true: SampledCase
    money: Money


@lru_cache(maxsize=1)
def _read() -> Case:
    def ends(quantity: Quantity) -> list[float]:
        return [quantity.low, quantity.high]

    metals = metals_told()
    told = {
        "format": 1,
        "machine": {
            "unit": "km",
            "reading": 1_000.0,
            "usage_per_year": PER_YEAR,
            "value": VALUE,
            "value_later": ends(LATER),
            "upkeep": ends(UPKEEP),
        },
        "life": {"shape_prior": ends(SHAPE_PRIOR), "b50_prior": ends(B50_PRIOR)},
        "use": {"stretches": [{"until": 1_000.0, "shares": {}}], "ahead": {}},
        "warning": {
            "lead": list(LEAD),
            "lead_factor": list(LEAD_FACTOR),
            "silent": list(SILENT),
            "visible_lead": ends(VISIBLE),
        },
        "oil": {
            "interval": 10_000.0,
            "break_in": 0,
            "sump_litres": SUMP,
            "carry_over": CARRY_OVER,
            "misleading": MISLEADING,
            "shared_scatter": 0,
            "false_alarm": FALSE_ALARM,
            "investigation_sees": INVESTIGATION_SEES,
            "turnaround": TURNAROUND,
            "retest_in": RETEST_IN,
            "element": metals,
        },
        "cost": {
            **{k: ends(q) for k, q in PRICES.items()},
            "install_fault": ends(FAULT),
            "oil_change": OIL_CHANGE,
            "sample": SAMPLE,
            "discount_rate": RATE,
        },
        "inspection": {"cost": ends(LOOK), "sees": SEES, "risk": DAMAGE},
        "plan": {"keep_years": KEEP_YEARS, "new_part_life": ends(NEW_PART_LIFE)},
    }
    return case_from_files({"case.toml": tomli_w.dumps(told).encode()})


def _any(rng: Rng, quantity: Quantity) -> float:
    return float(quantity.quantile(rng.standard_normal()))


def draw_world(rng: Rng, parts: int) -> World:
    """A world whose engine has lasted until today, with `parts` life records."""
    while True:
        shape, b50 = _any(rng, SHAPE_PRIOR), _any(rng, B50_PRIOR)
        scale, age = b50 / np.log(2) ** (1 / shape), float(rng.uniform(*AGES))
        if rng.exponential() > (age / scale) ** shape:
            break
    case, interval = _read(), float(rng.choice(INTERVALS))
    engine = draw_engine(rng, OilWorld("own", shared=0.0), age, interval, shape, scale)
    last = engine.samples.rows[-1].age if len(engine.samples) else age
    middle, factor = WITHOUT[0] * float(np.exp(0.35 * rng.standard_normal())), WITHOUT[1]
    without = Quantity(middle / factor, middle * factor)
    told = replace(
        case,
        machine=replace(case.machine, reading=age),
        use=replace(case.use, stretches=(replace(case.use.stretches[0], until=age),)),
        oil=replace(case.oil, interval=interval, next_change_in=interval - (age - last)),
        plan=replace(case.plan, do_without=without),
        records=late(rng, shape, scale, parts, 0.5),
        samples=engine.samples if len(engine.samples) else None,
    )
    money = Money(*(_any(rng, each) for each in (LOOK, LATER, UPKEEP, without)))
    return World(told, _true(rng, told, engine, (shape, scale)), money)


def surges(case: Case) -> str:
    """In which samples a reading lies beyond its mark, what a fill would show on average just
    before failure: one of `SURGES`. How `riskmodel/oil/surge.py` takes it does not matter."""
    rows = [row for row in wear_rates(case) if row.used]
    if not rows:
        return SURGES[2]
    beyond = np.zeros(len(rows), dtype=np.bool_)
    age, oil_age, top_up = np.array([(r.age, r.oil_age, r.top_up_rate) for r in rows]).T
    for metal in (metal for metal in case.oil.element if metal.from_part):
        rates = [row.rates[metal.symbol] for row in rows]
        with np.errstate(divide="ignore"):
            low, high = np.log(np.array([(rate.low, rate.high) for rate in rates])).T
        usual = metal.typical.median * oil_age / PER
        scale = np.hypot(np.log(metal.scatter), metal.noise / usual)
        rise = float(np.log(metal.rise.median))
        mark = marks(age, oil_age, top_up, case.warning.lead.median, rise)
        centre, spread = float(np.log(metal.typical.median)), metal.typical.spread
        beyond |= held(low, high, scale, centre, spread, mark)[0] != low
    return SURGES[0] if beyond[-1:].any() else SURGES[1] if beyond.any() else SURGES[2]


def _true(rng: Rng, told: Case, engine: Engine, curve: tuple[float, float]) -> SampledCase:
    """The same as the simulation takes it, with all drawn that the owner does not know."""
    price = {name: Ranged.exact(_any(rng, quantity)) for name, quantity in PRICES.items()}
    base = Played(
        shape=curve[0],
        scale=curve[1],
        age=engine.today,
        interval=told.interval,
        next_change_in=told.next_change_in,
        usage_per_year=PER_YEAR,
        keep_usage=KEEP_YEARS * PER_YEAR,
        planned=price["planned"],
        failure=price["failure"],
        visible_lead=Ranged.between(VISIBLE.low, VISIBLE.high),
        install_fault=_any(rng, FAULT),
        install_fault_price=price["install_fault_price"],
        rate=RATE,
        oil_change=Ranged.exact(OIL_CHANGE),
        new_part_life=Ranged.exact(_any(rng, NEW_PART_LIFE)),
    )
    elements = tuple(
        Element(m.symbol, Ranged.between(*m.typical), m.scatter, Ranged.between(*m.rise), m.noise)
        for m in METALS
    )
    return SampledCase(
        base,
        elements,
        lead=Ranged.between(*LEAD),
        lead_factor=Ranged.exact(engine.factor),
        silent=Share(float(np.log(engine.silent / (1 - engine.silent)))),
        false_alarm=FALSE_ALARM,
        investigation_sees=INVESTIGATION_SEES,
        turnaround=TURNAROUND,
        sample=Ranged.exact(SAMPLE),
        investigation=price["investigation"],
        urgent=price["urgent"],
        carry_over=CARRY_OVER,
        misleading=MISLEADING,
        history=_history(engine.samples),
    )


def _history(samples: OilSamples) -> tuple[Sample, ...]:
    """The laboratory's whole numbers, each good for half a ppm to either side."""
    found = []
    for row in samples.rows:
        assert row.age is not None
        readings = {
            symbol: (0.0, read.value / 2, read.value)
            if read.below
            else (read.value - 0.5, float(read.value), read.value + 0.5)
            for symbol, read in row.elements.items()
        }
        found.append(Sample(row.age, row.oil_age, 0.0, readings))
    return tuple(found)
