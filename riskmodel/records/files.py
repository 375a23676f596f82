"""A case as a folder of files: case.toml and the tables it names.

The same steps serve a folder, files held in memory and a change made on the page, so that
an input is checked in one way wherever it comes from.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.case_reader import Draft, built, raw_case, read_draft, unlearned
from riskmodel.records.checks import compare_fleet, compare_inputs, compare_records, compare_samples
from riskmodel.records.disk import read_file, write_file
from riskmodel.records.errors import InputError, Problem, by_line, did_you_mean, shown
from riskmodel.records.fleet_table import read_fleet, write_fleet
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.life_table import read_records, write_records
from riskmodel.records.oil_table import read_samples, write_samples
from riskmodel.records.tables import FleetSamples, LifeRecords, OilSamples
from riskmodel.records.text import MAX_CASE_FILE, MAX_TABLE
from riskmodel.records.toml_text import parsed
from riskmodel.records.values import Notes

CASE_FILE = "case.toml"
RECORDS_FILE = "records.csv"
SAMPLES_FILE = "oil.csv"
FLEET_FILE = "fleet.csv"
Fetch = Callable[[str], bytes]
"""The bytes of a file by its plain name; raises InputError where there is none."""


def read_case(folder: Path) -> Case:
    """The case in a folder.

    Raises InputError with every problem of all its files; nothing is half-read.
    """
    folder = Path(folder)
    if not _is_folder(folder):
        found = "a file" if os.path.lexists(folder) else "no such folder"
        raise InputError(
            [Problem(str(folder), "", found, f"the folder of a case, with {CASE_FILE}")]
        )

    def fetch(name: str) -> bytes:
        if not os.path.lexists(folder / name):
            present = _names_in(folder)
            raise _no_case(str(folder), present) if name == CASE_FILE else _missing(name, present)
        return read_file(folder / name, name, MAX_CASE_FILE if name == CASE_FILE else MAX_TABLE)

    return _read(fetch)


def _is_folder(path: Path) -> bool:
    try:
        return stat.S_ISDIR(path.stat().st_mode)
    except (OSError, ValueError):  # ValueError: a name that no folder can have
        return False


def _names_in(folder: Path) -> list[str]:
    try:
        return [path.name for path in folder.iterdir()]
    except OSError:
        return []


def case_from_files(files: Mapping[str, bytes], name: str = "case") -> Case:
    """The case in files held in memory, by their plain names; `name` is what to call them all.

    Files that case.toml does not name are left alone. Raises InputError as `read_case`.
    """
    if CASE_FILE not in files:
        raise _no_case(name, files)
    return _read(_among(files))


def _among(files: Mapping[str, bytes]) -> Fetch:
    def fetch(name: str) -> bytes:
        if name not in files:
            raise _missing(name, files)
        return files[name]

    return fetch


def _missing(name: str, present: Iterable[str]) -> InputError:
    hint = did_you_mean(name, present)
    return InputError([Problem(name, "", "no such file", f"a file beside {CASE_FILE}{hint}")])


def _no_case(name: str, present: Iterable[str]) -> InputError:
    hint = did_you_mean(CASE_FILE, present)
    found = f"no {CASE_FILE}"
    return InputError([Problem(name, "", found, f"the folder of a case, with {CASE_FILE}{hint}")])


def _read(fetch: Fetch) -> Case:
    raw, text = parsed(fetch(CASE_FILE), CASE_FILE)
    return _assembled(raw, Notes(CASE_FILE, text), fetch)


def _assembled(
    raw: Mapping[str, Any],
    notes: Notes,
    fetch: Fetch,
    records: LifeRecords | None = None,
    samples: OilSamples | None = None,
    fleet: FleetSamples | None = None,
) -> Case:
    """The case of raw contents; tables that are given are not fetched again."""
    draft = read_draft(raw, notes)
    if notes.problems and not draft.values:  # another format: nothing else can be said
        raise InputError(notes.problems)
    compare_inputs(draft, notes)
    records_file: str | None = draft.values.get("life.records")
    samples_file: str | None = draft.values.get("oil.samples")
    fleet_file: str | None = draft.values.get("oil.fleet")
    of_tables: list[Problem] = []
    if records_file is None:
        records = None
    else:
        with _collected(of_tables):
            if records is None:
                records = read_records(fetch(records_file), records_file)
            compare_records(records, draft, notes)
    if samples_file is None or samples_file == records_file:  # the same file: told already
        samples = None
    else:
        with _collected(of_tables):
            if samples is None:
                samples = read_samples(fetch(samples_file), samples_file, _symbols(draft))
            of_tables += by_line(compare_samples(samples, draft, samples_file))
    if fleet_file is None or fleet_file in (records_file, samples_file):
        fleet = None
    else:
        with _collected(of_tables):
            if fleet is None:
                fleet = read_fleet(fetch(fleet_file), fleet_file, _symbols(draft))
            of_tables += by_line(compare_fleet(fleet, samples, draft, notes))
    if notes.problems or of_tables:
        raise InputError([*by_line(notes.problems), *of_tables])
    return built(draft, records, samples, fleet)


@contextmanager
def _collected(problems: list[Problem]) -> Iterator[None]:
    """Keeps the problems of one table, so that those of the other files are told with them."""
    try:
        yield
    except InputError as fault:
        problems.extend(fault.problems)


def _symbols(draft: Draft) -> list[str] | None:
    """The declared elements; None where some could not be read: no column is blamed for that."""
    rows = draft.values.get("oil.element")
    if rows is None or any("symbol" not in row for row in rows):
        return None
    return [row["symbol"] for row in rows]


def case_to_files(case: Case) -> dict[str, bytes]:
    """The files of a case by name: what was stated, and whatever is not at its default."""
    raw = _raw(case)
    files = {CASE_FILE: tomli_w.dumps(raw).encode("utf-8")}
    if case.records is not None:
        files[raw["life"]["records"]] = write_records(case.records)
    if case.samples is not None:
        files[raw["oil"]["samples"]] = write_samples(case.samples)
    if case.fleet is not None:
        files[raw["oil"]["fleet"]] = write_fleet(case.fleet)
    return files


def _raw(case: Case) -> dict[str, Any]:
    raw = raw_case(case)
    if case.records is not None:
        raw.setdefault("life", {}).setdefault("records", RECORDS_FILE)
    if case.samples is not None:
        raw.setdefault("oil", {}).setdefault("samples", SAMPLES_FILE)
    if case.fleet is not None:
        raw.setdefault("oil", {}).setdefault("fleet", FLEET_FILE)
    return raw


def write_case(case: Case, folder: Path) -> None:
    """Writes the files of a case into a folder, which is made where there is none.

    Each file is replaced in one step, case.toml last. What could not be read back the same
    is not written at all. Raises InputError.
    """
    files = case_to_files(case)
    again = case_from_files(files)
    if replace(again, stated=case.stated) != unlearned(case):
        found = "values that would not be read back the same"
        raise InputError([Problem(str(folder), "", found, "a case as the reader makes it")])
    write_files(files, folder)


def write_files(files: Mapping[str, bytes], folder: Path) -> None:
    """Writes files into a folder, which is made where there is none, case.toml last."""
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise InputError([Problem(str(folder), "", reason, "a folder to write into")]) from None
    for name in sorted(files, key=lambda name: name == CASE_FILE):
        write_file(folder / name, files[name])


def changed(
    case: Case, changes: Mapping[str, object], files: Mapping[str, bytes] | None = None
) -> Case:
    """The case with some inputs stated anew, checked like a file.

    `changes` gives raw values, as case.toml would state them, by key: "cost.planned":
    [2200, 3100]; "oil.element[2].rise": 5 for the second row of a list; "oil.element": a
    list of dicts for all of it. None takes a statement back, so that the default holds.
    `files` brings new contents of tables by name; other tables are kept as they are.

    Raises InputError.
    """
    raw = _raw(case)
    problems = [fault for key, value in changes.items() if (fault := _state(raw, key, value))]
    if problems:
        raise InputError(problems)
    new = files or {}

    def fetch(name: str) -> bytes:
        return _among({**case_tables(case), **new})(name)

    def held(section: str, key: str, was: str | None, usual: str) -> bool:
        name = raw.get(section, {}).get(key)
        return name == (was or usual) and name not in new

    # Samples are named after the declared elements, so they are read again with them.
    elements = any(key.startswith("oil.element") for key in changes)
    return _assembled(
        raw,
        Notes(CASE_FILE),
        fetch,
        case.records if held("life", "records", case.life.records, RECORDS_FILE) else None,
        case.samples
        if held("oil", "samples", case.oil.samples, SAMPLES_FILE) and not elements
        else None,
        case.fleet if held("oil", "fleet", case.oil.fleet, FLEET_FILE) and not elements else None,
    )


def case_tables(case: Case) -> dict[str, bytes]:
    """The tables of a case by the names of their files."""
    return {name: data for name, data in case_to_files(case).items() if name != CASE_FILE}


_KEY = re.compile(r"(\w+)\.(?:(\w+)\[(\d{1,6})\]\.)?(\w+)", re.ASCII)


def _state(raw: dict[str, Any], key: str, value: object) -> Problem | None:
    """Sets or (None) takes back one key of the raw contents."""
    if key.count(".") == 2 and key in BY_KEY:
        rows, _, name = key.rpartition(".")
        return Problem(CASE_FILE, key, "a key of every row", f"that of one: {rows}[1].{name}")
    match = _KEY.fullmatch(key)
    section, rows, row, name = match.groups() if match else ("", "", "", "")
    if ".".join(part for part in (section, rows, name) if part) not in BY_KEY:
        hint = did_you_mean(key, BY_KEY)
        return Problem(CASE_FILE, key[:60], "an unknown key", f"a key of the table of inputs{hint}")
    table = raw.setdefault(section, {})
    if rows:
        held, index = table.get(rows, []), int(row)
        if not isinstance(held, list | tuple) or not all(isinstance(one, dict) for one in held):
            path = f"{section}.{rows}"  # another change has stated it so
            return Problem(CASE_FILE, path, shown(held), f"a list of tables, [[{path}]]")
        if not 1 <= index <= len(held):
            return Problem(CASE_FILE, key, f"{len(held)} rows", "a row that there is")
        table = held[index - 1]
    if value is None:
        table.pop(name, None)
    else:
        table[name] = value
    return None
