"""World after world of a study of coverage, kept as it goes, and its tables in the end."""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from riskmodel.threads import one_thread
from tests.studies.intervals_coverage_tables import LEAST_WORLDS, tables

TENTHS = 10
"""Fewer worlds have no tenths."""


def run(
    about: str | None,
    one: Callable[[int, int], dict[str, Any]],
    kind: Callable[[int, int], str] | None = None,
    kinds: Sequence[str] = (),
) -> None:
    """`one` gives what came of a world, by its number and how many parts are on record; `kind`
    which of some `kinds` it is, before anything is weighed."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--worlds", type=int, default=1000, help=f"{LEAST_WORLDS} or more")
    parser.add_argument("--records", type=int, default=30)
    parser.add_argument("--keep", type=Path)
    if kind is not None:
        parser.add_argument("--only", nargs="+", choices=kinds, default=kinds)
    options = parser.parse_args()
    if options.worlds < LEAST_WORLDS:
        parser.error(
            f"--worlds: found {options.worlds}; expected at least {LEAST_WORLDS}, as the tables "
            "tell chances in tenths of the worlds"
        )
    one_thread()
    start = time.process_time()
    lines: list[str] = []
    if options.keep and options.keep.exists():
        lines = options.keep.read_text().splitlines()
    for number in range(len(lines), options.worlds):
        skip = kind is not None and kind(number, options.records) not in options.only
        lines.append("null" if skip else json.dumps(one(number, options.records)))
        if options.keep:
            with options.keep.open("a") as file:
                file.write(lines[-1] + "\n")
    read = [json.loads(line) for line in lines[: options.worlds]]
    found = [world for world in read if world is not None]
    print(tables(found) if len(found) >= TENTHS else f"{len(found)} worlds: too few to tabulate.")
    print(f"<!-- {time.process_time() - start:.0f} s of processor time -->")
