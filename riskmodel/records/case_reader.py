"""From the raw contents of case.toml to a `Case`, and back.

Every row of the table of inputs is looked up, checked and given its default here, whatever
it is for; `riskmodel.records.checks` then compares the inputs with one another and with the
tables.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from riskmodel.records.case import (
    Case,
    Consequence,
    Cost,
    Element,
    Inspection,
    KindOfUse,
    Life,
    Machine,
    Oil,
    Part,
    Plan,
    Stretch,
    Use,
    Warning,
    WhileOpen,
    usage_between_services,
)
from riskmodel.records.errors import closest, did_you_mean, shown
from riskmodel.records.inputs import BY_KEY, INPUTS, SECTIONS, UNITS, Input, Unit, inputs_of
from riskmodel.records.tables import FleetSamples, LifeRecords, OilSamples
from riskmodel.records.toml_text import Path
from riskmodel.records.units import spelled
from riskmodel.records.values import Notes, checked, raw_of, spelt

FORMAT = 1

SECTION_TYPES: Mapping[str, type] = {
    "machine": Machine,
    "part": Part,
    "life": Life,
    "use": Use,
    "warning": Warning,
    "oil": Oil,
    "cost": Cost,
    "inspection": Inspection,
    "plan": Plan,
}
ROW_TYPES: Mapping[str, type] = {
    "use.kinds": KindOfUse,
    "use.stretches": Stretch,
    "oil.element": Element,
    "cost.while_open": WhileOpen,
    "cost.consequence": Consequence,
}
_QUIET = Notes("")  # for defaults, which a test holds to their own bounds
_INPUTS: Mapping[str, Mapping[str, Input]] = {
    section: {entry.name: entry for entry in inputs_of(section)}
    for section in (*SECTIONS, *ROW_TYPES)
}
_IN_UNIT: Mapping[Unit, Mapping[str, Mapping[str, Input]]] = {
    unit: {
        section: {n: replace(e, unit=spelled(e.unit, unit)) for n, e in entries.items()}
        for section, entries in _INPUTS.items()
    }
    for unit in UNITS
}
"""The same inputs with a case's own unit in their text, for messages."""


@dataclass(slots=True)
class Draft:
    """A case on its way in: what could be read, defaults filled in, nothing compared yet.

    `values` holds by key what is usable (rows as a list of dicts); a key with a problem is
    missing from it. `stated` are the keys that were entered.
    """

    unit: Unit | None
    values: dict[str, Any] = field(default_factory=dict)
    stated: set[str] = field(default_factory=set)

    def has(self, *keys: str) -> bool:
        """Whether all these inputs are usable and not None."""
        return all(self.values.get(key) is not None for key in keys)


def default_of(entry: Input, unit: Unit) -> Any:
    """An input's default as the case holds it; None where it has none or follows from others."""
    raw = entry.default_for(unit)
    if raw is None:
        return None
    if entry.kind == "rows":
        return ()
    return checked(entry, raw, lambda found, expected: _QUIET.add((entry.key,), found, expected))


DEFAULTS: Mapping[Unit, Mapping[str, Any]] = {
    unit: {entry.key: default_of(entry, unit) for entry in INPUTS} for unit in UNITS
}


def read_draft(raw: Mapping[str, Any], notes: Notes) -> Draft:
    """Every input of the raw contents of case.toml; the problems go into `notes`."""
    stated_format = raw.get("format", FORMAT)
    if isinstance(stated_format, bool) or stated_format != FORMAT:
        # Another format may mean anything by its keys: nothing else is said of it.
        notes.add(("format",), shown(stated_format), f"{FORMAT}, the format this version reads")
        return Draft(None)
    raw = dict(raw)
    for name in [name for name in raw if name != "format" and name not in SECTIONS]:
        notes.add((name,), "an unknown section or key", _known(name, SECTIONS, "case.toml"))
        if (meant := closest(name, SECTIONS)) and isinstance(raw[name], Mapping):
            raw.setdefault(meant, raw[name])  # to tell at once what is wrong within it
    unit = raw["machine"].get("unit") if isinstance(raw.get("machine"), Mapping) else None
    draft = Draft(unit if unit in UNITS else None)
    for section in SECTIONS:
        contents = raw.get(section, {})
        if isinstance(contents, Mapping):
            draft.values.update(_read_table(contents, section, (section,), notes, draft))
        else:
            notes.add((section,), shown(contents), f"a table, [{section}]")
    if "oil.turnaround" not in draft.stated and draft.has("oil.interval", "machine.usage_per_year"):
        interval = usage_between_services(
            draft.values["oil.interval"],
            draft.values.get("oil.every_months"),
            draft.values["machine.usage_per_year"],
        )
        draft.values["oil.turnaround"] = _usual_turnaround(draft.unit or "km", interval)
    return draft


def _usual_turnaround(unit: Unit, interval: float) -> float:
    """The default of oil.turnaround, which has to be shorter than the interval."""
    return min(float(DEFAULTS[unit]["oil.turnaround"]), interval / 2)


