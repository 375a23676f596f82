"""A case to fill in: every input with its meaning, and a few invented records.

The text comes from the table of inputs; only the values of the example are chosen here.
Inputs that have a default stand there as comments.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomli_w

from riskmodel.records.csv_text import written
from riskmodel.records.docs import default_words, form_words
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.files import (
    CASE_FILE,
    FLEET_FILE,
    RECORDS_FILE,
    SAMPLES_FILE,
    write_files,
)
from riskmodel.records.inputs import SECTIONS, TYPED, UNITS, Input, Unit, inputs_of
from riskmodel.records.units import NAMES
from riskmodel.records.values import raw_of

_WIDTH = 96
_FILLED = ("machine.name", "machine.invented", "part.name", "life.records", "plan.keep_years")
"""Written out beside the required ones, for the case to stand on its own."""

_USAGE: Mapping[Unit, Mapping[str, Any]] = {
    "km": {"reading": 150_000, "per_year": 12_000, "interval": 8_000, "b50": [180_000, 320_000]},
    "mi": {"reading": 93_000, "per_year": 7_500, "interval": 5_000, "b50": [110_000, 200_000]},
    "h": {"reading": 3_800, "per_year": 300, "interval": 100, "b50": [4_500, 8_000]},
}

# Invented lives in thousands of km: (age, outcome, entered at, count).
_LIVES = (
    (96, "failed", 0, 1),
    (127, "failed", 40, 1),
    (148, "failed", 0, 1),
    (163, "failed", 85, 1),
    (181, "failed", 0, 1),
    (204, "failed", 60, 1),
    (139, "removed_worn", 0, 1),
    (172, "removed_worn", 0, 1),
    (118, "removed_unworn", 0, 2),
    (155, "removed_unworn", 0, 1),
    (133, "removed", 0, 1),
    (62, "running", 0, 4),
    (91, "running", 0, 5),
    (124, "running", 30, 4),
    (151, "running", 0, 5),
    (176, "running", 50, 3),
    (198, "running", 0, 3),
    (231, "running", 0, 2),
)
_PER_THOUSAND_KM: Mapping[Unit, int] = {"km": 1000, "mi": 620, "h": 25}


def _examples(unit: Unit) -> dict[str, Any]:
    """Values of the example, for the inputs that are required or have no default to show."""
    usage = _USAGE[unit]
    return {
        "machine.name": "Example machine",
        "machine.unit": unit,
        "machine.reading": usage["reading"],
        "machine.date": "2026-05-01",
        "machine.usage_per_year": usage["per_year"],
        "machine.symptoms": ["knock"],
        "machine.value": 9000,
        "machine.scrap": 1500,
        "machine.value_later": [4500, 7000],
        "machine.upkeep": [700, 1100],
        "machine.invented": True,
        "part.traits": {},
        "part.code": "A-100",
        "part.lining": "aluminium",
        "life.records": RECORDS_FILE,
        "life.b50_prior": usage["b50"],
        "use.kinds.name": "towing",
        "use.stretches.until": usage["reading"] // 2,
        "use.stretches.shares": {"towing": 0.3},
        "use.ahead": {"towing": 0.1},
        "oil.samples": SAMPLES_FILE,
        "oil.fleet": FLEET_FILE,
        "oil.every_months": 12,
        "oil.next_change_in": usage["interval"] // 2,
        "oil.element.symbol": "Cu",
        "oil.element.typical": [0.5, 3],
        "oil.element.from_part": True,
        "cost.currency": "EUR",
        "cost.planned": [1800, 2600],
        "cost.urgent": [2300, 3400],
        "cost.failure": [6500, 11000],
        "cost.install_fault_price": [3000, 9000],
        "cost.while_open.job": "oil pump",
        "cost.while_open.now": 180,
        "cost.while_open.alone": 700,
        "cost.consequence.name": "tow and hire",
        "cost.consequence.amount": [300, 900],
        "inspection.cost": [250, 450],
        "plan.keep_years": 5,
        "plan.keep_usage": 5 * usage["per_year"],
        "plan.sample": False,
        "plan.most_risk": 0.1,
        "plan.lay_up": "2026-10-15",
        "plan.other_job": "belt and water pump",
        "plan.other_job_in": 2 * usage["interval"],
        "plan.other_job_saves": [100, 300],
        "plan.do_without": [2500, 4000],
    }


def template(unit: Unit = "km") -> dict[str, bytes]:
    """The files of an invented case in the given unit, by name: case.toml with comments, and
    a small records.csv. It reads, and can be weighed, as it stands."""
    if unit not in UNITS:
        raise ValueError(f"the unit is one of {', '.join(UNITS)}, not {unit!r}")
    examples = _examples(unit)
    parts = [
        f"# A case: one machine and its part. Usage is in {NAMES[unit]} throughout.\n"
        "# Everything here is INVENTED. Put your own values in place of the examples, and your\n"
        "# own records in place of records.csv; then set invented = false.\n"
        "# A line that begins with # states nothing: the default beside it holds. A quantity may\n"
        "# be one number or [low, high], its central 90 % range.\n"
        "format = 1\n"
    ]
    for section in SECTIONS:
        lists = [entry for entry in inputs_of(section) if entry.kind == "rows"]
        lines = [f"[{section}]"]
        for entry in inputs_of(section):
            if entry.kind != "rows":
                lines += _lines(entry, unit, examples)
        for entry in lists:
            lines += ["", "", *_comment(f"{entry.label}. {entry.help}"), f"#[[{entry.key}]]"]
            for inner in inputs_of(entry.key):
                lines += _lines(inner, unit, examples, within_list=True)
        parts.append("\n".join(lines) + "\n")
    return {CASE_FILE: "\n\n".join(parts).encode("utf-8"), RECORDS_FILE: _records(unit)}


def _lines(
    entry: Input, unit: Unit, examples: Mapping[str, Any], within_list: bool = False
) -> list[str]:
    """An input's comment and its line, as a comment itself where a default holds."""
    if entry.key == "use.stretches.unknown":
        return []  # shown by its alternative, shares
    if entry.required or entry.unless:
        words = default_words(entry, unit)
        note = f"{words[0].upper()}{words[1:]}"
    elif entry.default_for(unit) is None or entry.source == TYPED:
        note = f"Default: {default_words(entry, unit)}"
    else:
        note = f"Default: {default_words(entry, unit)} ({entry.source})"
    form = form_words(entry, unit)
    value = raw_of(examples.get(entry.key, entry.default_for(unit)))
    if isinstance(value, dict):  # on one line, as it may become a comment
        inner = ", ".join(tomli_w.dumps({name: item}).strip() for name, item in value.items())
        line = f"{entry.name} = {{ {inner} }}" if inner else f"{entry.name} = {{}}"
    else:
        line = " ".join(tomli_w.dumps({entry.name: value}).split())
        line = line.replace("[ ", "[").replace(", ]", "]")
    stated = (entry.required or entry.key in _FILLED) and not within_list
    return [
        "",
        *_comment(f"{entry.label}. {entry.help}"),
        *_comment(f"{form[0].upper()}{form[1:]}. {note}."),
        line if stated else f"#{line}",
    ]


def _comment(text: str) -> list[str]:
    lines, line = [], "#"
    for word in text.split():
        if len(line) + 1 + len(word) > _WIDTH:
            lines.append(line)
            line = "#"
        line += f" {word}"
    return [*lines, line]


def _records(unit: Unit) -> bytes:
    factor = _PER_THOUSAND_KM[unit]
    rows = [
        [str(age * factor), outcome, str(entered * factor) if entered else "", str(count)]
        for age, outcome, entered, count in _LIVES
    ]
    return written(("age", "outcome", "entered_at", "count"), rows)


def new_case(folder: Path, unit: Unit = "km") -> None:
    """Writes the template into a new or empty folder.

    Raises InputError where the folder holds anything, or cannot be written to.
    """
    folder = Path(folder)
    if os.path.lexists(folder):
        if not folder.is_dir():
            raise InputError([Problem(str(folder), "", "a file", "a new or empty folder")])
        if any(folder.iterdir()):
            raise InputError([Problem(str(folder), "", "a folder with files", "an empty folder")])
    write_files(template(unit), folder)
