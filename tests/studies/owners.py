"""Simulated owners: a true life curve each, what others recorded of it, an engine, prices.

The true shape and B50 come from the prior that the tool is given as well. A part whose owner asks
today has lasted until today: truths are drawn anew until it has, so that the survival is evidence.
Prices are exact quotes, spread about those of data/road-car. All is invented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import tomli_w
from numpy.typing import NDArray

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import LifeRecords
from tests.studies.owners_club import FINDING_ERROR, VISIBLE_LEAD, outliving

Floats = NDArray[np.float64]
Rng = np.random.Generator

SEED = 20_261_127
SHAPE, B50 = Quantity(1.6, 4.5), Quantity(90_000.0, 250_000.0)
NEW_PART_LIFE = Quantity(0.6, 1.1)
AGE = (40_000.0, 180_000.0)
INTERVALS = (7_500.0, 10_000.0, 15_000.0)
FAULT, RATE = 0.02, 0.03


@dataclass(frozen=True, slots=True)
class Misfit:
    """How the records and the engine differ from what the tool is told."""

    name: str
    other: float = 0.0  # share of the failures on record that are of another cause, told as wear
    reporting: float = 1.0  # failures are reported so many times as readily
    told: float = 1.0  # the reporting ratio that the tool is told
    lead: float = 1.0  # times, the lead
    silent: float = 1.0  # times, the silent share


AS_MODELLED = Misfit("own")
MISFITS = {
    each.name: each
    for each in (
        AS_MODELLED,
        Misfit("half-lead", lead=0.5),
        Misfit("twice-silent", silent=2.0),
        Misfit("other-causes", other=0.25),
        Misfit("reporting-5", reporting=5.0),
        Misfit("reporting-5-told", reporting=5.0, told=5.0),
    )
}


@dataclass(frozen=True, slots=True)
class Money:
    """Prices an owner pays."""

    planned: float
    urgent: float
    failure: float
    found_worn: float
    investigation: float
    sample: float
    oil_change: float
    fault_price: float
    sale_credit: float


@dataclass(frozen=True, slots=True)
class Owner:
    """One owner. `scale` is that of the first part; a new part lives `new_life` times as long.
    `keep` in usage from today; an oil change was done today."""

    number: int
    shape: float
    scale: float
    new_life: float
    age: float
    entered: float
    per_year: float
    keep: float
    interval: float
    money: Money

    @property
    def services(self) -> Floats:
        """Usage from today to each oil change strictly before keep-until."""
        count = max(0, math.ceil(self.keep * (1 - 1e-9) / self.interval) - 1)
        return self.interval * np.arange(1, count + 1, dtype=np.float64)

    def worth(self, usage: Any) -> Any:
        """What money at `usage` from today is worth today."""
        return (1 + RATE) ** (-np.asarray(usage, dtype=np.float64) / self.per_year)


def stream(number: int, what: int) -> Rng:
    """Random numbers of an owner: 0 its own, 1 its records, 2 on its luck."""
    return np.random.default_rng([SEED, number, what])


def draw_owner(number: int) -> Owner:
    rng = stream(number, 0)
    while True:
        shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (SHAPE, B50))
        scale = b50 / math.log(2) ** (1 / shape)
        age = float(rng.uniform(*AGE))
        entered = age * float(rng.uniform(0.0, 0.8)) if rng.random() < 0.6 else 0.0
        if outliving(rng, np.array([entered]), shape, scale)[0] > age:
            break
    times = np.exp(np.array([0.25, 0.3, 0.25, 0.3]) * rng.standard_normal(4))
    planned = 2_600.0 * times[0]
    money = Money(
        planned=planned,
        urgent=1.3 * planned,
        failure=15_500.0 * times[1],
        found_worn=600.0 * times[2],
        investigation=520.0 * times[3],
        sample=35.0,
        oil_change=170.0,
        fault_price=9_000.0,
        sale_credit=550.0,
    )
    per_year = float(np.clip(12_000 * math.exp(0.35 * rng.standard_normal()), 5_000, 30_000))
    return Owner(
        number=number,
        shape=shape,
        scale=scale,
        new_life=float(NEW_PART_LIFE.quantile(rng.standard_normal())),
        age=age,
        entered=entered,
        per_year=per_year,
        keep=per_year * float(rng.uniform(2.0, 8.0)),
        interval=float(rng.choice(INTERVALS)),
        money=money,
    )


METALS: tuple[dict[str, Any], ...] = (
    {"symbol": "Pb", "typical": [0.15, 0.9], "scatter": 1.3, "rise": [4.0, 20.0], "noise": 0.8},
    {"symbol": "Cu", "typical": [0.25, 1.2], "scatter": 1.3, "rise": [2.0, 10.0], "noise": 0.3},
    {"symbol": "Sn", "typical": [0.06, 0.35], "scatter": 1.35, "rise": [2.0, 8.0], "noise": 0.6},
)
LEAD, LEAD_FACTOR, SILENT = (4_000.0, 30_000.0), (0.5, 2.0), (0.1, 0.5)
TURNAROUND, CARRY_OVER, MISLEADING, SEES, FALSE_ALARM = 500.0, 0.1, 0.02, 0.8, 0.02


@lru_cache(maxsize=2)
def _read(sampled: bool) -> Case:
    """A case of this population through the package's own reader; its figures are replaced."""
    metals = [{**metal, "from_part": True} for metal in METALS] if sampled else []
    told = {
        "format": 1,
        "machine": {"unit": "km", "reading": 1_000.0, "usage_per_year": 1.0},
        "life": {
            "shape_prior": [SHAPE.low, SHAPE.high],
            "b50_prior": [B50.low, B50.high],
            "finding_error": FINDING_ERROR,
        },
        "use": {"stretches": [{"until": 1_000.0, "shares": {}}], "ahead": {}},
        "warning": {
            "lead": list(LEAD),
            "lead_factor": list(LEAD_FACTOR),
            "silent": list(SILENT),
            "visible_lead": [VISIBLE_LEAD.low, VISIBLE_LEAD.high],
        },
        "oil": {
            "interval": 10_000.0,
            "turnaround": TURNAROUND if sampled else 0.0,
            "carry_over": CARRY_OVER,
            "misleading": MISLEADING,
            "investigation_sees": SEES,
            "false_alarm": FALSE_ALARM,
            "shared_scatter": 0,
            "break_in": 0,
            "element": metals,
        },
        "cost": {"planned": 1.0, "failure": 1.0, "install_fault": FAULT, "discount_rate": RATE},
        "plan": {
            "keep_usage": 1.0,
            "new_part_life": [NEW_PART_LIFE.low, NEW_PART_LIFE.high],
            "sample": sampled,
        },
    }
    return case_from_files({"case.toml": tomli_w.dumps(told).encode()})


