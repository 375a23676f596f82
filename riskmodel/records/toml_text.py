"""The text of case.toml, parsed, and the line on which each of its keys stands.

The standard library parses; it does not say where a key came from. `lines_of` walks the same
text once more, only when a message needs a line.
"""

from __future__ import annotations

import contextlib
import re
import tomllib
from typing import Any

from riskmodel.records.errors import InputError, Problem, shown
from riskmodel.records.scalars import UnreadableError, read_number
from riskmodel.records.text import MAX_CASE_FILE, decoded

Path = tuple[str | int, ...]
"""A key's place: ("oil", "element", 1, "typical") is `typical` of the second element."""

MOST_PARTS = 20
_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+"""
_LONG_KEY = re.compile(rf"(?<![\w-])(?:{_PART}){{{MOST_PARTS}}}", re.ASCII)
"""Nothing in it is tried twice, so that no hostile text takes long."""


def parsed(data: bytes, file: str) -> tuple[dict[str, Any], str]:
    """The contents of a TOML file and its text.

    Raises InputError, with the line, where it is not valid TOML.
    """
    text = decoded(data, file, MAX_CASE_FILE)
    _refuse_long_keys(text, file)
    try:
        return tomllib.loads(text), text
    except RecursionError:
        problem = Problem(file, "", "brackets nested too deep", "a case file")
    except tomllib.TOMLDecodeError as error:
        problem = _syntax_problem(str(error), file, text)
    except ValueError:  # Python reads no whole number of more than 4300 digits
        digits = re.search(r"[0-9_]{4000,}", text)
        line = text.count("\n", 0, digits.start()) + 1 if digits else 0
        where = f"line {line}" if line else ""
        problem = Problem(file, where, "thousands of digits", "a number of ordinary size")
    raise InputError([problem])


def _refuse_long_keys(text: str, file: str) -> None:
    """The parser needs memory as the square of a key's parts: a.a.a... of 600 kB takes 180 GB."""
    key = _LONG_KEY.search(text)
    if key is not None:
        line = text.count("\n", 0, key.start()) + 1
        found, expected = f"a key of more than {MOST_PARTS} parts", "a key such as cost.planned"
        raise InputError([Problem(file, f"line {line}", found, expected)])


def _syntax_problem(message: str, file: str, text: str) -> Problem:
    match = re.search(r" \(at line (\d+), column (\d+)\)$", message)
    if match is None:
        reason = message.removesuffix(" (at end of document)")
        where = "its end" if reason != message else ""
        return Problem(file, where, reason[:1].lower() + reason[1:], "valid TOML")
    reason, number, column = message[: match.start()], int(match[1]), int(match[2])
    lines = text.replace("\r\n", "\n").split("\n")
    line = lines[number - 1].strip() if number <= len(lines) else ""
    found = line if line.isprintable() and 0 < len(line) <= 60 else shown(line)
    expected = f"valid TOML ({reason})"
    value = re.search(r"=\s*([^#\[\]{}\"']+)", line)
    if re.search("overwrite|twice|Duplicate|immutable", reason):
        expected = "each key and each table once; it stands further up already"
    elif reason == r"Illegal character '\n'":
        expected = "a closing quote on the same line"
    elif value is not None:
        try:
            read_number(value[1])
        except UnreadableError as fault:
            if str(fault) != "a number":
                expected = str(fault)
    return Problem(file, f"line {number}, column {column}", found, expected)


def lines_of(text: str) -> dict[Path, int]:
    """The line, counted from 1, on which each key, table and list item of valid TOML begins."""
    walk = _Walk(text.replace("\r\n", "\n"))
    with contextlib.suppress(IndexError, RecursionError):  # what was found so far must do
        walk.document()
    return walk.lines


class _Walk:
    """One pass over text that is known to be valid TOML, noting where things begin."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.table: Path = ()
        self.counts: dict[Path, int] = {}  # tables so far in each list of [[tables]]

    def document(self) -> None:
        while True:
            self.skip(" \t\n")
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                self.header()
            else:
                self.statement(self.table)

    def header(self) -> None:
        line = self.line
        many = self.text.startswith("[[", self.at)
        self.step(2 if many else 1)
        names = self.key()
        self.step(2 if many else 1)
        path: Path = ()
        for depth, name in enumerate(names):
            path += (name,)
            if many and depth == len(names) - 1:
                self.lines.setdefault(path, line)
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts:
                path += (self.counts[path] - 1,)
            self.lines.setdefault(path, line)
        self.table = path

    def statement(self, table: Path) -> None:
        """`key = value`, the key dotted or not."""
        line = self.line
        path = table
        for name in self.key():
            path += (name,)
            self.lines.setdefault(path, line)
        self.skip(" \t")
        self.step(1)  # the equals sign
        self.value(path)

    def key(self) -> list[str]:
        names = []
        while True:
            self.skip(" \t")
            if self.text[self.at] in "\"'":
                names.append(self.string())
            else:
                start = self.at
                while self.text[self.at] not in " \t.=]\n":
                    self.at += 1
                names.append(self.text[start : self.at])
            self.skip(" \t")
            if self.text[self.at] != ".":
                return names
            self.step(1)

    def value(self, path: Path) -> None:
        self.skip(" \t\n")
        first = self.text[self.at]
        if first in "\"'":
            self.string()
        elif first in "[{":
            self.step(1)
            self.items(path, "]" if first == "[" else "}")
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self.at += 1

    def items(self, path: Path, end: str) -> None:
        index = 0
        while True:
            self.skip(" \t\n,")
            if self.text[self.at] == end:
                self.step(1)
                return
            if end == "}":
                self.statement(path)
            else:
                self.lines.setdefault((*path, index), self.line)
                self.value((*path, index))
                index += 1

    def string(self) -> str:
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.step(len(mark))
        start = self.at
        while not self.text.startswith(mark, self.at):
            self.step(2 if quote == '"' and self.text[self.at] == "\\" else 1)
        if len(mark) == 3:  # up to two more quotes may belong to the text
            while self.text.startswith(mark, self.at + 1):
                self.at += 1
        inside = self.text[start : self.at]
        self.step(len(mark))
        if mark == '"' and "\\" in inside:
            inside = tomllib.loads(f'text = "{inside}"')["text"]
        return inside

    def step(self, count: int) -> None:
        self.line += self.text.count("\n", self.at, self.at + count)
        self.at += count

    def skip(self, blanks: str) -> None:
        """Blanks and comments."""
        while self.at < len(self.text):
            character = self.text[self.at]
            if character in blanks:
                self.step(1)
            elif character == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            else:
                return
