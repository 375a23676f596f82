"""The table of inputs as text, for the documentation."""

from __future__ import annotations

from riskmodel.records.errors import plain
from riskmodel.records.inputs import SECTIONS, UNITS, Input, Unit, inputs_of
from riskmodel.records.units import spelled
from riskmodel.records.values import bounds

_FORMS = {
    "number": "number",
    "quantity": "number or [low, high]",
    "share": "share",
    "share_quantity": "share or [low, high]",
    "text": "text",
    "texts": "list of texts",
    "file": "file name",
    "flag": "true or false",
    "choice": "one of",
    "date": "date",
    "shares": "table of shares",
    "traits": "table of numbers or words",
    "rows": "list of tables",
}


def default_words(entry: Input, unit: Unit | None = None) -> str:
    """An input's default in words; for one unit, or for all where they differ."""
    if entry.required:
        return "required"
    if entry.unless:
        return f"required, unless {entry.unless} is stated: then {entry.default_text}"
    if entry.default_by_unit:
        units = UNITS if unit is None else (unit,)
        by_unit = [f"{_value(entry.default_by_unit[u])} {spelled(entry.unit, u)}" for u in units]
        stated = "; ".join(by_unit)
        return f"{stated}, {entry.default_text}" if entry.default_text else stated
    if entry.default_text:
        return entry.default_text
    return _value(entry.default)


def _value(value: object) -> str:
    if value is None or value in ((), {}, ""):
        return "none"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple):
        return f"[{', '.join(_value(end) for end in value)}]"
    return plain(value) if isinstance(value, float) else str(value)


def form_words(entry: Input, unit: Unit | None = None) -> str:
    """What may be entered: its form, bounds and unit (in a case's own unit where one is given)."""
    words = _FORMS[entry.kind]
    if entry.kind == "choice" or entry.choices:
        words += (" " if entry.kind == "choice" else ": ") + ", ".join(entry.choices)
    if entry.kind in ("number", "quantity", "share", "share_quantity"):
        words += f" {bounds(entry)}"
    measured = entry.unit if unit is None else spelled(entry.unit, unit)
    return f"{words} [{measured}]" if measured else words


def inputs_markdown() -> str:
    """Every input of case.toml in one Markdown table per section.

    Columns: key, meaning, form (with bounds and unit), default, source of the default, and
    what a range means.
    """
    parts = []
    for section in SECTIONS:
        lists = [entry.key for entry in inputs_of(section) if entry.kind == "rows"]
        for table in (section, *lists):
            heading = f"[[{table}]]" if table in lists else f"[{table}]"
            parts.append(f"### `{heading}`\n\n{_markdown_table(inputs_of(table))}")
    return "\n".join(parts)


def _markdown_table(entries: tuple[Input, ...]) -> str:
    head = ("key", "meaning", "form", "default", "source of the default", "a range means")
    lines = [_line(head), _line(["---"] * len(head))]
    for entry in entries:
        source = "" if entry.required or entry.default_for("km") is None else entry.source
        meaning = f"{entry.label}. {entry.help}"
        cells = (
            f"`{entry.name}`",
            meaning,
            form_words(entry),
            default_words(entry),
            source,
            entry.spread,
        )
        lines.append(_line(cells))
    return "\n".join(lines) + "\n"


def _line(cells: tuple[str, ...] | list[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
