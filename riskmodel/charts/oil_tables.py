"""The figures behind the charts of the oil, as frames with headings that a person can read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from riskmodel.charts.oil_factor import FactorCurve
from riskmodel.charts.oil_rates import symbols
from riskmodel.oil.fleet import Fleet
from riskmodel.oil.limits import OwnLimit
from riskmodel.oil.linings import Lining
from riskmodel.oil.mass_balance import Rate, SampleRates
from riskmodel.records.case import Case
from riskmodel.records.inputs import Unit
from riskmodel.words import formats, oil_fleet, oil_linings
from riskmodel.words.oil_names import element, sample

FACTOR_ROWS = 9


def rates(
    case: Case, rows: Sequence[SampleRates], limits: Mapping[str, OwnLimit | None]
) -> pd.DataFrame:
    """Every sample with its rates, then the limit of the next one."""
    own, others = symbols(case, rows)
    unit = case.machine.unit
    names = {symbol: formats.sentence(element(symbol)) for symbol in (*own, *others)}
    told: list[dict[str, str]] = [
        {
            "Sample": sample(case, row),
            "Part's age": formats.usage(row.age, unit),
            "Usage on the oil": formats.usage(row.oil_age, unit),
            "Counts": "yes" if row.used else "no: running in",
        }
        | {names[s]: _rate(row.rates.get(s)) for s in names}
        for row in rows
    ]
    told.append(
        {"Sample": "Limit for the next one", "Part's age": "", "Usage on the oil": "", "Counts": ""}
        | {names[s]: _figure(limit.limit) if (limit := limits.get(s)) else "none" for s in names}
    )
    frame = pd.DataFrame(told)
    if any(row.new_lab for row in rows):
        frame.insert(1, "Laboratory", [*(row.sample.lab for row in rows), ""])
    on_meter = case.part.fitted_at == 0 and all(row.sample.reading is not None for row in rows)
    return frame.drop(columns="Part's age") if on_meter else frame


def factor(case: Case, curve: FactorCurve) -> pd.DataFrame:
    """The oil factor by even steps of the age at failure."""
    age = np.linspace(curve.age[0], curve.age[-1], FACTOR_ROWS)
    middle, low, high = (
        np.interp(age, curve.age, y) for y in (curve.factor, curve.low, curve.high)
    )
    unit = f"{formats.NBSP}{case.machine.unit}"
    return pd.DataFrame(
        [
            {
                "Failing at": formats.significant(float(at), 4) + unit,
                "Times as likely": _figure(float(value)),
                "As judgements vary": f"{_figure(float(a))} to {_figure(float(b))}",
            }
            for at, value, a, b in zip(age, middle, low, high, strict=True)
        ]
    )


def _rate(rate: Rate | None) -> str:
    """A rate with the ends of its rounding."""
    if rate is None:
        return "not measured"
    if rate.point <= 0:
        return f"under {_figure(rate.high)}"
    ends = f"({_figure(rate.low)} to {_figure(rate.high)})".replace(" ", formats.NBSP)
    return f"{_figure(rate.point)} {ends}"


def _figure(value: float) -> str:
    return formats.significant(value, 2) if value < 10 else formats.number(round(value))


def fleet(case: Case, found: Fleet) -> pd.DataFrame:
    """What is usual in other engines, beside what the case states, one row for each metal."""
    return pd.DataFrame(oil_fleet.level_table(case, found))


def linings() -> pd.DataFrame:
    """Every lining that is known here, what it sheds and where that is from."""
    return pd.DataFrame(oil_linings.lining_table())


def starting(lining: Lining, unit: Unit) -> pd.DataFrame:
    """The metals of a lining with the values to start from, each with its source."""
    return pd.DataFrame(oil_linings.starting_table(lining, unit))
