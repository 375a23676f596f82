"""Life records from a table of somebody's own, once it is said which column is what.

Nothing is dropped in silence: every row of the table becomes a record, is left out because a
word of it was said to mean that, or is named among the problems. The records are written as
the CSV file of a case and read like any other, so that one validator rules.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from riskmodel.records.csv_text import LARGEST
from riskmodel.records.errors import InputError, Problem, by_line, plain, shown
from riskmodel.records.inputs import Unit
from riskmodel.records.life_table import (
    COLUMNS,
    MOST_COVARIATES,
    MOST_LEVELS,
    REMOVALS,
    is_slip,
    read_records,
)
from riskmodel.records.loose_cells import Decimal, read_loose_number
from riskmodel.records.loose_guess import LEAVE_OUT, distinct
from riskmodel.records.loose_text import LooseTable
from riskmodel.records.row_table import UNKNOWN, RowTable, csv_of, table
from riskmodel.records.scalars import UnreadableError
from riskmodel.records.units import factor

MOST_WORDS = 30
"""Different words of a column that can be given a meaning each."""

OF_USAGE = ("age", "age_from", "entered_at")
OF_NUMBERS = (*OF_USAGE, "count")
OF_WORDS = ("outcome", "cause", "why")
_HOLDERS = {"age_from": ("failed",), "cause": ("failed",), "why": REMOVALS}
"""The outcomes with which a column means anything."""
_TABLE = "the table"


@dataclass(frozen=True, slots=True)
class Choices:
    """Which column is what. `columns` gives a heading for a field of the records; `constants`
    an entry for every row where there is no column; `words` the meaning of each word (in
    lower case) of the columns of words, `LEAVE_OUT` for rows that are not wanted; `traits`
    the headings kept as covariates. `table_unit` and `decimal` say how its numbers are meant.
    """

    columns: Mapping[str, str]
    table_unit: Unit
    decimal: Decimal = "point"
    constants: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    traits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Imported:
    """What a table came to.

    `unsettled` are problems of the whole table, that must be put right first. `rows` are the
    records read, with their `lines` in the file; `problems` name the rows that cannot be
    read. `left_out` counts rows left out by the meaning of a word, `unused` by field the
    cells that mean nothing beside their row's outcome.
    """

    rows: RowTable
    lines: tuple[int, ...]
    problems: tuple[Problem, ...]
    unsettled: tuple[Problem, ...]
    left_out: int
    unused: Mapping[str, int]
    parts: Mapping[str, int]

    @property
    def lines_unread(self) -> int:
        """How many lines of the table cannot be read."""
        return len({problem.where.partition(",")[0] for problem in self.problems})


def imported(loose: LooseTable, choices: Choices, unit: Unit) -> Imported:
    """The records in a table, in the case's `unit`.

    `parts` counts the parts by outcome.
    """
    unsettled = _unsettled(loose, choices, unit)
    if unsettled:
        return Imported(RowTable(), (), (), tuple(unsettled), 0, {}, {})
    problems = loose.ragged_problems()
    names = trait_names(choices.traits)
    kinds = {heading: _Trait(loose.column(heading), choices) for heading in choices.traits}
    columns = [name for name in COLUMNS if name in choices.columns or name in choices.constants]
    rows, lines = [], []
    left_out, unused = 0, Counter[str]()
    for line, cells in loose.rows:
        row = _Row(loose, dict(zip(loose.headings, cells, strict=True)), line, choices, unit)
        if row.left_out:
            left_out += 1
            continue
        read = [row.cell(name) for name in columns]
        read += [row.trait(heading, kinds[heading]) for heading in choices.traits]
        unused.update(row.unused)
        problems += row.problems
        if not row.problems:
            rows.append(tuple(read))
            lines.append(line)
    held = (*columns, *(names[heading] for heading in choices.traits))
    own = {**choices.columns, **{name: heading for heading, name in names.items()}}
    rows, lines, refused, whole = _validated(loose.file, held, rows, lines, own)
    found = table(held, rows)
    parts = Counter[str]()
    for outcome, count in zip(found.column("outcome"), found.column("count"), strict=True):
        parts[outcome] += int(float(count or 1))
    return Imported(
        found,
        tuple(lines),
        tuple(by_line([*problems, *refused])),
        tuple(whole),
        left_out,
        dict(unused),
        dict(parts),
    )


def trait_names(headings: Sequence[str]) -> dict[str, str]:
    """The name of a covariate column for each heading: "Oil interval" becomes oil_interval."""
    found: dict[str, str] = {}
    for heading in headings:
        ascii_only = unicodedata.normalize("NFKD", heading).encode("ascii", "ignore").decode()
        base = re.sub(r"[^a-z0-9]+", "_", ascii_only.lower()).strip("_")
        if not base or not base[0].isalpha():
            base = f"trait_{base}".strip("_")
        if base in COLUMNS or is_slip(base):
            base = f"trait_{base}"
        name, again = base[:30].strip("_"), 2
        while name in found.values():
            name, again = f"{base[:26].strip('_')}_{again}", again + 1
        found[heading] = name
    return found


def _unsettled(loose: LooseTable, choices: Choices, unit: Unit) -> list[Problem]:
    """What stands in the way of reading any row."""
    problems = []

    def note(where: str, found: str, expected: str) -> None:
        problems.append(Problem(loose.file, where, found, expected))

    for name in ("age", "outcome"):
        if name not in choices.columns and name not in choices.constants:
            note(name, "no column", "the column that holds it")
    taken = Counter([*choices.columns.values(), *choices.traits])
    for column, uses in taken.items():
        if uses > 1:
            note(column, f"the same column for {uses} things", "one meaning for a column")
    if unit != choices.table_unit and "h" in (unit, choices.table_unit):
        note(_TABLE, f"usage in {choices.table_unit}", f"usage in {unit}, as in the case")
    if len(choices.traits) > MOST_COVARIATES:
        note(_TABLE, f"{len(choices.traits)} traits", f"at most {MOST_COVARIATES}")
    for name in OF_WORDS:
        heading = choices.columns.get(name)
        if heading is None:
            continue
        counts = distinct(loose.column(heading))
        known = choices.words.get(name, {})
        without = [word for word in counts if word not in known]
        if len(counts) > MOST_WORDS:
            note(heading, f"{len(counts)} different words", f"at most {MOST_WORDS}")
        elif without:
            told = ", ".join(shown(word) if word else "an empty cell" for word in without)
            note(heading, told, "a meaning for each word")
    for heading in choices.traits:
        trait = _Trait(loose.column(heading), choices)
        if not trait.of_numbers and len(trait.spelling) > MOST_LEVELS:
            found = f"{len(trait.spelling)} different words"
            note(heading, found, f"at most {MOST_LEVELS} for a trait")
    return problems


class _Trait:
    """How a column that is kept as a trait is read: numbers, or words in one spelling each."""

    def __init__(self, cells: Sequence[str], choices: Choices) -> None:
        filled = [cell for cell in cells if cell]
        numbers = sum(_number(cell, choices) is not None for cell in filled)
        self.of_numbers = 2 * numbers > len(filled)
        self.spelling: dict[str, str] = {}
        if not self.of_numbers:
            for word, _ in Counter(cells).most_common():
                self.spelling.setdefault((word or UNKNOWN).lower(), word or UNKNOWN)


def _number(cell: str, choices: Choices) -> float | None:
    try:
        return read_loose_number(cell, choices.decimal, choices.table_unit)
    except UnreadableError:
        return None


class _Row:
    """One row of the table, read field by field; what cannot be read goes into `problems`."""

    def __init__(
        self, loose: LooseTable, cells: dict[str, str], line: int, choices: Choices, unit: Unit
    ) -> None:
        self._file, self._cells, self._line = loose.file, cells, line
        self._choices = choices
        self._factor = factor(choices.table_unit, unit)
        self.problems: list[Problem] = []
        self.unused: list[str] = []
        self._meanings = {name: self._meaning(name) for name in OF_WORDS}

    @property
    def left_out(self) -> bool:
        return LEAVE_OUT in self._meanings.values()

    def cell(self, name: str) -> str:
        """The entry of a field as the file of a case would hold it."""
        heading = self._choices.columns.get(name)
        holders = _HOLDERS.get(name)
        if holders is not None and self._meanings["outcome"] not in holders:
            if heading is not None and self._cells[heading]:
                self.unused.append(name)
            return ""
        if name in OF_WORDS:
            return self._meanings[name]
        if heading is None:
            return self._choices.constants.get(name, "")
        text = self._cells[heading]
        if not text:
            if name == "age":
                self._note(heading, "an empty cell", "a number above 0")
            return ""
        try:
            number = read_loose_number(text, self._choices.decimal, self._choices.table_unit)
        except UnreadableError as fault:
            self._note(heading, shown(text), str(fault))
            return ""
        if not number <= LARGEST:
            self._note(heading, shown(text), f"a number not larger than {plain(LARGEST)}")
            return ""
        converted = name in OF_USAGE and self._factor != 1.0
        return plain(round(number * self._factor, 1) if converted else number)

    def trait(self, heading: str, trait: _Trait) -> str:
        """A trait: a number as it is, a word in the spelling used most."""
        text = self._cells[heading]
        if not trait.of_numbers:
            return trait.spelling[(text or UNKNOWN).lower()]
        number = _number(text, self._choices) if text else None
        if number is None:
            found = shown(text) if text else "an empty cell"
            self._note(heading, found, "a number, as in the other rows of this trait")
            return ""
        return plain(number)

    def _meaning(self, name: str) -> str:
        heading = self._choices.columns.get(name)
        if heading is None:
            return self._choices.constants.get(name, "")
        return self._choices.words.get(name, {}).get(self._cells[heading].lower(), "")

    def _note(self, heading: str, found: str, expected: str) -> None:
        where = f"line {self._line}, column {heading}"
        self.problems.append(Problem(self._file, where, found, expected))


_WHERE = re.compile(r"line (\d+)(?:, column (\S+))?")
_ROUNDS = 5


def _validated(
    file: str,
    columns: Sequence[str],
    rows: list[tuple[str, ...]],
    lines: list[int],
    own: Mapping[str, str],
) -> tuple[list[tuple[str, ...]], list[int], list[Problem], list[Problem]]:
    """The rows that the reader of a case's file takes, and its problems with the others by
    the lines and headings of the table (`own`, by the name of the file); last, what is wrong
    with all of them together."""
    refused: list[Problem] = []
    for _ in range(_ROUNDS):
        if not rows:
            break
        try:
            read_records(csv_of(table(columns, rows)), file)
        except InputError as error:
            bad: set[int] = set()
            for problem in error.problems:
                match = _WHERE.match(problem.where)
                place = int(match[1]) - 2 if match else -1
                if not match or not 0 <= place < len(rows):
                    return rows, lines, refused, list(error.problems)
                bad.add(place)
                where = f"line {lines[place]}"
                if match[2]:
                    where += f", column {own.get(match[2], match[2])}"
                refused.append(Problem(file, where, problem.found, problem.expected))
            rows = [row for place, row in enumerate(rows) if place not in bad]
            lines = [line for place, line in enumerate(lines) if place not in bad]
        else:
            return rows, lines, refused, []
    found = "no row that can be read" if not rows else "rows that cannot be read"
    return rows, lines, refused, [Problem(file, _TABLE, found, "at least one row that can")]
