"""The case to fill in."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files, case_to_files, changed, read_case
from riskmodel.records.inputs import INPUTS, UNITS, Unit
from riskmodel.records.template import new_case, template

OIL = b"reading,oil_age,Cu\n%d,%d,3\n"
FLEET = b"engine,reading,oil_age,Cu\nother,900,90,3\n"


def everything_stated(unit: Unit) -> Case:
    """The template with every line that is a comment for its default made a statement."""
    files = template(unit)
    text = re.sub(r"^#(\S)", r"\1", files["case.toml"].decode(), flags=re.MULTILINE)
    at = {"km": (140_000, 8000), "mi": (90_000, 5000), "h": (3700, 100)}[unit]
    tables = {"oil.csv": OIL % at, "fleet.csv": FLEET}
    return case_from_files({**files, "case.toml": text.encode(), **tables})


@pytest.mark.parametrize("unit", UNITS)
def test_reads_as_it_stands(unit: Unit) -> None:
    case = case_from_files(template(unit))
    assert case.machine.invented
    assert case.machine.unit == unit
    assert case.records is not None
    assert {"failed", "running", "removed_worn", "removed_unworn"} <= set(case.records.outcome)
    assert case_from_files(case_to_files(case)) == case


@pytest.mark.parametrize("unit", UNITS)
def test_shows_every_input(unit: Unit) -> None:
    """Each input has its line, with its key, its label and its help above it."""
    text = template(unit)["case.toml"].decode()
    words = " ".join(line.removeprefix("# ") for line in text.splitlines())
    for entry in INPUTS:
        if entry.key == "use.stretches.unknown":
            continue
        line = rf"^#?\[\[{entry.key}\]\]$" if entry.kind == "rows" else rf"^#?{entry.name} = "
        assert re.search(line, text, re.MULTILINE), entry.key
        assert f"{entry.label}. {entry.help}" in words, entry.key
    assert max(map(len, text.splitlines())) <= 100


@pytest.mark.parametrize("unit", UNITS)
def test_lines_in_comments_read_too(unit: Unit) -> None:
    """The examples in comments are valid together, and the defaults among them are the
    defaults."""
    case = everything_stated(unit)
    named = {re.sub(r"\[\d+\]", "", key) for key in case.stated}
    assert {entry.key for entry in INPUTS} - named == {"use.stretches.unknown"}
    assert len(case.oil.element) == len(case.use.kinds) == len(case.use.stretches) == 1

    bare = case_from_files(template(unit))
    for section in ("warning", "inspection"):
        stated, default = getattr(case, section), getattr(bare, section)
        assert replace(stated, **({"cost": None} if section == "inspection" else {})) == default
    undone = {
        key: None
        for key in case.stated - bare.stated
        if "[" not in key
    }  # fmt: skip
    assert changed(case, undone) == bare


def test_records_scale_with_the_unit() -> None:
    ages = {}
    for unit in UNITS:
        records = case_from_files(template(unit)).records
        assert records is not None
        ages[unit] = records.age
    assert (ages["mi"] / ages["km"]).round(6).tolist() == [0.62] * len(ages["km"])
    assert (ages["h"] / ages["km"]).round(6).tolist() == [0.025] * len(ages["km"])


def test_new_folder(tmp_path: Path) -> None:
    new_case(tmp_path / "a" / "boat", "h")
    assert read_case(tmp_path / "a" / "boat") == case_from_files(template("h"))
    (tmp_path / "empty").mkdir()
    new_case(tmp_path / "empty")
    assert read_case(tmp_path / "empty").machine.unit == "km"
    assert (tmp_path / "empty" / "case.toml").stat().st_mode & 0o777 in (0o644, 0o664, 0o666)
