"""Life records from and to CSV: what became of other people's parts."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import Any, cast

import numpy as np

from riskmodel.records.csv_text import RowReader, Sheet, read_sheet, written
from riskmodel.records.errors import InputError, Problem, by_line, closest, plain, shown
from riskmodel.records.scalars import (
    TRAIT_NAME,
    UnreadableError,
    looks_like_number,
    read_number,
    text_fault,
)
from riskmodel.records.tables import CAUSES, OUTCOMES, WHYS, Cause, LifeRecords, Outcome, Why

COLUMNS = ("age", "outcome", "age_from", "entered_at", "count", "cause", "why")
REQUIRED = ("age", "outcome")
REMOVALS = ("removed", "removed_worn", "removed_unworn")
MOST_COVARIATES = 20
MOST_LEVELS = 20
LARGEST_COUNT = 1e9

_ONE_KIND = "only numbers or only words in a column"
_NEAR = 0.85
"""So alike to a contract column, a name counts as a slip of it and not as a covariate
(judgement: "outcom" and "ages" are slips, "country" beside "count" is not)."""
_SLIPS = {"entered": "entered_at", "entry": "entered_at", "from": "age_from"}
_UNITS = ("km", "mi", "miles", "h", "hours")


def read_records(data: bytes, file: str = "records.csv") -> LifeRecords:
    """The life records of a CSV file.

    Columns age and outcome; optionally age_from, entered_at, count, cause, why; any other is
    a covariate, numeric where every cell is a number, words otherwise. An empty optional cell
    means the default: count 1, entered at 0, cause wear, why scheduled.

    Raises InputError with every problem of the file, each with its line and column.
    """
    problems: list[Problem] = []
    sheet = read_sheet(data, file, problems)
    names = tuple(name.lower() for name in sheet.header)
    covariates = _covariate_columns(names, sheet, problems)
    row = RowReader(sheet, {name: index for index, name in enumerate(names)}, problems)
    read = [_read_row(row, line, cells) for line, cells in sheet.rows]
    traits = {name: _covariate(name, names.index(name), sheet, problems) for name in covariates}
    if problems:
        raise InputError(by_line(problems))
    age, outcome, age_from, entered_at, count, cause, why = zip(*read, strict=True)
    return LifeRecords(
        age=np.array(age),
        outcome=outcome,
        age_from=np.array(age_from),
        entered_at=np.array(entered_at),
        count=np.array(count),
        cause=cause,
        why=why,
        covariates=traits,
        lines=tuple(line for line, _ in sheet.rows),
        columns=names,
    )


def _covariate_columns(names: Sequence[str], sheet: Sheet, problems: list[Problem]) -> list[str]:
    """The names that are covariates; slips and missing columns go into `problems`."""
    covariates, meant = [], set()
    where = f"line {sheet.header_line}"
    for name, written_name in zip(names, sheet.header, strict=True):
        if name in COLUMNS:
            continue
        intended = _meant_by(name)
        found = f"the column {shown(written_name)}"
        if intended is not None:
            meant.add(intended)
            expected = f"the column {intended}, if that is meant (another name otherwise)"
            if name.endswith(tuple(f"_{unit}" for unit in _UNITS)):
                expected = f"the column {intended}; its unit stands in the case"
            problems.append(Problem(sheet.file, where, found, expected))
        elif not TRAIT_NAME.fullmatch(name):
            expected = "a name of at most 30 letters, digits and _ that begins with a letter"
            if TRAIT_NAME.fullmatch(better := re.sub(r"[^a-z0-9]+", "_", name).strip("_")):
                expected += f", such as {better}"
            problems.append(Problem(sheet.file, where, found, expected))
        else:
            covariates.append(name)
    for name in REQUIRED:
        if name not in names and name not in meant:
            found = f"no column {name}, but {', '.join(sheet.header)}"
            problems.append(Problem(sheet.file, where, found, f"a column {name}"))
    if len(covariates) > MOST_COVARIATES:
        found = f"{len(covariates)} covariate columns"
        problems.append(Problem(sheet.file, where, found, f"at most {MOST_COVARIATES}"))
        return []
    return covariates


def is_slip(name: str) -> bool:
    """Whether the reader would take a name for a slip of a column of the contract."""
    return name not in COLUMNS and _meant_by(name) is not None


def _meant_by(name: str) -> str | None:
    """The contract column that a name is a slip of."""
    plain_name = name.replace(" ", "_").replace("-", "_")
    for column in COLUMNS:
        if sorted(plain_name.replace("_", "")) == sorted(column.replace("_", "")):
            return column  # agefrom, cuont
        if any(plain_name == f"{column}_{unit}" for unit in _UNITS):
            return column
    return _SLIPS.get(plain_name) or closest(plain_name, COLUMNS, cutoff=_NEAR)


def _read_row(row: RowReader, line: int, cells: tuple[str, ...]) -> tuple[Any, ...]:
    row.turn_to(line, cells)
    age = row.number("age", required=True, above=0.0)
    outcome = row.choice("outcome", OUTCOMES, required=True)
    age_from = row.number("age_from")
    entered_at = row.number("entered_at")
    count = row.number("count", low=1.0)
    cause = row.choice("cause", CAUSES)
    why = row.choice("why", WHYS)
    if age is not None and age_from is not None and age_from >= age:
        row.note("age_from", f"{plain(age_from)}, with age {plain(age)}", "less than the age")
    if age is not None and entered_at is not None and entered_at >= age:
        row.note("entered_at", f"{plain(entered_at)}, with age {plain(age)}", "less than the age")
    elif age_from is not None and entered_at is not None and entered_at > age_from:
        found = f"{plain(entered_at)}, with age_from {plain(age_from)}"
        row.note("entered_at", found, "not more than age_from")
    if count is not None and (count != int(count) or count > LARGEST_COUNT):
        row.note("count", plain(count), f"a whole number from 1 to {plain(LARGEST_COUNT)}")
    if outcome is not None and outcome != "failed":
        for column in ("age_from", "cause"):
            if row.cell(column):
                found = f"{shown(row.cell(column))}, with outcome {outcome}"
                row.note(column, found, "an empty cell: only a failure has it")
    if outcome is not None and outcome not in REMOVALS and row.cell("why"):
        found = f"{shown(row.cell('why'))}, with outcome {outcome}"
        row.note("why", found, "an empty cell: only a removal has it")
    return (
        age,
        outcome,
        float("nan") if age_from is None else age_from,
        0.0 if entered_at is None else entered_at,
        1.0 if count is None else count,
        cause or "wear",
        why or "scheduled",
    )


def _covariate(
    name: str, index: int, sheet: Sheet, problems: list[Problem]
) -> tuple[float | str, ...]:
    """One covariate column: numbers where every cell is one, words where none is."""
    numbers: dict[int, float] = {}
    words: dict[int, str] = {}
    faults_before = len(problems)

    def note(line: int, found: str, expected: str) -> None:
        problems.append(Problem(sheet.file, f"line {line}, column {name}", found, expected))

    for line, cells in sheet.rows:
        cell = cells[index]
        if not cell:
            note(line, "an empty cell", "a number or a word (unknown is a word)")
            continue
        try:
            numbers[line] = read_number(cell, semicolons=sheet.semicolons) + 0.0
        except UnreadableError as fault:
            # 12,5 or nan would pass unnoticed as a word.
            trouble = str(fault) if looks_like_number(cell) else text_fault(cell, in_table=True)
            if trouble is not None:
                note(line, shown(cell), trouble)
                continue
            words[line] = cell
    if len(problems) > faults_before:
        return ()
    if numbers and words:
        fewer = numbers if len(numbers) < len(words) else words
        lines = ", ".join(str(line) for line in list(fewer)[:10])
        more = f" and {len(fewer) - 10} more" if len(fewer) > 10 else ""
        kind, other = ("numbers", "words") if fewer is numbers else ("words", "numbers")
        plural = "s" if len(fewer) > 1 else ""
        note(next(iter(fewer)), f"{kind} (line{plural} {lines}{more}) among {other}", _ONE_KIND)
        return ()
    levels = Counter(words.values())
    if len(levels) > MOST_LEVELS:
        note(sheet.rows[0][0], f"{len(levels)} different words", f"at most {MOST_LEVELS}")
    usual: dict[str, str] = {}  # the most frequent spelling of each word
    for level, _ in levels.most_common():
        spelling = usual.setdefault(level.lower(), level)
        if spelling != level:
            line = next(line for line, word in words.items() if word == level)
            note(line, f"{shown(level)} beside {shown(spelling)}", "one spelling for one word")
    return tuple(numbers.values()) if numbers else tuple(words.values())


def write_records(records: LifeRecords) -> bytes:
    """The CSV file of life records: the columns entered, and those not at their default."""
    stated = set(records.columns)
    filled = {
        "age_from": not np.isnan(records.age_from).all(),
        "entered_at": bool(records.entered_at.any()),
        "count": bool((records.count != 1).any()),
        "cause": any(cause != "wear" for cause in records.cause),
        "why": any(why != "scheduled" for why in records.why),
    }
    header = [*records.columns]
    header += [
        name for name in COLUMNS if filled.get(name, name in REQUIRED) and name not in stated
    ]
    header += [name for name in records.covariates if name not in stated]
    columns = [_cells_of(records, name) for name in header]
    return written(header, list(zip(*columns, strict=True)))


def _cells_of(records: LifeRecords, name: str) -> list[str]:
    if name in records.covariates:
        return [v if isinstance(v, str) else plain(v) for v in records.covariates[name]]
    if name == "outcome":
        return list(records.outcome)
    if name in ("cause", "why"):
        holders = ("failed",) if name == "cause" else REMOVALS
        words = cast(tuple[Outcome | Cause | Why, ...], getattr(records, name))
        pairs = zip(words, records.outcome, strict=True)
        return [word if outcome in holders else "" for word, outcome in pairs]
    return ["" if np.isnan(v) else plain(v) for v in getattr(records, name)]
