"""Two columns as long as each other, as far as their widths can make them so."""

from __future__ import annotations

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
_SMALL = 0.8


def side_by_side(left: tuple[Block, ...], right: tuple[Block, ...]) -> Columns:
    """Both, the longer one wider."""
    one, other = (sum(_letters(block) for block in side) for side in (left, right))
    share = min(max(one / max(one + other, 1.0), 1 - WIDEST), WIDEST)
    return Columns(((share, left), (1 - share, right)))


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
            return (len(block.rows) + 1.5) * 1.2 * _LINE
        case Box(blocks) | Together(blocks):
            return sum(_letters(each) for each in blocks)
        case Picture():
            return 4 * _LINE
    return _LINE


def _lines(text: str) -> float:
    return len(text) + _LINE / 2
