"""What the inputs of a case must be to one another, and to its tables.

Each check runs only where the inputs it compares could be read; it names the key that is
most likely the wrong one, and quotes the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from riskmodel.records.case import usage_between_services
from riskmodel.records.case_reader import Draft
from riskmodel.records.errors import Problem, did_you_mean, one_of, plain, shown
from riskmodel.records.fleet_table import COLUMNS as FLEET_COLUMNS
from riskmodel.records.scalars import SYMBOL
from riskmodel.records.tables import FleetSamples, LifeRecords, OilSample, OilSamples
from riskmodel.records.toml_text import Path
from riskmodel.records.values import Notes, spelt

MOST_SERVICES = 400
"""Services within keep-until; more is a slip in the interval (and would be slow)."""
_ROUNDING = 1e-9  # shares written with a few decimals may not add up to 1 exactly


def compare_inputs(draft: Draft, notes: Notes) -> None:
    """The checks among the inputs of case.toml; the problems go into `notes`."""
    for check in (_meter, _money, _keep, _services, _life, _use, _oil, _dates):
        check(draft, draft.values, notes)


def _meter(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    if not draft.has("machine.reading", "part.fitted_at"):
        return
    reading, fitted = v["machine.reading"], v["part.fitted_at"]
    if fitted > reading:
        notes.add(
            ("part", "fitted_at"), plain(fitted), f"not more than machine.reading, {plain(reading)}"
        )
    elif draft.has("part.entered_at") and v["part.entered_at"] > reading - fitted:
        found = plain(v["part.entered_at"])
        expected = f"not more than the part's age, {plain(reading - fitted)}"
        notes.add(("part", "entered_at"), found, expected)


def _money(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    if draft.has("machine.value", "machine.scrap") and v["machine.scrap"] > v["machine.value"]:
        found = plain(v["machine.scrap"])
        expected = f"not more than machine.value, {plain(v['machine.value'])}"
        notes.add(("machine", "scrap"), found, expected)


def _keep(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    if not draft.stated & {"plan.keep_years", "plan.keep_usage"}:
        notes.add(
            ("plan", "keep_years"),
            "neither keep_years nor keep_usage",
            "one of them: how long you will keep the machine",
        )
    if draft.has("plan.keep_years", "plan.keep_usage", "machine.usage_per_year"):
        by_years = v["plan.keep_years"] * v["machine.usage_per_year"]
        if abs(by_years - v["plan.keep_usage"]) > 1e-3 * v["plan.keep_usage"]:
            found = plain(v["plan.keep_usage"])
            expected = (
                f"keep_years times usage_per_year, {plain(by_years)} (or only one of the two)"
            )
            notes.add(("plan", "keep_usage"), found, expected)


def _services(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    if not draft.has("oil.interval", "machine.usage_per_year"):
        return
    interval = usage_between_services(
        v["oil.interval"], v.get("oil.every_months"), v["machine.usage_per_year"]
    )
    key = "interval" if interval == v["oil.interval"] else "every_months"
    for name, limit in (("next_change_in", "not more than"), ("turnaround", "less than")):
        value = v.get(f"oil.{name}")
        if value is None or value < interval or (value == interval and limit[0] == "n"):
            continue
        expected = f"{limit} the usage between oil changes, {plain(interval)} (oil.{key})"
        notes.add(("oil", name), plain(value), expected)
    keep = v.get("plan.keep_usage")
    if keep is None and draft.has("plan.keep_years"):
        keep = v["plan.keep_years"] * v["machine.usage_per_year"]
    if keep is not None and keep / interval > MOST_SERVICES:
        found = f"{keep / interval:.0f} services before you give the machine up"
        expected = f"at most {MOST_SERVICES}: a longer interval or a shorter time"
        notes.add(("oil", key), found, expected)


def _life(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    if not draft.stated & {"life.records", "life.b50_prior"}:
        notes.add(
            ("life", "records"),
            "neither records nor b50_prior",
            "life records, or a belief about the life by which half fail",
        )
    if v.get("part.in_records") and "life.records" not in draft.stated:
        notes.add(("part", "in_records"), "true without life.records", "the records, or false")
    tables = ("life.records", "oil.samples", "oil.fleet")
    for place, key in enumerate(tables):
        for other in tables[:place]:
            name = v.get(key)
            if name is not None and name.lower() == str(v.get(other)).lower():
                path = ("oil", key.partition(".")[2])
                notes.add(path, f"{shown(name)}, as {other}", "a file of its own")


def _use(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    kinds: Sequence[Mapping[str, Any]] = v.get("use.kinds") or ()
    _each_once([row.get("name") for row in kinds], ("use", "kinds"), "name", notes)
    total = sum(row.get("population_share", 0.0) for row in kinds)
    if total > 1 + _ROUNDING:
        found = f"population shares that add up to {plain(round(total, 9))}"
        notes.add(("use", "kinds"), found, "at most 1; the rest is ordinary use")
    names = [row["name"] for row in kinds if "name" in row]
    unread = len(names) < len(kinds) or "use.kinds" not in v
    if draft.has("use.ahead"):
        _check_shares(v["use.ahead"], names, unread, ("use", "ahead"), notes)
    stretches: Sequence[Mapping[str, Any]] = v.get("use.stretches") or ()
    last = v.get("part.fitted_at")
    if last is not None and last > v.get("machine.reading", last):
        last = None  # told already
    for index, row in enumerate(stretches):
        path: Path = ("use", "stretches", index)
        stated = f"{spelt(path)}.shares" in draft.stated
        if "shares" in row and row["shares"] is not None:
            _check_shares(row["shares"], names, unread, (*path, "shares"), notes)
        if not stated and row.get("unknown") is False:
            notes.add(path, "neither shares nor unknown", "shares = { ... }, or unknown = true")
        until = row.get("until")
        if until is None:
            continue
        if last is not None and until <= last:
            what = "where the stretch before ends" if index else "part.fitted_at"
            expected = f"more than {plain(last)}, {what} (the oldest stretch first)"
            notes.add((*path, "until"), plain(until), expected)
        elif draft.has("machine.reading") and until > v["machine.reading"]:
            expected = f"not more than machine.reading, {plain(v['machine.reading'])}"
            notes.add((*path, "until"), plain(until), expected)
        last = until


def _check_shares(
    shares: Mapping[str, float], names: Sequence[str], unread: bool, path: Path, notes: Notes
) -> None:
    for name in shares:
        if name not in names and not unread:
            expected = (
                f"{one_of(names)}{did_you_mean(name, names)}"
                if names
                else "no shares, as use.kinds has no kind of use"
            )
            notes.add(path, f"the unknown kind of use {shown(name)}", expected)
    total = sum(shares.values())
    if total > 1 + _ROUNDING:
        found = f"shares that add up to {plain(round(total, 9))}"
        notes.add(path, found, "at most 1; the rest is ordinary use")


def _each_once(
    names: Sequence[str | None], path: Path, key: str, notes: Notes, fold: bool = False
) -> None:
    seen: set[str] = set()
    for index, name in enumerate(names):
        if name is None:
            continue
        if (folded := name.lower() if fold else name) in seen:
            notes.add((*path, index, key), f"{shown(name)} once more", "each once")
        seen.add(folded)


def _oil(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    elements: Sequence[Mapping[str, Any]] = v.get("oil.element") or ()
    _each_once([row.get("symbol") for row in elements], ("oil", "element"), "symbol", notes, True)
    for index, row in enumerate(elements):
        symbol = row.get("symbol")
        if symbol is not None and (not SYMBOL.fullmatch(symbol) or symbol.lower() in FLEET_COLUMNS):
            path = ("oil", "element", index, "symbol")
            notes.add(path, shown(symbol), "a chemical symbol or short word, such as Fe")
    shed = [row["from_part"] for row in elements if "from_part" in row]
    if v.get("plan.sample") and "oil.element" in v and not any(shed) and len(shed) == len(elements):
        notes.add(
            ("plan", "sample"),
            "true, without an element from the part",
            "an [[oil.element]] with from_part = true, or false",
        )


def _dates(draft: Draft, v: Mapping[str, Any], notes: Notes) -> None:
    if draft.has("machine.date", "plan.lay_up") and v["plan.lay_up"] < v["machine.date"]:
        expected = f"a day not before machine.date, {v['machine.date']}"
        notes.add(("plan", "lay_up"), v["plan.lay_up"], expected)


def compare_records(records: LifeRecords, draft: Draft, notes: Notes) -> None:
    """The case against its life records: enough to learn from, and traits that they know."""
    learns = any(
        (outcome == "failed" and cause != "other") or outcome == "removed_worn"
        for outcome, cause in zip(records.outcome, records.cause, strict=True)
    )
    if not learns and "life.b50_prior" not in draft.stated:
        notes.add(
            ("life", "b50_prior"),
            "nothing, and records without a failure by wear or a part removed worn",
            "a belief about the life by which half fail",
        )
    for name, value in (draft.values.get("part.traits") or {}).items():
        levels = records.covariates.get(name)
        path = ("part", "traits", name)
        if levels is None:
            known = ", ".join(records.covariates) or "none"
            hint = did_you_mean(name, records.covariates)
            notes.add(path, "an unknown trait", f"a covariate of the records: {known}{hint}")
        elif isinstance(levels[0], str):
            words = sorted({str(level) for level in levels})
            if value not in words:
                hint = did_you_mean(value, words) if isinstance(value, str) else ""
                notes.add(path, shown(value), f"{one_of(words)}, as in the records{hint}")
        elif isinstance(value, str):
            notes.add(path, shown(value), "a number, as in the records")


def compare_samples(samples: OilSamples, draft: Draft, file: str) -> list[Problem]:
    """The samples against the case: not from before the part, nor from after today."""
    v = draft.values
    problems = []

    def note(line: int, column: str, found: str, expected: str) -> None:
        problems.append(Problem(file, f"line {line}, column {column}", found, expected))

    reading = v.get("machine.reading")
    fitted = v.get("part.fitted_at")
    for sample in samples.rows:
        if reading is None or fitted is None or fitted > reading:
            break
        on_meter = sample.reading is not None
        column = "reading" if on_meter else "age"
        at = sample.reading if sample.reading is not None else sample.age
        assert at is not None  # the table has one of the two
        first, last = (fitted, reading) if on_meter else (0.0, reading - fitted)
        if at > last:
            what = "machine.reading" if on_meter else "the part's age today"
            note(sample.line, column, plain(at), f"not more than {what}, {plain(last)}")
        elif at < first:
            expected = f"a sample of this part, fitted at {plain(fitted)} (part.fitted_at)"
            note(sample.line, column, plain(at), expected)
        elif sample.oil_age > at - first:
            expected = f"not more than the part's age at the sample, {plain(at - first)}"
            note(sample.line, "oil_age", plain(sample.oil_age), expected)
    today = v.get("machine.date")
    for sample in samples.rows:
        if today is not None and sample.date is not None and sample.date > today:
            note(sample.line, "date", sample.date, f"a day not after machine.date, {today}")
    return problems


def compare_fleet(
    fleet: FleetSamples, own: OilSamples | None, draft: Draft, notes: Notes
) -> list[Problem]:
    """Samples of other engines against the case: not from after today, not this engine's own,
    and of every element whose usual level is to be learned from them."""
    v = draft.values
    file = v["oil.fleet"]
    mine = {} if own is None else {_content(row): row.line for row in own.rows}
    today = v.get("machine.date")
    problems = []
    for sample in fleet.rows:
        if today is not None and sample.date is not None and sample.date > today:
            where = f"line {sample.line}, column date"
            expected = f"a day not after machine.date, {today}"
            problems.append(Problem(file, where, sample.date, expected))
        if len(sample.elements) > 1 and _content(sample) in mine:
            found = f"this engine's own sample, on line {mine[_content(sample)]} of its samples"
            expected = "samples of other engines"
            problems.append(Problem(file, f"line {sample.line}", found, expected))
    measured = {symbol for sample in fleet.rows for symbol in sample.elements}
    for index, row in enumerate(v.get("oil.element") or ()):
        symbol = row.get("symbol")
        stated = f"oil.element[{index + 1}].typical" in draft.stated
        if symbol is not None and not stated and symbol not in measured:
            found = f"nothing, and no sample in {file} that tells of {symbol}"
            notes.add(("oil", "element", index, "typical"), found, "a usual level, or such samples")
    return problems


def _content(sample: OilSample) -> tuple[object, ...]:
    """All that tells one sample from another; not who measured it."""
    at = sample.age if sample.reading is None else sample.reading
    return (at, sample.oil_age, sample.date, tuple(sorted(sample.elements.items())))
