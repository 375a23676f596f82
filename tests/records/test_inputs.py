"""The one table of inputs, the case it describes and the texts made from it."""

from __future__ import annotations

import re
import typing
from dataclasses import fields

import pytest

from riskmodel.records import case as case_module
from riskmodel.records.case import Case
from riskmodel.records.case_reader import DEFAULTS, ROW_TYPES, SECTION_TYPES
from riskmodel.records.docs import default_words, form_words, inputs_markdown
from riskmodel.records.inputs import (
    BY_KEY,
    CEILING,
    INPUTS,
    SECTIONS,
    UNITS,
    Input,
    Unit,
    inputs_of,
)
from riskmodel.records.quantity import Quantity
from riskmodel.records.values import checked

ALL_TYPES = {**SECTION_TYPES, **ROW_TYPES}


def test_case_and_table_cover_each_other() -> None:
    """Every row of the table is one field of the case, and the other way round."""
    of_case = {f"{section}.{f.name}" for section, t in ALL_TYPES.items() for f in fields(t)}
    assert of_case == {entry.key for entry in INPUTS}
    assert {entry.section for entry in INPUTS} == set(ALL_TYPES)
    assert tuple(SECTION_TYPES) == SECTIONS
    assert {entry.key for entry in INPUTS if entry.kind == "rows"} == set(ROW_TYPES)
    beside = {"records", "samples", "fleet", "stated"}
    assert {field.name for field in fields(Case)} == set(SECTIONS) | beside


@pytest.mark.parametrize("section", ALL_TYPES)
def test_fields_stand_in_the_order_of_the_table(section: str) -> None:
    assert [f.name for f in fields(ALL_TYPES[section])] == [e.name for e in inputs_of(section)]


@pytest.mark.parametrize("entry", INPUTS, ids=lambda entry: entry.key)
def test_field_has_the_type_of_its_kind(entry: Input) -> None:
    hints = typing.get_type_hints(ALL_TYPES[entry.section], vars(case_module))
    hint = hints[entry.name]
    parts = set(typing.get_args(hint)) if type(None) in typing.get_args(hint) else {hint}
    expected: dict[str, object] = {
        "number": float,
        "share": float,
        "quantity": Quantity,
        "share_quantity": Quantity,
        "text": str,
        "file": str,
        "choice": Unit if entry.key == "machine.unit" else str,
        "date": str,
        "flag": bool,
        "texts": tuple[str, ...],
    }
    if entry.kind in expected:
        assert parts - {type(None)} == {expected[entry.kind]}
        has_default = any(DEFAULTS[unit][entry.key] is not None for unit in UNITS)
        assert (type(None) in parts) == (not has_default and not entry.required)
    elif entry.kind == "rows":
        assert typing.get_args(hint) == (ROW_TYPES[entry.key], ...)


def test_keys_are_unique_and_complete() -> None:
    assert len(BY_KEY) == len(INPUTS)
    for entry in INPUTS:
        assert entry.label
        assert entry.help.endswith((".", "?")), entry.key
        assert entry.source
        assert 0 <= entry.low < entry.high <= CEILING
        assert not (entry.required and entry.default is not None)
        assert (entry.kind == "choice") <= bool(entry.choices)
        ranged = entry.kind in ("quantity", "share_quantity")
        assert ranged == bool(entry.spread), f"{entry.key}: what does a range mean?"


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("entry", INPUTS, ids=lambda entry: entry.key)
def test_defaults_are_within_their_own_bounds(entry: Input, unit: Unit) -> None:
    raw = entry.default_for(unit)
    if raw is None or entry.kind == "rows":
        return
    notes: list[tuple[str, str]] = []
    value = checked(entry, raw, lambda found, expected: notes.append((found, expected)))
    assert notes == []
    assert value == DEFAULTS[unit][entry.key]


def test_defaults_are_right_for_the_unit() -> None:
    """A default of usage differs from unit to unit, or is 0."""
    for entry in INPUTS:
        if entry.unit == "usage" and entry.default is not None:
            assert entry.default == 0, entry.key
        if entry.default_by_unit:
            assert set(entry.default_by_unit) == set(UNITS)
            assert entry.unit == "usage"


def test_shares_end_at_one() -> None:
    assert BY_KEY["warning.silent"].high == 1
    assert BY_KEY["oil.carry_over"].high == 0.95
    assert BY_KEY["cost.planned"].high == CEILING


def test_words_of_one_input() -> None:
    interval = BY_KEY["oil.interval"]
    assert form_words(interval) == "number above 0 [usage]"
    assert form_words(interval, "h") == "number above 0 [h]"
    assert default_words(interval) == "8000 km; 5000 mi; 100 h"
    assert default_words(interval, "mi") == "5000 mi"
    assert default_words(BY_KEY["cost.planned"]) == "required"
    assert default_words(BY_KEY["cost.urgent"]) == "as the planned job"
    assert default_words(BY_KEY["machine.value"]) == "none"
    assert default_words(BY_KEY["part.in_records"]) == "false"


def test_markdown_has_every_input_once() -> None:
    text = inputs_markdown()
    headings = re.findall(r"^### `\[+(.+?)\]+`$", text, re.MULTILINE)
    assert sorted(headings) == sorted(ALL_TYPES)
    table = ""
    keys = []
    for line in text.splitlines():
        if line.startswith("### "):
            table = re.sub(r"[^a-z_.]", "", line)
        elif match := re.match(r"\| `(\w+)` \|", line):
            keys.append(f"{table}.{match[1]}")
            assert len(re.findall(r"(?<!\\)\|", line)) == 7  # six columns
    assert sorted(keys) == sorted(BY_KEY)
    assert "varies from part to part" in text
