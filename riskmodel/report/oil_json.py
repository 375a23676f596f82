"""What the oil samples say, as plain JSON values; the keys are a contract."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from riskmodel.oil.limits import OwnLimit
from riskmodel.oil.mass_balance import Rate, SampleRates
from riskmodel.records.case import Case
from riskmodel.risk.oil_look import OilLook
from riskmodel.words import cautions, example_banner

Json = dict[str, Any]


def oil_json(case: Case, look: OilLook) -> Json:
    """The object that `riskmodel oil --json` prints.

    Rates are in ppm per 1,000 units of usage. `limits` are for people; the decision rests on
    `factor`: how many times likelier a failure at each age has become because of the samples.
    """
    return {
        "unit": case.machine.unit,
        "example": example_banner(case),
        "from_part": {element.symbol: element.from_part for element in case.oil.element},
        "samples": [_sample(row) for row in look.rows],
        "limits": {symbol: _limit(limit) for symbol, limit in look.limits.items()},
        "factor": [
            {"failure_age": age, "factor": factor}
            for age, factor in zip(look.failure_age.tolist(), look.factor.tolist(), strict=True)
        ],
        "foresight": None if look.foresight is None else asdict(look.foresight),
        "cautions": cautions(case),
    }


def _sample(row: SampleRates) -> Json:
    return {
        "age": row.age,
        "oil_age": row.oil_age,
        "date": row.sample.date,
        "used": row.used,
        "why_not": row.why_not or None,
        "same_oil": row.same_oil,
        "new_lab": row.new_lab,
        "rates": {symbol: rate.point for symbol, rate in row.rates.items()},
        "ranges": {symbol: _range(rate) for symbol, rate in row.rates.items()},
    }


def _range(rate: Rate) -> list[float]:
    return [rate.low, rate.high]


def _limit(limit: OwnLimit | None) -> Json | None:
    """None where the samples are too few for a limit."""
    if limit is None:
        return None
    return {
        "level": limit.level,
        "scatter": limit.scatter,
        "limit": limit.limit,
        "samples": limit.samples,
        "false_alarm": limit.false_alarm,
        "above": list(limit.above),
    }
