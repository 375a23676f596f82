"""A case: one machine, its part, what is known about it, and the choice to be made.

Plain values, one field per row of the table of inputs (`riskmodel.records.inputs`), with
its default filled in. `None` means "not stated" where the default follows from other
inputs; the properties of `Case` resolve those.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import FleetSamples, LifeRecords, OilSamples


@dataclass(frozen=True, slots=True)
class Machine:
    name: str
    unit: Unit
    reading: float
    date: str | None
    usage_per_year: float
    symptoms: tuple[str, ...]
    value: float | None
    scrap: float | None
    value_later: Quantity | None
    upkeep: Quantity
    invented: bool


@dataclass(frozen=True, slots=True)
class Part:
    name: str
    fitted_at: float
    entered_at: float
    in_records: bool
    traits: Mapping[str, float | str]
    code: str
    lining: str


@dataclass(frozen=True, slots=True)
class Life:
    records: str | None
    reporting_ratio: float
    finding_error: float
    shape_prior: Quantity
    b50_prior: Quantity | None


@dataclass(frozen=True, slots=True)
class KindOfUse:
    name: str
    harshness: Quantity
    population_share: float


@dataclass(frozen=True, slots=True)
class Stretch:
    until: float
    shares: Mapping[str, float] | None
    unknown: bool


@dataclass(frozen=True, slots=True)
class Use:
    kinds: tuple[KindOfUse, ...]
    stretches: tuple[Stretch, ...]
    ahead: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Warning:
    lead: Quantity
    lead_factor: Quantity
    visible_lead: Quantity
    silent: Quantity


@dataclass(frozen=True, slots=True)
class Element:
    """`typical` and `scatter` that nobody stated hold their default until
    `riskmodel.oil.fleet.with_usual` takes them from other engines' samples."""

    symbol: str
    typical: Quantity
    scatter: float
    rise: Quantity
    noise: float
    from_part: bool


@dataclass(frozen=True, slots=True)
class Oil:
    samples: str | None
    fleet: str | None
    interval: float
    every_months: float | None
    next_change_in: float | None
    sump_litres: float
    carry_over: float
    resolution: float
    misleading: float
    shared_scatter: float
    break_in: float
    false_alarm: float
    turnaround: float
    retest_in: float
    investigation_sees: float
    life_gamma: float
    element: tuple[Element, ...]


@dataclass(frozen=True, slots=True)
class WhileOpen:
    job: str
    now: Quantity
    alone: Quantity
    chance: float
    one_time_use: bool


@dataclass(frozen=True, slots=True)
class Consequence:
    name: str
    amount: Quantity


@dataclass(frozen=True, slots=True)
class Cost:
    currency: str
    planned: Quantity
    urgent: Quantity | None
    failure: Quantity
    found_worn: Quantity
    investigation: Quantity
    sample: Quantity
    oil_change: Quantity
    install_fault: Quantity
    install_fault_price: Quantity | None
    discount_rate: float
    sale_credit: Quantity
    while_open: tuple[WhileOpen, ...]
    consequence: tuple[Consequence, ...]


@dataclass(frozen=True, slots=True)
class Inspection:
    cost: Quantity | None
    sees: float
    risk: float


@dataclass(frozen=True, slots=True)
class Plan:
    keep_years: float | None
    keep_usage: float | None
    new_part_life: Quantity
    sample: bool | None
    after_failure: str
    most_risk: float | None
    lay_up: str | None
    other_job: str
    other_job_in: float | None
    other_job_saves: Quantity
    do_without: Quantity | None
    booking_weeks: float


@dataclass(frozen=True, slots=True)
class Case:
    """Everything the tool holds of one machine.

    `stated` names the keys that were entered (all others hold their default), so that a
    case is written back as it came and the report can list what was assumed.
    """

    machine: Machine
    part: Part
    life: Life
    use: Use
    warning: Warning
    oil: Oil
    cost: Cost
    inspection: Inspection
    plan: Plan
    records: LifeRecords | None = None
    samples: OilSamples | None = None
    fleet: FleetSamples | None = None
    stated: frozenset[str] = field(default_factory=frozenset)

    @property
    def age(self) -> float:
        """Usage since the part was new."""
        return self.machine.reading - self.part.fitted_at

    @property
    def keep(self) -> float:
        """Usage from now until the machine is given up (the horizon)."""
        if self.plan.keep_usage is not None:
            return self.plan.keep_usage
        assert self.plan.keep_years is not None  # the reader requires one of the two
        return self.plan.keep_years * self.machine.usage_per_year

    @property
    def interval(self) -> float:
        """Usage between services: by the meter or by the calendar, whichever comes first."""
        return usage_between_services(
            self.oil.interval, self.oil.every_months, self.machine.usage_per_year
        )

    @property
    def sampled(self) -> bool:
        """Whether a sample is taken at each service from now on."""
        if self.plan.sample is not None:
            return self.plan.sample
        return any(element.from_part for element in self.oil.element)

    @property
    def next_change_in(self) -> float:
        """Usage from now to the next oil change."""
        stated = self.oil.next_change_in
        return self.interval if stated is None else stated


def usage_between_services(
    interval: float, every_months: float | None, usage_per_year: float
) -> float:
    """Usage from one oil change to the next, by the meter or the calendar, whichever is less."""
    if every_months is None:
        return interval
    return min(interval, every_months / 12 * usage_per_year)
