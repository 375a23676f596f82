"""What each event costs, and how unsure those prices are.

A plan is evaluated as discounted counts of events (`EVENTS`); its cost is the dot product
of those counts with the prices here, so a change of price recomputes no probability.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from riskmodel.records.case import Case, WhileOpen
from riskmodel.records.quantity import Quantity, exactly, scaled

Floats = NDArray[np.float64]

EVENTS: Final = (
    "fitting",
    "urgent",
    "failure",
    "found_worn",
    "oil_change",
    "sample",
    "investigation",
    "sale",
    "opened",
    "in_place",
    "together",
)
(
    FITTING,
    URGENT,
    FAILURE,
    FOUND_WORN,
    OIL_CHANGE,
    SAMPLE,
    INVESTIGATION,
    SALE,
    OPENED,
    IN_PLACE,
    TOGETHER,
) = range(len(EVENTS))
"""A fitting is a planned one; an urgent one follows an alarm. The present part alone is `opened`,
once, when it is replaced before it fails; `in_place` is the usage until it is replaced or fails,
discounted: what jobs done with it spare grows with what is left of the time. It is replaced
`together` with another job that is due where the plan does so."""
OF_NEW: Final = OPENED
"""Events before this one happen to newly fitted parts as well."""


@dataclass(frozen=True, slots=True)
class PriceDraws:
    """Possible values of the prices; every array (draws,)."""

    planned: Floats
    urgent: Floats
    failure: Floats
    found_worn: Floats
    oil_change: Floats
    sample: Floats
    investigation: Floats
    sale: Floats
    fault: Floats
    fault_price: Floats
    hardware: Floats
    jobs: Floats
    jobs_alone: Floats
    together: Floats

    def events(self) -> Floats:
        """Expected price of each event given the draw; shape (draws, events)."""
        faulty = self.fault * self.fault_price
        return np.stack(
            [
                self.planned + self.hardware + faulty,
                self.urgent + self.hardware + faulty,
                self.failure,
                self.found_worn,
                self.oil_change,
                self.sample,
                self.investigation,
                -self.sale,
                self.jobs,
                self.jobs_alone,
                -self.together,
            ],
            axis=1,
        )


@dataclass(frozen=True, slots=True)
class Job:
    """Something else that is done while access is open: its price then, `now`, and what waiting
    for it to be needed on its own costs per unit of usage, `alone`; `hardware` is new at every
    fitting, other jobs are done once."""

    now: Quantity
    alone: Quantity
    hardware: bool


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices of the events, each exact or a range that is not known.

    `failure` are the lines that a failure costs: the engine itself, then each consequence.
    `fault_price` None means that a fitting fault costs what a failure costs, `urgent` None that
    the job at short notice costs what the planned one does.
    """

    planned: Quantity
    urgent: Quantity | None
    failure: tuple[Quantity, ...]
    found_worn: Quantity
    oil_change: Quantity
    sample: Quantity
    investigation: Quantity
    sale_credit: Quantity
    fault: Quantity
    fault_price: Quantity | None
    jobs: tuple[Job, ...] = ()
    together: Quantity = field(default_factory=lambda: exactly(0.0))

    def means(self) -> Floats:
        """Expected price of each event; shape (events,). A sale is money received."""
        failure = sum(line.mean for line in self.failure)
        fault_price = failure if self.fault_price is None else self.fault_price.mean
        faulty = self.fault.mean * fault_price
        urgent = self.planned if self.urgent is None else self.urgent
        hardware = sum(job.now.mean for job in self.jobs if job.hardware)
        return np.array(
            [
                self.planned.mean + hardware + faulty,
                urgent.mean + hardware + faulty,
                failure,
                self.found_worn.mean,
                self.oil_change.mean,
                self.sample.mean,
                self.investigation.mean,
                -self.sale_credit.mean,
                sum(job.now.mean for job in self.jobs if not job.hardware),
                sum(job.alone.mean for job in self.jobs),
                -self.together.mean,
            ]
        )

    @property
    def unknown(self) -> int:
        """How many of the prices and chances here are ranges."""
        return sum(not quantity.exact for quantity in self._all())

    def draw(self, uniforms: Floats) -> PriceDraws:
        """The prices at points of the unit cube, `uniforms` of shape (draws, unknown)."""
        columns = iter(ndtri(uniforms).T)
        still = np.zeros(len(uniforms))
        planned, urgent, worn, oil, sample, look, sale, fault, fault_price, *rest = (
            quantity.quantile(still if quantity.exact else next(columns))
            for quantity in self._all()
        )
        together, *rest = rest
        failure, lines = rest[: len(self.failure)], rest[len(self.failure) :]
        now, alone = lines[::2], lines[1::2]
        hardware, jobs = np.zeros((2, len(uniforms)))
        for job, price in zip(self.jobs, now, strict=True):
            if job.hardware:
                hardware += price
            else:
                jobs += price
        whole = np.sum(failure, axis=0)
        if self.fault_price is None:
            fault_price = whole
        if self.urgent is None:
            urgent = planned
        return PriceDraws(
            planned,
            urgent,
            whole,
            worn,
            oil,
            sample,
            look,
            sale,
            fault,
            fault_price,
            hardware,
            jobs,
            np.sum(alone, axis=0) if alone else still,
            together,
        )

    def _all(self) -> tuple[Quantity, ...]:
        fault_price = exactly(0.0) if self.fault_price is None else self.fault_price
        return (
            self.planned,
            exactly(0.0) if self.urgent is None else self.urgent,
            self.found_worn,
            self.oil_change,
            self.sample,
            self.investigation,
            self.sale_credit,
            self.fault,
            fault_price,
            self.together,
            *self.failure,
            *(price for job in self.jobs for price in (job.now, job.alone)),
        )

    def with_failure_price(self, price: float) -> Prices:
        """The same with the engine's own failure price known to be `price`."""
        return replace(self, failure=(exactly(price), *self.failure[1:]))


def prices_of(case: Case) -> Prices:
    cost = case.cost
    return Prices(
        planned=cost.planned,
        urgent=cost.urgent,
        failure=(cost.failure, *(line.amount for line in cost.consequence)),
        found_worn=cost.found_worn,
        oil_change=cost.oil_change,
        sample=cost.sample if case.sampled else exactly(0.0),
        investigation=cost.investigation,
        sale_credit=cost.sale_credit,
        fault=cost.install_fault,
        fault_price=cost.install_fault_price,
        jobs=tuple(
            Job(line.now, scaled(line.alone, line.chance / case.keep), line.one_time_use)
            for line in cost.while_open
            if done_with_it(line)
        ),
        together=case.plan.other_job_saves,
    )


def done_with_it(line: WhileOpen) -> bool:
    """Whether a job is done while access is open: hardware that is used once always, other jobs
    where their price then is below what they may cost alone later."""
    return line.one_time_use or line.now.mean < line.chance * line.alone.mean
