"""Weighings made by hand, to see what is said and drawn of them without weighing anything.

The figures are invented; they only have to hang together (a failure costs more than the job,
the costs of the trade-off lie on the line that it draws).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from riskmodel.decision.results import (
    Ahead,
    Chance,
    Interval,
    NewPartRule,
    PlanResult,
    TradeOff,
    Weighing,
)
from riskmodel.decision.weigh import recommended
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files

CASE = """
format = 1
[machine]
name = "Test car"
unit = "{unit}"
reading = 124000
usage_per_year = 11500
[life]
b50_prior = [120000, 300000]
[oil]
interval = 8000
next_change_in = 5200
[cost]
currency = "EUR"
planned = [2200, 3100]
failure = [11000, 18000]
[plan]
keep_years = 3
"""


def plain_case(unit: str = "km", extra: Mapping[str, bytes] | None = None, more: str = "") -> Case:
    """A real machine (not an example); `more` are lines of its [life], `extra` its tables."""
    text = CASE.format(unit=unit).replace("[life]\n", f"[life]\n{more}")
    return case_from_files({"case.toml": text.encode(), **(extra or {})})


def with_values(case: Case, section: str, **values: Any) -> Case:
    """The case with some values of one section replaced."""
    return replace(case, **{section: replace(getattr(case, section), **values)})


def spread(value: float, by: float = 1.4) -> Interval:
    return Interval(value, value / by, min(value * by, 1.0 if value <= 1 else np.inf))


def weighing(
    case: Case | None = None,
    *,
    costs: tuple[float, ...] = (5412.0, 5180.0, 5250.0, 5900.0, 6500.0, 7400.0),
    failures: tuple[float, ...] = (0.041, 0.094, 0.15, 0.2, 0.25, 0.3),
    chance: float = 0.06,
    crosses: bool = True,
    records: tuple[int, int] = (214, 61),
) -> Weighing:
    """An answer with these costs and chances: now, at each service, never."""
    case = plain_case() if case is None else case
    year = case.machine.usage_per_year
    keep, first, interval = case.keep, case.next_change_in, case.interval
    services = first + interval * np.arange(len(costs) - 2)
    plans = tuple(
        PlanResult(
            at=None if i == len(costs) - 1 else 0.0 if i == 0 else float(services[i - 1]),
            service=None if i == len(costs) - 1 else i,
            failure=spread(risk),
            present_failure=spread(max(risk - 0.02, 0.0)),
            alarm=Interval(0.0, 0.0, 0.0),
            cost=spread(cost),
            bad_case=3.1 * cost,
            chance_cheapest=0.62 if cost == min(costs) else 0.38 / (len(costs) - 1),
        )
        for i, (cost, risk) in enumerate(zip(costs, failures, strict=True))
    )
    best = recommended(
        case, np.array([0.0, *services, np.inf]), np.array(costs), np.array(failures)
    )
    later = 1 + int(np.argmin(costs[1:]))
    usage = np.linspace(0.0, keep, 61)

    def grown(usage: Any) -> Any:
        return 1 - (1 - chance) ** ((usage / first) ** 1.2)

    curve = grown(usage)
    lasts = plans[later].cost.value - chance * 15500.0
    fails = lasts + 15500.0
    cross = (plans[0].cost.value - lasts) / (fails - lasts) if crosses else None
    return Weighing(
        case=case,
        age=case.age,
        keep=keep,
        services=services,
        risk=(
            Chance("next_oil_change", first, spread(chance)),
            Chance("one_year", year, spread(grown(year))),
            Chance("keep_until", keep, spread(grown(keep), 1.25)),
        ),
        plans=plans,
        recommended=None if case.machine.symptoms else best,
        trade_off=None
        if case.machine.symptoms
        else TradeOff(
            until=first,
            later=later,
            chance=spread(chance),
            now=plans[0].cost,
            wait=plans[later].cost,
            if_lasts=lasts,
            if_fails=fails,
            break_even_chance=cross,
            break_even_failure_price=None if cross is None else 17650.0,
        ),
        ahead=Ahead(usage, curve, curve / 1.3, np.minimum(curve * 1.25, 1)),
        new_part_rule=NewPartRule(usage, np.zeros(61, dtype=np.int64), float(usage[1])),
        records_used=records[0],
        failures_used=records[1],
    )
