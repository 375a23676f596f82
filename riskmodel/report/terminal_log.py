"""What the log says, as text for a terminal."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from rich import box
from rich.table import Table

from riskmodel.report.terminal import console
from riskmodel.report.terminal_layout import put


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table: its title, headings and rows of texts."""

    title: str
    headings: Sequence[str]
    rows: Sequence[Sequence[str]]


def print_json(value: Any) -> None:
    """One JSON object on standard output, numbers unrounded."""
    json.dump(value, sys.stdout, ensure_ascii=False, allow_nan=False, indent=2)
    sys.stdout.write("\n")


def print_answer(lines: Sequence[str], sheets: Sequence[Sheet]) -> None:
    """Tables with any row, then sentences."""
    out = console()
    for sheet in sheets:
        if not sheet.rows:
            continue
        table = Table(
            box=box.SIMPLE_HEAD, title=sheet.title, title_justify="left", title_style="",
            padding=(0, 1, 0, 0), pad_edge=False,
        )  # fmt: skip
        for heading in sheet.headings:
            table.add_column(heading, overflow="fold")
        for row in sheet.rows:
            table.add_row(*row)
        put(out, table)
    for line in lines:
        out.print(line)
