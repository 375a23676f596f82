"""Worlds for the coverage of intervals: an engine, what its owner tells, and what is true.

Everything that the case states as a range of what is not known is drawn from that range: the life
curve, harshness of use, what an untold stretch was, prices, the fitting fault, the new part's life.
Unsampled. All settings are judgement, near those of data/road-car; all is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.quantity import Quantity
from riskmodel.use.mix import Mix, mix_rate
from tests.life.made import joined
from tests.studies.coverage import B50_PRIOR, ERROR, LEAD, SHAPE_PRIOR, Rng, late, looked_at
from tests.studies.intervals_coverage_truth import CELLS, Truth

HARSHNESS, POPULATION = Quantity(0.8, 2.0), 0.3
INTERVALS = (8_000.0, 10_000.0, 16_000.0)
AGE = (40_000.0, 180_000.0)
NEW_PART_LIFE, FAULT, RATE = Quantity(0.6, 1.1), Quantity(0.005, 0.06, True), 0.03
PRICES = {
    "planned": (2_600.0, 1.25),
    "failure": (15_500.0, 1.3),
    "found_worn": (600.0, 2.0),
    "oil_change": (170.0, 1.2),
    "sale_credit": (550.0, 1.8),
    "install_fault_price": (9_000.0, 1.7),
}
"""Medians, and how far off by a factor the ends of the ranges are."""


@dataclass(frozen=True)
class World:
    """What the owner tells the tool, and what is so; `age` is the true effective age today, `ahead`
    the true effective usage per usage from now on."""

    case: Case
    truth: Truth
    age: float
    ahead: float


@dataclass(frozen=True)
class Wrong:
    """How use differs from what is told: the true `harshness` of hard use, how many times as hard
    as likely the untold stretch was, and how many times as fast as told the part ages `ahead`."""

    harshness: float | None = None
    untold: float = 1.0
    ahead: float = 1.0


@lru_cache(maxsize=1)
def _read() -> Case:
    told = {
        "format": 1,
        "machine": {"unit": "km", "reading": 1_000.0, "usage_per_year": 10_000.0},
        "life": {
            "shape_prior": [SHAPE_PRIOR.low, SHAPE_PRIOR.high],
            "b50_prior": [B50_PRIOR.low, B50_PRIOR.high],
            "finding_error": ERROR,
        },
        "use": {
            "kinds": [
                {
                    "name": "hard",
                    "harshness": [HARSHNESS.low, HARSHNESS.high],
                    "population_share": POPULATION,
                }
            ],
            "stretches": [{"until": 500.0, "unknown": True}, {"until": 1_000.0, "shares": {}}],
            "ahead": {},
        },
        "warning": {"visible_lead": [LEAD.low, LEAD.high]},
        "oil": {"interval": 10_000.0},
        "cost": {"planned": 1.0, "failure": 1.0, "discount_rate": RATE},
        "plan": {
            "keep_usage": 1_000.0,
            "new_part_life": [NEW_PART_LIFE.low, NEW_PART_LIFE.high],
            "sample": False,
        },
    }
    return case_from_files({"case.toml": tomli_w.dumps(told).encode()})


def _any(rng: Rng, quantity: Quantity) -> float:
    return float(quantity.quantile(rng.standard_normal()))


def draw_world(rng: Rng, parts: int, wrong: Wrong | None = None) -> World:
    """A world whose engine has lasted until today, with `parts` life records."""
    wrong = Wrong() if wrong is None else wrong
    case = _read()
    interval = float(rng.choice(INTERVALS))
    step = interval / CELLS

    def whole(usage: float) -> float:
        return step * max(1, round(usage / step))

    while True:
        shape, b50 = _any(rng, SHAPE_PRIOR), _any(rng, B50_PRIOR)
        scale = b50 / np.log(2) ** (1 / shape)
        age, bought = whole(rng.uniform(*AGE)), rng.uniform(0.2, 0.8)
        entered = whole(age * bought)
        own, ahead = (Mix({"hard": float(rng.uniform(0, 0.8))}) for _ in range(2))
        harsh, deviate = np.array([[_any(rng, HARSHNESS)]]), rng.standard_normal(1)
        if wrong.harshness is not None:
            harsh[:] = wrong.harshness
        rates = [
            float(mix_rate(mix, ["hard"], harsh, np.array([POPULATION]), deviate)[0, 0])
            for mix in (Mix({}, True), own, ahead)
        ]
        rates[0] *= wrong.untold
        rates[2] *= wrong.ahead
        then = rates[0] * entered
        now = then + rates[1] * (age - entered)
        if rng.exponential() > (now / scale) ** shape - (then / scale) ** shape:
            break
    stretches = (
        replace(case.use.stretches[0], until=entered),
        replace(case.use.stretches[1], until=age, shares=dict(own.shares)),
    )
    ranges = {}
    for name, (median, factor) in PRICES.items():
        middle = median * float(np.exp(0.25 * rng.standard_normal()))
        ranges[name] = Quantity(middle / factor, middle * factor)
    true = {name: _any(rng, quantity) for name, quantity in ranges.items()}
    per_year = whole(float(np.clip(12_000 * np.exp(0.35 * rng.standard_normal()), 5e3, 3e4)))
    keep = whole(per_year * float(rng.uniform(2.0, 8.0)))
    first = min(whole(interval * float(rng.uniform(0.05, 1.0))), interval)
    fault = _any(rng, FAULT)
    told = replace(
        case,
        machine=replace(case.machine, reading=age, usage_per_year=per_year),
        part=replace(case.part, entered_at=entered),
        use=replace(case.use, stretches=stretches, ahead=dict(ahead.shares)),
        oil=replace(case.oil, interval=interval, next_change_in=first),
        cost=replace(case.cost, install_fault=FAULT, **ranges),
        plan=replace(case.plan, keep_usage=keep),
        records=joined(
            late(rng, shape, scale, parts // 2), looked_at(rng, shape, scale, parts - parts // 2)
        ),
    )
    pace = rates[2]
    truth = Truth(
        shape=shape,
        scale=scale / pace,
        age=now / pace,
        new_life=_any(rng, NEW_PART_LIFE),
        planned=true["planned"],
        failure=true["failure"],
        found_worn=true["found_worn"],
        oil_change=true["oil_change"],
        fault=fault,
        fault_price=true["install_fault_price"],
        sale=true["sale_credit"],
        visible=(LEAD.low / pace, LEAD.high / pace),
        interval=interval,
        first=first,
        keep=keep,
        per_year=per_year,
        rate=RATE,
    )
    return World(told, truth, now, pace)
