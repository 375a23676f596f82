"""What was entered and what was filled in, as short entries for print."""

from __future__ import annotations

from collections.abc import Callable

from riskmodel.records.case import Case
from riskmodel.records.inputs import INPUTS, JUDGEMENT, Input
from riskmodel.records.quantity import Quantity
from riskmodel.words import data_tables, formats, screen
from riskmodel.words.fields import unit_of
from riskmodel.words.use import untold_since

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
_TOLD = {"plan.after_failure", "plan.new_part_life"}
"""Of what is assumed, told on the first page: at the head, under the chances and the choices."""
_SHOWN = {"number", "quantity", "share", "share_quantity", "flag", "choice", "date"}
PLAINER = {
    "life.finding_error": "looks on record that judged wrongly",
    "life.shape_prior": "how sharply failures gather at one age (1: not at all; the Weibull shape)",
    "life.b50_prior": "age by which half of such parts fail, as believed",
    "warning.lead": "wear shown by the oil before a failure, by",
    "warning.lead_factor": "the warning in the oil longer or shorter, times",
    "warning.visible_lead": "wear seen on a part taken out before it fails, by",
    "warning.silent": "failures of which the oil says nothing",
    "oil.shared_scatter": "scatter shared within a sample",
    "cost.install_fault": "new parts that fail at once",
    "cost.discount_rate": "money a year later counts less by",
    "plan.new_part_life": "life of a new part against the first's",
    "plan.most_risk": "your limit: failures, at most",
}
"""Plainer than the labels of the page, where its help explains them."""
MOST = 4
"""Of a list of lines, so many are named."""


def entered(case: Case) -> list[tuple[str, str]]:
    """What the case states, by group: "Prices", "planned job 2,200 to 3,100 EUR; ...". Figures
    that are those the tool proposes anyway are left to `assumed`."""
    found = []
    for section, name in GROUPS.items():
        told = [
            _named_value(entry, value)
            for entry in INPUTS
            if entry.section == section and entry.key in case.stated and not _proposed(case, entry)
            for value in [_value(case, entry)]
            if value
        ]
        if section in _MORE:
            told += _MORE[section](case)
        if told:
            found.append((f"{_named(case, section, name)}:", f"{'; '.join(told)}."))
    return found


def assumed(case: Case) -> tuple[list[str], list[str]]:
    """What is as the tool proposes and the answer rests on: judgements, then what has a source or
    claims nothing."""
    judged: list[str] = []
    other: list[str] = []
    for entry in INPUTS:
        known = entry.section in GROUPS and entry.kind in _SHOWN and not entry.default_text
        if not known or entry.key in (_ELSEWHERE | _TOLD) or _idle(case, entry):
            continue
        if entry.key in case.stated and not _proposed(case, entry):
            continue
        value = _value(case, entry)
        if value:
            judged_so = entry.source.startswith(JUDGEMENT)
            (judged if judged_so else other).append(_named_value(entry, value))
    return judged, other


def _named(case: Case, section: str, name: str) -> str:
    """Prices with their currency, which then stands behind none of them."""
    currency = case.cost.currency
    return f"{name} ({currency})" if section == "cost" and currency else name


def _proposed(case: Case, entry: Input) -> bool:
    """Whether an input has the value that it has where nobody states it."""
    default = entry.default_for(case.machine.unit)
    if default is None or entry.required:
        return False
    value = getattr(getattr(case, entry.section), entry.name)
    if isinstance(value, Quantity):
        ends = default if isinstance(default, tuple) else (default, default)
        return (value.low, value.high) == tuple(ends)
    return bool(value == default)


def _named_value(entry: Input, value: str) -> str:
    if entry.key == "life.reporting_ratio":
        return f"broken engines reported {_readily(value)} as those still running"
    return f"{_label(entry)} {value}"


def _readily(ratio: str) -> str:
    return "as readily" if ratio == "1" else f"{ratio} times as readily"


def _label(entry: Input) -> str:
    """What an input is called within a sentence."""
    return PLAINER.get(entry.key) or entry.label[:1].lower() + entry.label[1:]


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
    unit = "" if entry.section == "cost" and entry.unit == "money" else unit_of(entry, case)
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
        return ["no records of other parts"]
    many = int(case.records.count.sum())
    invented = "invented " if case.machine.invented else ""
    return [f"{many:,} {invented}records of how long other parts lasted"]


def _samples(case: Case) -> list[str]:
    found = []
    if case.samples is not None and len(case.samples):
        rows = case.samples.rows
        dates = sorted(row.date for row in rows if row.date)
        until = f", the last of {formats.day(dates[-1])}" if dates else ""
        found.append(f"{formats.plural(len(rows), 'used-oil sample')}{until}")
    own = [element.symbol for element in case.oil.element if element.from_part]
    if own:
        found.append(f"metals taken as shed by the part: {_some(own)}")
    return found


def _lines(case: Case) -> list[str]:
    lines = [f"{line.name} {data_tables.money(line.amount, '')}" for line in case.cost.consequence]
    found = [f"after a failure also {_some(lines)}"] if lines else []
    jobs = [line.job for line in case.cost.while_open]
    many = formats.plural(len(jobs), "job")
    return [*found, f"prices of {many} in the same visit"] if jobs else found


def _use(case: Case) -> list[str]:
    many, found = len(case.use.stretches), []
    if many:
        since, up_to = untold_since(case), ""
        if since is not None:
            up_to = f", up to {formats.usage(since, case.machine.unit)}, not known since"
        found.append(f"past use told for {many} {'stretch' if many == 1 else 'stretches'}{up_to}")
    return [*found, "use to come told, by kinds"] if case.use.ahead else found


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
