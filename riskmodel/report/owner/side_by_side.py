"""Two columns about as long as each other, as far as their widths can make them so: in print they
are measured anew (template.typ)."""

from __future__ import annotations

from math import ceil

from riskmodel.report.owner.document import (
    Block,
    Box,
    Columns,
    Heading,
    Items,
    Paragraph,
    Picture,
    Table,
    Terms,
    Together,
)

WIDEST = 0.54
"""The share of the width that either may take at most."""
_LINE = 55
"""About so many letters stand in a line."""
_SMALL = 0.75
_NARROW = 1.3
"""About so many letters as elsewhere find room in a table, which is set smaller."""


def side_by_side(left: tuple[Block, ...], right: tuple[Block, ...]) -> Columns:
    """Both, the longer one wider."""
    one, other = (sum(_letters(block) for block in side) for side in (left, right))
    share = min(max(one / max(one + other, 1.0), 1 - WIDEST), WIDEST)
    return Columns(((share, left), (1 - share, right)), even=True)


def _letters(block: Block) -> float:
    """About how many letters' worth of room it takes."""
    match block:
        case Heading():
            return 2 * _LINE
        case Paragraph(text, look):
            return _lines(text) * (_SMALL if look == "small" else 1)
        case Items(texts):
            return sum(_lines(text) for text in texts)
        case Terms(entries):
            return sum(_lines(f"{name} {text}") for name, text in entries)
        case Table():
            return (sum(_deep(block, row) for row in block.rows) + 1.5) * 1.05 * _LINE
        case Box(blocks) | Together(blocks):
            return sum(_letters(each) for each in blocks)
        case Picture():
            return 4 * _LINE
    return _LINE


def _deep(table: Table, row: tuple[str, ...]) -> int:
    """In how many lines a row is set."""
    share = _LINE / sum(table.widths)
    pairs = zip(row, table.widths, strict=True)
    return max(1, *(ceil(len(cell) / (width * share * _NARROW)) for cell, width in pairs))


def _lines(text: str) -> float:
    return len(text) + _LINE / 2