def case_of(
    owner: Owner, data: LifeRecords | None, sampled: bool = False, told: float = 1.0
) -> Case:
    """What the owner tells the tool today. `data` None: the owner knows the true curve."""
    case, money = _read(sampled), owner.money
    life = replace(case.life, reporting_ratio=told)
    if data is None:
        b50 = owner.scale * math.log(2) ** (1 / owner.shape)
        life = replace(life, shape_prior=exactly(owner.shape), b50_prior=exactly(b50))
    cost = replace(
        case.cost,
        planned=exactly(money.planned),
        urgent=exactly(money.urgent),
        failure=exactly(money.failure),
        found_worn=exactly(money.found_worn),
        investigation=exactly(money.investigation),
        sample=exactly(money.sample),
        oil_change=exactly(money.oil_change),
        install_fault_price=exactly(money.fault_price),
        sale_credit=exactly(money.sale_credit),
    )
    case = replace(
        case,
        machine=replace(case.machine, usage_per_year=owner.per_year),
        part=replace(case.part, entered_at=owner.entered),
        life=life,
        cost=cost,
        oil=replace(case.oil, interval=owner.interval),
        records=data,
    )
    return at_usage(case, owner, 0.0)


def at_usage(case: Case, owner: Owner, since: float) -> Case:
    """The case `since` so much usage from today, the part still in place."""
    reading = owner.age + since
    done = owner.interval * math.floor(since / owner.interval + 1e-9)  # the last oil change
    (stretch,) = case.use.stretches
    return replace(
        case,
        machine=replace(case.machine, reading=reading),
        use=replace(case.use, stretches=(replace(stretch, until=reading),)),
        oil=replace(case.oil, next_change_in=done + owner.interval - since),
        plan=replace(case.plan, keep_usage=owner.keep - since),
    )
