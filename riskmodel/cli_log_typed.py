"""What the sub-verbs of `riskmodel log` share: what was typed, the log opened, how it went."""

from __future__ import annotations

import argparse
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from riskmodel.cli_rank import day_of
from riskmodel.records.errors import CannotAnswer, shown
from riskmodel.records.log.entries import (
    Payload,
)
from riskmodel.records.log.log import Log
from riskmodel.records.log.place import open_log, place
from riskmodel.records.log.rows import Written
from riskmodel.records.scalars import UnreadableError, read_number
from riskmodel.records.tables import Reading
from riskmodel.report.terminal_log import Sheet
from riskmodel.words import log as words

Asked = argparse.Namespace


@dataclass(frozen=True, slots=True)
class Answer:
    """What to print: one object for programs; sentences and tables for people."""

    held: dict[str, Any]
    lines: Sequence[str] = ()
    tables: Sequence[Sheet] = field(default_factory=list)
    status: int = 0


def opened(asked: Asked) -> Log:
    return open_log(place(asked.log))


def day(asked: Asked) -> str:
    return day_of(asked.date).isoformat()


def added(asked: Asked, payload: Payload) -> Answer:
    with opened(asked) as log:
        done = log.add(payload, author=asked.author, machine=asked.machine)
    return written(done)


def written(done: Written) -> Answer:
    held = {
        "entries": [e.seq for e in done.entries],
        "machine": done.entry.machine,
        "kind": done.entry.kind,
        "warnings": list(done.warnings),
    }
    return Answer(held, words.written(done))


def results_typed(texts: Sequence[str]) -> dict[str, Reading]:
    found = {}
    for text in texts:
        symbol, value = pair("results", text, "METAL=PPM")
        below = value.startswith("<")
        found[symbol] = Reading(number(symbol, value.removeprefix("<")), below)
    return found


def pair(option: str, text: str, expected: str, *, empty: bool = False) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not (empty or value.strip()):
        raise CannotAnswer(f"{option}: found {shown(text)}, expected {expected}")
    return name.strip(), value.strip()


def number(what: str, text: str) -> float:
    try:
        return read_number(text)
    except UnreadableError as fault:
        raise CannotAnswer(f"{what}: found {shown(text)}, expected {fault}") from None


def stated(text: str) -> Any:
    """A value as case.toml states it; a word without quotes is a word; nothing is None."""
    if not text:
        return None
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text
