"""Arbitrary valid cases for property tests, drawn from the table of inputs itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import tomli_w
from hypothesis import strategies as st

from riskmodel.records.fleet_table import write_fleet
from riskmodel.records.inputs import BY_KEY, SECTIONS, UNITS, Input, inputs_of
from riskmodel.records.life_table import REMOVALS, write_records
from riskmodel.records.oil_table import write_samples
from riskmodel.records.tables import (
    CAUSES,
    OUTCOMES,
    WHYS,
    FleetSamples,
    LifeRecords,
    OilSample,
    OilSamples,
    Reading,
)

# Printable in any script; what begins a formula is refused in tables.
WORDS = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp", "Cn")), min_size=1, max_size=20
).filter(lambda text: text.strip() != "")
TABLE_WORDS = WORDS.map(str.strip).filter(lambda text: text[0] not in "=+-@")
DATES = st.dates(date(1960, 1, 1), date(2199, 12, 31))
EARLIER = st.dates(date(1950, 1, 1), date(1959, 12, 31))


def numbers(low: float, high: float, *, open_low: bool = False) -> st.SearchStrategy[float]:
    """Ordinary numbers from `low` (not itself where `open_low`) to `high`; whole ones too."""
    high = min(high, low + 1e6)
    floats = st.floats(low, high, exclude_min=open_low, allow_subnormal=False)
    first = int(low) + 1
    return floats | st.integers(first, int(high)) if first <= int(high) else floats


@st.composite
def quantities(draw: st.DrawFn, entry: Input) -> Any:
    """A number, or a range that stays clear of 0 (and a share's of 1)."""
    if draw(st.booleans()):
        return draw(numbers(entry.low, entry.high, open_low=entry.open_low))
    high = min(entry.high, 1 - 1e-6) if entry.kind == "share_quantity" else entry.high
    ends = numbers(max(entry.low, 1e-6), high, open_low=entry.open_low)
    return sorted([draw(ends), draw(ends)])


def raw_values(entry: Input) -> st.SearchStrategy[Any]:
    """What may stand in case.toml for one input, for itself."""
    match entry.kind:
        case "number" | "share":
            return numbers(entry.low, entry.high, open_low=entry.open_low)
        case "quantity" | "share_quantity":
            return quantities(entry)
        case "text":
            return WORDS
        case "texts":
            return st.lists(st.sampled_from(entry.choices), unique=True)
        case "flag":
            return st.booleans()
        case "choice":
            return st.sampled_from(entry.choices)
        case "date":
            return DATES.map(str) | DATES
    raise NotImplementedError(entry.kind)


@st.composite
def rows(draw: st.DrawFn, section: str, skip: tuple[str, ...] = ()) -> dict[str, Any]:
    return {
        entry.name: draw(raw_values(entry))
        for entry in inputs_of(section)
        if entry.name not in skip and (entry.required or entry.unless or draw(st.booleans()))
    }


# Drawn with the others in mind, in `raw_cases`.
_RELATED = {
    "machine.unit", "machine.reading", "machine.date", "machine.scrap", "machine.value",
    "part.fitted_at", "part.entered_at", "part.in_records", "part.traits", "life.records",
    "oil.samples", "oil.fleet", "oil.interval", "oil.every_months", "oil.next_change_in",
    "oil.turnaround", "plan.keep_years", "plan.keep_usage", "plan.sample", "plan.lay_up",
    "use.ahead",
}  # fmt: skip


@st.composite
def shares(draw: st.DrawFn, names: list[str]) -> dict[str, float]:
    """Shares of some kinds of use that add up to at most 1."""
    left, out = 1.0, {}
    for name in draw(st.lists(st.sampled_from(names), unique=True)) if names else []:
        out[name] = draw(st.floats(0, left))
        left = max(left - out[name], 0.0)
    return out


@st.composite
def raw_cases(draw: st.DrawFn) -> dict[str, Any]:
    """The contents of a valid case.toml without tables; any input may be stated or left out."""
    raw: dict[str, Any] = {"format": 1}
    for section in SECTIONS:
        raw[section] = {
            entry.name: draw(raw_values(entry))
            for entry in inputs_of(section)
            if entry.key not in _RELATED
            and entry.kind != "rows"
            and (entry.required or draw(st.booleans()))
        }
    machine, part, oil, plan, use = (raw[s] for s in ("machine", "part", "oil", "plan", "use"))
    machine["unit"] = draw(st.sampled_from(UNITS))
    machine["reading"] = draw(numbers(0, 1e6))
    raw["life"].setdefault("b50_prior", draw(quantities(BY_KEY["life.b50_prior"])))
    if draw(st.booleans()):
        part["fitted_at"] = draw(st.floats(0, machine["reading"]))
    age = machine["reading"] - part.get("fitted_at", 0)
    if draw(st.booleans()):
        part["entered_at"] = draw(st.floats(0, age))
    if draw(st.booleans()):
        machine["value"] = draw(numbers(0, 1e6))
        machine["scrap"] = draw(st.floats(0, machine["value"]))
    days = sorted([draw(DATES), draw(DATES)])
    if draw(st.booleans()):
        machine["date"] = draw(st.sampled_from([days[0], str(days[0])]))
    if draw(st.booleans()):
        plan["lay_up"] = str(days[1])
    _draw_services(draw, machine, oil, plan)
    _draw_use(draw, machine, part, use)
    oil["element"] = draw(st.lists(rows("oil.element", ("symbol",)), max_size=3))
    for row, symbol in zip(oil["element"], ("Pb", "Cu", "PQ_index"), strict=False):
        row["symbol"] = symbol
    if draw(st.booleans()):
        plan["sample"] = any(row["from_part"] for row in oil["element"]) and draw(st.booleans())
    for key in ("while_open", "consequence"):
        raw["cost"][key] = draw(st.lists(rows(f"cost.{key}"), max_size=2))
    for section in SECTIONS:
        for name in [name for name, value in raw[section].items() if value == []]:
            if draw(st.booleans()):  # an empty list may be stated or left out
                del raw[section][name]
    return raw


def _draw_services(
    draw: st.DrawFn, machine: dict[str, Any], oil: dict[str, Any], plan: dict[str, Any]
) -> None:
    """An oil interval, and a keep-until of at most 400 of them."""
    per_year = machine["usage_per_year"]
    interval = oil["interval"] = draw(st.floats(1e-3, 1e6))
    if draw(st.booleans()):
        oil["every_months"] = draw(st.floats(0.1, 100))
        interval = min(interval, oil["every_months"] / 12 * per_year)
    if draw(st.booleans()):
        oil["next_change_in"] = interval * draw(st.floats(1e-3, 1))
    if draw(st.booleans()):
        oil["turnaround"] = interval * draw(st.floats(0, 0.999))
    keep = interval * draw(st.floats(0.1, 399))
    years = keep / per_year
    if years > 60 or draw(st.booleans()):
        plan["keep_usage"] = keep
    else:
        plan["keep_years"] = years
        if draw(st.booleans()):
            plan["keep_usage"] = years * per_year


def _draw_use(
    draw: st.DrawFn, machine: dict[str, Any], part: dict[str, Any], use: dict[str, Any]
) -> None:
    names = draw(st.lists(WORDS, unique=True, max_size=3))
    population = draw(shares(names))
    use["kinds"] = [
        {"name": name, **draw(rows("use.kinds", ("name", "population_share")))} for name in names
    ]
    for row in use["kinds"]:
        if row["name"] in population:
            row["population_share"] = population[row["name"]]
    fitted, reading = part.get("fitted_at", 0), machine["reading"]
    ends = draw(st.lists(st.floats(fitted, reading, exclude_min=True), unique=True, max_size=3)
                if reading > fitted else st.just([]))  # fmt: skip
    use["stretches"] = [
        {"until": end}
        | draw(
            st.just({"unknown": True})
            | shares(names).map(lambda known: {"shares": known})
            | shares(names).map(lambda known: {"shares": known, "unknown": True})
        )
        for end in sorted(ends)
    ]
    if draw(st.booleans()):
        use["ahead"] = draw(shares(names))


def _column(draw: st.DrawFn, values: st.SearchStrategy[Any], count: int) -> list[Any]:
    return draw(st.lists(values, min_size=count, max_size=count))


@st.composite
def life_records(draw: st.DrawFn) -> LifeRecords:
    """Records of every outcome, each optional column and covariate present or not."""
    n = draw(st.integers(1, 6))
    age = np.array(_column(draw, st.floats(1e-3, 1e6), n))
    outcome = tuple(_column(draw, st.sampled_from(OUTCOMES), n))
    entered = age * np.array(_column(draw, st.floats(0, 0.9), n))
    between = entered + (age - entered) * np.array(_column(draw, st.floats(0, 0.9), n))
    known = [o != "failed" or draw(st.booleans()) for o in outcome]
    causes, whys = (
        _column(draw, st.sampled_from(CAUSES), n),
        _column(draw, st.sampled_from(WHYS), n),
    )
    covariates: dict[str, tuple[float | str, ...]] = {}
    if draw(st.booleans()):
        covariates["year"] = tuple(_column(draw, st.floats(-1e6, 1e6).map(lambda v: v + 0.0), n))
    if draw(st.booleans()):
        words = ["petrol", 'with "quotes"', "a, b; c", "é", "unknown"]
        covariates["fuel_type"] = tuple(_column(draw, st.sampled_from(words), n))
    return LifeRecords(
        age=age,
        outcome=outcome,
        age_from=np.where(known, np.nan, between),
        entered_at=entered * draw(st.sampled_from([0, 1])),
        count=np.array(_column(draw, st.integers(1, 10**9).map(float), n)),
        cause=tuple(c if o == "failed" else "wear" for c, o in zip(causes, outcome, strict=True)),
        why=tuple(w if o in REMOVALS else "scheduled" for w, o in zip(whys, outcome, strict=True)),
        covariates=covariates,
        columns=tuple(draw(st.permutations(("age", "outcome", *covariates)))),
    )


@st.composite
def oil_samples(draw: st.DrawFn, fitted: float, reading: float, symbols: list[str]) -> OilSamples:
    """Samples of a part fitted at `fitted`, up to the meter's `reading`."""
    n = draw(st.integers(1, 4))
    on_meter = draw(st.booleans())
    ages = sorted(_column(draw, st.floats((reading - fitted) / 100, reading - fitted), n))
    at = [min(fitted + age, reading) if on_meter else age for age in ages]
    days = sorted(_column(draw, EARLIER, n))
    sample_rows = []
    for position, day in zip(at, days, strict=True):
        age = position - fitted if on_meter else position
        ppm = st.floats(1e-3, 1e5) | st.integers(1, 999).map(float)
        measured = draw(st.lists(st.sampled_from(symbols), unique=True, min_size=1))
        sample_rows.append(
            OilSample(
                reading=position if on_meter else None,
                age=None if on_meter else position,
                oil_age=age * draw(st.floats(0.01, 1)),
                date=draw(st.none() | st.just(str(day))),
                top_up=draw(st.floats(0, 10)),
                lab=draw(st.just("") | TABLE_WORDS),
                elements={name: Reading(draw(ppm), draw(st.booleans())) for name in measured},
            )
        )
    first = "reading" if on_meter else "age"
    return OilSamples(tuple(sample_rows), (first, "oil_age", *draw(st.permutations(symbols))))


@st.composite
def fleets(draw: st.DrawFn, symbols: list[str]) -> FleetSamples:
    """Samples of up to three other engines, by the meter or the part's age, also mixed."""
    by = draw(st.sampled_from(("reading", "age")))
    names = draw(st.lists(TABLE_WORDS, min_size=1, max_size=3, unique=True))
    waiting: dict[str, list[OilSample]] = {}
    for name in names:
        waiting[name] = []
        for number, row in enumerate(draw(oil_samples(0.0, 5000.0, symbols)).rows):
            at = row.reading if row.age is None else row.age
            # told apart by their day: the same sample twice is refused, as is one of the case's own
            row = replace(row, reading=None, age=None, date=f"{1961 + number}-05-01")
            waiting[name].append(
                replace(row, reading=at) if by == "reading" else replace(row, age=at)
            )
    engine = draw(st.permutations([name for name, held in waiting.items() for _ in held]))
    return FleetSamples(
        tuple(waiting[name].pop(0) for name in engine),
        tuple(engine),
        tuple(draw(st.permutations(("engine", by, "oil_age", *symbols)))),
    )


@st.composite
def case_files(draw: st.DrawFn) -> dict[str, bytes]:
    """The files of a valid case, with or without records and samples."""
    raw = draw(raw_cases())
    files = {}
    if draw(st.booleans()):
        records = draw(life_records())
        raw["life"]["records"] = "lives of others.csv"
        raw["part"]["in_records"] = draw(st.booleans())
        files["lives of others.csv"] = write_records(records)
        raw["part"]["traits"] = {
            name: draw(st.sampled_from(levels))
            for name, levels in records.covariates.items()
            if draw(st.booleans())
        }
    fitted, reading = raw["part"].get("fitted_at", 0), raw["machine"]["reading"]
    symbols = [row["symbol"] for row in raw["oil"].get("element", [])]
    # The oil of a part of age 0 has no age either; early dates lie before any reading's.
    if symbols and reading - fitted > 1 and draw(st.booleans()):
        raw["oil"]["samples"] = "oil.csv"
        raw["machine"]["date"] = "2026-05-01"
        raw["plan"].pop("lay_up", None)
        files["oil.csv"] = write_samples(draw(oil_samples(fitted, reading, symbols)))
    if symbols and draw(st.booleans()):
        raw["oil"]["fleet"] = "other engines.csv"
        raw["machine"]["date"] = "2026-05-01"
        raw["plan"].pop("lay_up", None)
        fleet = draw(fleets(symbols))
        files["other engines.csv"] = write_fleet(fleet)
        told = {symbol for row in fleet.rows for symbol in row.elements}
        for row in raw["oil"]["element"]:
            if row["symbol"] in told and draw(st.booleans()):
                del row["typical"]  # learned
    return files | {"case.toml": tomli_w.dumps(raw).encode()}
