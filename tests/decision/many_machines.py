"""Many invented machines of one kind, from the bundled road car: for tests and benchmarks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from riskmodel.records.case import Case, Stretch
from riskmodel.records.files import read_case
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import OilSample, OilSamples, Reading

DATA = Path(__file__).parents[2] / "data"
SURGES = 0.1
"""Share of the machines whose last samples rise."""


def machines(
    count: int, *, seed: int = 7, samples: int = 10, base: str = "road-car", traits: bool = True
) -> list[Case]:
    """Cases of `count` machines that share their life records and little else: ages, use, prices,
    times to the next oil change, how long they are kept, and `samples` each."""
    case, rng = read_case(DATA / base), np.random.default_rng(seed)
    return [_machine(case, f"Invented machine {n}", rng, samples, traits) for n in range(count)]


def _machine(case: Case, name: str, rng: np.random.Generator, samples: int, traits: bool) -> Case:
    interval = case.oil.interval
    age = round(float(interval * rng.uniform(samples + 1, samples + 12)))
    held = round(float(rng.uniform(0.0, 0.7)) * age)
    own = {
        column: str(rng.choice(sorted({str(value) for value in values})))
        for column, values in (case.records.covariates if case.records else {}).items()
        if rng.random() < 0.7
    }
    rise = float(np.exp(rng.uniform(0.5, 2.0))) if rng.random() < SURGES else 1.0
    usual = {
        e.symbol: float(e.typical.median * np.exp(e.typical.spread * rng.standard_normal()))
        for e in case.oil.element
    }
    rows = []
    since = round(float(rng.uniform(0.05, 0.95)) * interval)
    for i in range(samples):
        behind = samples - 1 - i
        climb = rise if behind == 0 else rise**0.5 if behind == 1 else 1.0
        elements = {}
        for e in case.oil.element:
            rate = usual[e.symbol] * e.scatter ** float(rng.standard_normal())
            rate *= climb if e.from_part else 1.0
            ppm = 1.1 * rate * interval / 1000 + e.noise * float(rng.standard_normal())
            elements[e.symbol] = Reading(float(max(round(ppm), 0)))
        at = float(age - since - interval * behind)
        rows.append(
            OilSample(
                reading=at, age=None, oil_age=float(interval), date=None, top_up=0.0, lab="",
                elements=elements, line=i + 2,
            )
        )  # fmt: skip
    times = float(np.exp(0.2 * rng.standard_normal()))
    case = replace(
        case,
        machine=replace(
            case.machine,
            name=name,
            reading=float(age),
            usage_per_year=float(case.machine.usage_per_year * np.exp(0.3 * rng.standard_normal())),
            symptoms=("knock",) if rng.random() < 0.002 else (),
        ),
        part=replace(
            case.part,
            fitted_at=0.0,
            entered_at=float(held),
            traits=own if traits else {},
        ),
        use=replace(case.use, stretches=()),
        cost=replace(
            case.cost,
            failure=_times(case.cost.failure, float(np.exp(0.3 * rng.standard_normal()))),
            planned=_times(case.cost.planned, times),
        ),
        plan=replace(case.plan, keep_years=float(rng.choice([2.0, 3.0, 5.0])), keep_usage=None),
        stated=case.stated - {"use.stretches"},
        samples=OilSamples(tuple(rows), ("reading", "oil_age", *usual)),
    )
    left = float(round((1 - since / interval) * case.interval)) or 1.0
    return replace(case, oil=replace(case.oil, next_change_in=left))


def driven_by(case: Case, rng: np.random.Generator) -> Case:
    """The machine with two stretches of use drawn, its harshness left to the records (whose column
    of use must name the case's kinds)."""
    names = [kind.name for kind in case.use.kinds]
    first, later = (
        dict(zip(names, map(float, rng.dirichlet(np.ones(len(names)))), strict=True))
        for _ in range(2)
    )
    stretches = (
        Stretch(float(rng.uniform(0.3, 0.7)) * case.age, first, False),
        Stretch(case.age, later, False),
    )
    stated = {key for key in case.stated if "harshness" not in key} | {"use.stretches"}
    use = replace(case.use, stretches=stretches, ahead=later)
    return replace(case, use=use, stated=frozenset(stated))


def _times(price: Quantity, by: float) -> Quantity:
    return Quantity(price.low * by, price.high * by)
