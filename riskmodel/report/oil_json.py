"""What the oil samples say, as plain JSON values; the keys are a contract."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from riskmodel.oil.fleet import Fleet, FleetElement, lying_above
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
    `fleet` is what other engines' samples tell, null without any; `above` counts this engine's
    samples from 0.
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
        "fleet": None if look.fleet is None else _fleet(case, look, look.fleet),
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


def _fleet(case: Case, look: OilLook, fleet: Fleet) -> Json:
    return {
        "file": case.oil.fleet,
        "engines": fleet.engines,
        "samples": fleet.samples,
        "left_out": fleet.left_out,
        "elements": {symbol: _learned(look, held) for symbol, held in fleet.elements.items()},
        "rates": [
            {
                "engine": name,
                "age": row.age,
                "oil_age": row.oil_age,
                "used": row.used,
                "rates": {symbol: rate.point for symbol, rate in row.rates.items()},
            }
            for name, rows in fleet.rows.items()
            for row in rows
        ],
    }


def _learned(look: OilLook, held: FleetElement) -> Json:
    """What is usual, what the case takes for it and from where, and the limits."""
    told, use = held.usual, held.use
    return {
        "usual": {
            "typical": [told.typical.low, told.typical.high],
            "scatter": told.scatter,
            "scatter_range": list(told.scatter_range),
            "between": told.between,
            "between_range": list(told.between_range),
            "engines": told.engines,
            "samples": told.samples,
            "unread": held.unread,
        },
        "used": {
            "typical": [use.typical.low, use.typical.high],
            "typical_from": "case" if use.typical_stated else "fleet",
            "scatter": use.scatter,
            "scatter_from": "case" if use.scatter_stated else "fleet",
        },
        "limits": _fleet_limits(look, held),
    }


def _fleet_limits(look: OilLook, held: FleetElement) -> Json | None:
    """None where the samples are too few for any."""
    limits = held.limits
    if limits is None:
        return None

    def above(limit: float | None) -> list[int]:
        return [] if limit is None else list(lying_above(look.rows, held.symbol, limit))

    return {
        "looks_normal": limits.looks_normal,
        "parametric": limits.parametric,
        "control": [asdict(c) | {"above": above(c.limit)} for c in limits.control],
        "percentile": [asdict(p) | {"above": above(p.limit)} for p in limits.percentile],
    }
