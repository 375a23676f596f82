"""What was entered and what was filled in, as short entries for print."""

from __future__ import annotations

from collections.abc import Callable

from riskmodel.records.case import Case
from riskmodel.records.inputs import INPUTS, JUDGEMENT, Input
from riskmodel.records.quantity import Quantity
from riskmodel.words import data_tables, formats, screen
from riskmodel.words.fields import unit_of

GROUPS = {
    "machine": "Machine",
    "part": "Part",
    "life": "How long such parts last",
    "use": "Use",
    "warning": "Warning before a failure",
    "oil": "Oil",
    "cost": "Prices",
    "inspection": "A look at the part",
    "plan": "Plan",
}
_ELSEWHERE = {"machine.name", "machine.unit", "machine.date", "machine.invented", "part.name"}
"""Told at the head of the report."""
_SHOWN = {"number", "quantity", "share", "share_quantity", "flag", "choice", "date"}
MOST = 4
"""Of a list of lines, so many are named."""


def entered(case: Case) -> list[tuple[str, str]]:
    """What the case states, by group: "Prices", "planned job 2,200 to 3,100 EUR; ..."."""
    found = []
    for section, name in GROUPS.items():
        told = [
            f"{entry.label}: {value}"
            for entry in INPUTS
            if entry.section == section and entry.key in case.stated
            for value in [_value(case, entry)]
            if value
        ]
        if section in _MORE:
            told += _MORE[section](case)
        if told:
            found.append((name, "; ".join(told)))
    return found


def assumed(case: Case) -> list[str]:
    """What the case leaves to the tool and the answer rests on, each with where it is from."""
    found = []
    for entry in INPUTS:
        known = entry.section in GROUPS and entry.kind in _SHOWN and not entry.default_text
        if not known or entry.key in case.stated or entry.key in _ELSEWHERE or _idle(case, entry):
            continue
        value = _value(case, entry)
        if value:
            source = JUDGEMENT if entry.source.startswith(JUDGEMENT) else ""
            found.append(f"{entry.label}: {value}{f' ({source})' if source else ''}")
    return found


def _idle(case: Case, entry: Input) -> bool:
    """Whether nothing in this case rests on it."""
    oil_only = entry.section == "warning" and entry.name != "visible_lead"
    of_samples = entry.section == "oil" and entry.name not in ("interval", "every_months")
    if (oil_only or of_samples) and not case.oil.element:
        return True
    if entry.section == "inspection":
        return case.inspection.cost is None
    if entry.section == "life" and entry.name in ("reporting_ratio", "finding_error"):
        return case.records is None
    return getattr(getattr(case, entry.section), entry.name) in (0, 0.0, Quantity(0, 0), "", False)


def _value(case: Case, entry: Input) -> str:
    value = getattr(getattr(case, entry.section), entry.name)
    if value is None or entry.key in _ELSEWHERE or entry.kind not in _SHOWN:
        return ""
    if entry.kind == "date":
        return formats.day(value)
    if entry.kind == "flag":
        return "yes" if value else "no"
    if entry.kind == "choice":
        return screen.CHOICES.get(entry.key, {}).get(value, str(value))
    unit = unit_of(entry, case)
    scale = 100 if "share" in entry.kind or entry.unit == "per year" else 1
    unit = "%" if entry.unit == "per year" else unit
    figures = _figures(value, scale)
    return f"{figures}{formats.NBSP}{unit}".strip() if unit else figures


def _figures(value: float | Quantity, scale: float) -> str:
    if isinstance(value, Quantity):
        low, high = (formats.exact(round(scale * x, 6)) for x in (value.low, value.high))
        return low if value.exact else f"{low} to {high}"
    return formats.exact(round(scale * value, 6))


def _records(case: Case) -> list[str]:
    if case.records is None:
        return ["No records of other parts"]
    many = int(case.records.count.sum())
    invented = "invented " if case.machine.invented else ""
    return [f"{many:,} {invented}life records of other parts, as collected by whoever entered them"]


def _samples(case: Case) -> list[str]:
    found = []
    if case.samples is not None and len(case.samples):
        rows = case.samples.rows
        dates = sorted(row.date for row in rows if row.date)
        until = f", the last of {formats.day(dates[-1])}" if dates else ""
        found.append(f"{formats.sentence(formats.plural(len(rows), 'used-oil sample'))}{until}")
    own = [element.symbol for element in case.oil.element if element.from_part]
    if own:
        found.append(f"Metals taken as shed by the part: {_some(own)}")
    return found


def _lines(case: Case) -> list[str]:
    lines = [
        f"{line.name} {data_tables.money(line.amount, case.cost.currency)}"
        for line in case.cost.consequence
    ]
    found = [f"After a failure also: {_some(lines)}"] if lines else []
    jobs = [line.job for line in case.cost.while_open]
    return [*found, f"Jobs in the same visit: {_some(jobs)}"] if jobs else found


def _use(case: Case) -> list[str]:
    many, found = len(case.use.stretches), []
    if many:
        found.append(f"Past use told for {many} {'stretch' if many == 1 else 'stretches'}")
    return [*found, "Use to come told, by kinds"] if case.use.ahead else found


def _names(case: Case) -> list[str]:
    told = [text for text in (case.part.code, case.part.lining) if text]
    told += [f"{key.replace('_', ' ')}: {value}" for key, value in case.part.traits.items()]
    return [_some(told)] if told else []


def _some(texts: list[str]) -> str:
    more = len(texts) - MOST
    return ", ".join(texts[:MOST]) + (f" and {more} more" if more > 0 else "")


_MORE: dict[str, Callable[[Case], list[str]]] = {
    "life": _records,
    "use": _use,
    "oil": _samples,
    "cost": _lines,
    "part": _names,
}