def _known(name: str, names: Sequence[str], place: str) -> str:
    """What may stand instead of an unknown name: the nearest, where it belongs, or all."""
    if hint := did_you_mean(name, names):
        return f"a key of {place}{hint}"
    homes = [entry.key for entry in INPUTS if entry.name == name]
    if homes:
        return f"a key of {place} ({name} belongs to {homes[0]})"
    return f"one of the keys of {place}: {', '.join(names)}"


def _read_table(
    contents: Mapping[str, Any], section: str, path: Path, notes: Notes, draft: Draft
) -> dict[str, Any]:
    """The inputs of one section or row, by key, defaults filled in where nothing was stated."""
    entries = _IN_UNIT[draft.unit][section] if draft.unit else _INPUTS[section]
    meant = set()  # keys that stand there misspelt: not told as missing too
    for name in contents:
        if name not in entries:
            expected = _known(name, list(entries), f"[{section}]")
            notes.add((*path, name), "an unknown key", expected)
            meant.add(closest(name, entries))
    values: dict[str, Any] = {}
    for name, entry in entries.items():
        here = (*path, name)
        if name in contents:
            draft.stated.add(spelt(here))
            raw = contents[name]
            if entry.kind == "rows":
                value = _read_rows(raw, entry, here, notes, draft)
            else:
                value = checked(entry, raw, notes.about(here))
            if value is not None:
                values[entry.key] = value
        elif entry.required or (entry.unless and entry.unless not in draft.stated):
            if name not in meant:
                notes.add(here, "nothing", _required(entry))
        else:
            values[entry.key] = DEFAULTS[draft.unit or "km"][entry.key]
    return values


def _required(entry: Input) -> str:
    """What is expected where a required input is missing."""
    expected = f"a value, as it is required: {entry.help}".rstrip(".")
    if not entry.unless:
        return expected
    other = BY_KEY[entry.unless].label
    return f"{expected} (or {entry.unless}: {other[0].lower()}{other[1:]}, to learn it from)"


def _read_rows(
    raw: object, entry: Input, path: Path, notes: Notes, draft: Draft
) -> list[dict[str, Any]] | None:
    if not isinstance(raw, list | tuple):
        notes.add(path, shown(raw), f"a list of tables, [[{entry.key}]]")
        return None
    rows = []
    for index, contents in enumerate(raw):
        if isinstance(contents, Mapping):
            row = _read_table(contents, entry.key, (*path, index), notes, draft)
            rows.append({BY_KEY[key].name: value for key, value in row.items()})
        else:
            notes.add((*path, index), shown(contents), "a table")
    return rows


def built(
    draft: Draft,
    records: LifeRecords | None,
    samples: OilSamples | None,
    fleet: FleetSamples | None,
) -> Case:
    """The case of a draft without problems."""
    values = dict(draft.values)
    for key, row_type in ROW_TYPES.items():
        values[key] = tuple(row_type(**row) for row in values[key])
    sections = {
        section: section_type(**{name: values.get(e.key) for name, e in _INPUTS[section].items()})
        for section, section_type in SECTION_TYPES.items()
    }
    return Case(
        **sections,
        records=records,
        samples=samples,
        fleet=fleet,
        stated=frozenset(draft.stated),
    )


LEARNED = ("typical", "scatter")
"""What other engines' samples tell of an element that the case itself does not state."""


def unlearned(case: Case) -> Case:
    """The case with what was learned of its elements (`LEARNED`) taken back: only what was
    stated is kept with it, and the rest is learned anew."""
    if case.fleet is None:
        return case
    defaults = DEFAULTS[case.machine.unit]
    elements = tuple(
        replace(
            element,
            **{
                name: defaults[f"oil.element.{name}"]
                for name in LEARNED
                if f"oil.element[{number}].{name}" not in case.stated
            },
        )
        for number, element in enumerate(case.oil.element, start=1)
    )
    return replace(case, oil=replace(case.oil, element=elements))


def raw_case(case: Case) -> dict[str, Any]:
    """The contents of case.toml: what was stated, and whatever is not at its default."""
    raw: dict[str, Any] = {"format": FORMAT}
    case = unlearned(case)
    unit = case.machine.unit
    defaults = {**DEFAULTS[unit], "oil.turnaround": _usual_turnaround(unit, case.interval)}
    for section in SECTIONS:
        contents = _raw_table(getattr(case, section), section, (section,), case.stated, defaults)
        if contents:
            raw[section] = contents
    return raw


def _raw_table(
    holder: object,
    section: str,
    path: Path,
    stated: frozenset[str],
    defaults: Mapping[str, Any],
) -> dict[str, Any]:
    contents: dict[str, Any] = {}
    for name, entry in _INPUTS[section].items():
        value = getattr(holder, name)
        here = (*path, name)
        as_default = value is None or value == defaults[entry.key]
        if value is None or (as_default and spelt(here) not in stated):
            continue
        if entry.kind == "rows":
            contents[name] = [
                _raw_table(row, entry.key, (*here, index), stated, defaults)
                for index, row in enumerate(value)
            ]
        else:
            contents[name] = raw_of(value)
    return contents
