"""Tables and sentences on a terminal: no figure is cut off, and none parted from its unit."""

from __future__ import annotations

import textwrap

from rich.cells import cell_len
from rich.console import Console
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

WIDEST = 10_000


def put(out: Console, table: Table, narrow: Table | None = None) -> None:
    """Print `table`, or where it doesn't fit its `narrow` form; if that doesn't either, in all its
    width: it then runs on in the next line, which is ugly, but nothing is lost."""
    if narrow is not None and _width(out, table) > out.width:
        table = narrow
    usual = out.width
    try:
        out.width = max(usual, _width(out, table))
        out.print(table, crop=False)
    finally:
        out.width = usual


def _width(out: Console, table: Table) -> int:
    """The least that `table` needs: columns that are not to be wrapped are as wide as their
    longest line, headings included."""
    for column in table.columns:
        if column.no_wrap:
            lines = [line for cell in (column.header, *column.cells) for line in _lines(cell)]
            column.min_width = max(map(cell_len, lines), default=1)
    return Measurement.get(out, out.options.update_width(WIDEST), table).minimum


def _lines(cell: object) -> list[str]:
    return str(cell).splitlines()


def wrapped(out: Console, text: str, style: str = "") -> Text:
    """`text` in lines that fit. The library alone would break them at no-break spaces too; letters
    two columns wide are left to it."""
    if cell_len(text) == len(text):
        text = "\n".join(textwrap.wrap(text, out.width, break_on_hyphens=False))
    return Text(text, style=style)
