"""Cases with records of many kinds, all invented, drawn with fixed seeds."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from functools import cache

from riskmodel.decision.sensitivity import WhatIf, life_sensitivity
from riskmodel.page.examples import example
from riskmodel.records.case import Case
from riskmodel.records.files import changed
from riskmodel.risk.learned import Learned, learned
from tests.words.weighings import plain_case

Row = tuple[object, ...]


def with_records(head: str, rows: Iterable[Row], more: str = "") -> Case:
    """The plain case (124,000 km, half of such parts believed to fail by 120,000 to 300,000 km)
    with these records."""
    table = "\n".join([head, *(",".join(map(str, row)) for row in rows)]) + "\n"
    return plain_case("km", {"records.csv": table.encode()}, f'records = "records.csv"\n{more}')


def _life(draw: random.Random, shape: float, scale: float) -> float:
    return scale * (-math.log(1 - draw.random())) ** (1 / shape)


def _watched(draw: random.Random, life: float, low: float, high: float) -> tuple[int, str]:
    until = draw.uniform(low, high)
    return round(min(life, until)), "failed" if life < until else "running"


def _no_failure() -> Case:
    return with_records("age,outcome", [(90000 + 1013 * i, "running") for i in range(20)])


def _few() -> Case:
    ages = [(90000, "failed"), (140000, "failed"), (100000, "running"), (151000, "running")]
    return with_records("age,outcome", ages)


def _conflict() -> Case:
    draw = random.Random(1)
    rows = [(round(_life(draw, 3, 40000)), "failed") for _ in range(25)]
    return with_records("age,outcome", [*rows, *[(30000, "running")] * 5])


def _late() -> Case:
    draw, rows = random.Random(3), list[Row]()
    while len(rows) < 40:
        life, entered = _life(draw, 2.5, 180000), draw.uniform(30000, 90000)
        age, outcome = _watched(draw, life, entered + 10000, entered + 80000)
        if life > entered:
            rows.append((age, outcome, round(entered)))
    return with_records("age,outcome,entered_at", rows)


def _intervals() -> Case:
    """Failures of which only an earlier age is known at which the part still ran."""
    draw, rows = random.Random(4), list[Row]()
    for _ in range(40):
        age, outcome = _watched(draw, _life(draw, 3, 150000), 40000, 200000)
        rows.append((age, outcome, round(0.7 * age) if outcome == "failed" else ""))
    return with_records("age,outcome,age_from", rows)


def _levels() -> Case:
    """A level without failures, one that shortens life, and a number."""
    draw, rows = random.Random(5), list[Row]()
    for _ in range(80):
        use, load = draw.choice(["town", "motorway", "racing"]), round(draw.uniform(500, 2500))
        factor = {"town": 1.0, "motorway": 1.6, "racing": 0.6}[use]
        life = _life(draw, 3, 180000 * factor * (1500 / load) ** 0.3)
        age, outcome = _watched(draw, life, 20000, 160000)
        rows.append((age, "running" if use == "motorway" else outcome, use, load))
    return with_records("age,outcome,kind_of_use,trailer_load", rows)


CASES = {
    "road car": lambda: example("road-car"),
    "working boat": lambda: example("work-boat"),
    "no records": plain_case,
    "no failure": _no_failure,
    "few": _few,
    "conflict": _conflict,
    "late entry": _late,
    "intervals": _intervals,
    "levels": _levels,
    "road car, no traits": lambda: changed(example("road-car"), {"part.traits": {}}),
    "road car, shape known": lambda: changed(example("road-car"), {"life.shape_prior": 2.5}),
}


@cache
def case_of(name: str) -> Case:
    return CASES[name]()


@cache
def learned_of(name: str) -> tuple[Case, Learned]:
    """A case and what was learned from it, worked out once."""
    case = case_of(name)
    return case, learned(case)


@cache
def sensitivity_of(name: str) -> tuple[WhatIf, ...]:
    """The answer to a case under other assumptions, worked out once: it takes seconds."""
    return life_sensitivity(case_of(name))
