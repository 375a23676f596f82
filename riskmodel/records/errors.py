"""What is wrong with what was entered, told all at once and in plain words."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

MOST_SHOWN = 100
"""Problems spelled out in one message; the rest are counted (all are in `problems`)."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in one file.

    `where` names the line and column of a table ("line 12, column age") or the line and key
    of a case file ("line 30, cost.planned"); `found` quotes what stands there; `expected`
    says what may.
    """

    file: str
    where: str
    found: str
    expected: str

    def __str__(self) -> str:
        place = f"{self.file}, {self.where}" if self.where else self.file
        return _one_line(f"{place}: found {self.found}; expected {self.expected}")


class InputError(ValueError):
    """Raised once for everything entered, with every problem found in it."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(self.problems)  # so that it survives pickling

    def __str__(self) -> str:
        lines = [str(problem) for problem in self.problems[:MOST_SHOWN]]
        if len(self.problems) > MOST_SHOWN:
            lines.append(f"and {len(self.problems) - MOST_SHOWN} problems more")
        return "\n".join(lines)


def by_line(problems: Iterable[Problem]) -> list[Problem]:
    """The problems of one file from its top to its bottom; those without a line first."""

    def line(problem: Problem) -> int:
        match = re.match(r"line (\d+)", problem.where)
        return int(match[1]) if match else 0

    return sorted(problems, key=line)


class CannotAnswer(ValueError):  # noqa: N818 (it is no error of anyone's)
    """The input is well formed, but what was asked has no answer; the message says why."""


def closest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The known word that `word` most likely means, whatever its case; None where none is near."""
    return _closest(word[:60].strip().lower(), tuple(known), cutoff)


@lru_cache(maxsize=1000)  # the same slip may stand on every line of a long file
def _closest(word: str, known: tuple[str, ...], cutoff: float) -> str | None:
    by_lower = {name.lower(): name for name in known}
    near = difflib.get_close_matches(word, by_lower, n=1, cutoff=cutoff)
    return by_lower[near[0]] if near else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A suggestion to end a message with, or nothing."""
    near = closest(word, known)
    return f" (did you mean {near}?)" if near else ""


def one_of(names: Iterable[str]) -> str:
    """ "one of a, b or c"; "a" where there is one only."""
    names = list(names)
    return names[0] if len(names) == 1 else f"one of {', '.join(names[:-1])} or {names[-1]}"


def _one_line(text: str) -> str:
    """A text with its control characters spelled out."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


def plain(value: float) -> str:
    """A number in full, without separators and without a needless fraction."""
    whole = math.isfinite(value) and value == int(value) and abs(value) < 1e15
    return str(int(value)) if whole else repr(float(value))


def shown(value: object) -> str:
    """A value as a message quotes it: short, on one line, control characters spelled out."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        text = value if len(value) <= 60 else value[:59] + "…"
        return f'"{_one_line(text)}"'
    if isinstance(value, float):
        return plain(value)
    if isinstance(value, int):
        digits = math.ceil((value.bit_length() - 1) * math.log10(2))  # a huge one cannot be printed
        return str(value) if digits < 60 else f"a whole number of about {digits} digits"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        if len(value) <= 4 and all(isinstance(item, int | float | str) for item in value):
            return f"[{', '.join(shown(item) for item in value)}]"
        return f"a list of {len(value)}"
    return str(value)[:60]
