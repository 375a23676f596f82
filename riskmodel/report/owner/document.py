"""A printed document as plain values: what both the PDF and the HTML are made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Heading:
    """Level 1 is the title of a part, of which there is one in each; 2 those within it."""

    text: str
    level: int = 2


@dataclass(frozen=True, slots=True)
class Paragraph:
    text: str
    look: Literal["plain", "strong", "small"] = "plain"


@dataclass(frozen=True, slots=True)
class Items:
    """A list; `numbered` where the order matters, `small` for what is only looked up."""

    texts: tuple[str, ...]
    numbered: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Terms:
    """Names, each with its text behind it; `numbered` for steps, `ticked` with a box to tick,
    `flush` as paragraphs."""

    entries: tuple[tuple[str, str], ...]
    numbered: bool = False
    ticked: bool = False
    small: bool = False
    flush: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """`widths` are shares of the width, `right` the columns of figures, `marked` the row that
    stands out; `roomy` rows leave space for handwriting, a `small` one is only looked up. Each
    row begins with its name."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    title: str = ""
    right: frozenset[int] = frozenset()
    marked: int | None = None
    roomy: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as SVG with what it says in words; `title` and `figure` stand under it, `width`
    is its share of the width that there is."""

    svg: str
    alt: str
    title: str = ""
    figure: str = ""
    width: float = 1.0


@dataclass(frozen=True, slots=True)
class Blanks:
    """Names with a line behind each, to write on."""

    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """Blocks in a frame."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Columns:
    """Blocks side by side, each with its share of the width; two `even` ones are set as long as
    each other where they can be measured."""

    parts: tuple[tuple[float, tuple[Block, ...]], ...]
    even: bool = False


@dataclass(frozen=True, slots=True)
class Together:
    """Blocks that no page break comes between."""

    blocks: tuple[Block, ...]


Block = Heading | Paragraph | Items | Terms | Table | Picture | Blanks | Box | Together | Columns


@dataclass(frozen=True, slots=True)
class Part:
    """What begins on a page of its own, meant to take no more than `most_pages`; a `large` one
    is set larger where there is room."""

    blocks: tuple[Block, ...]
    most_pages: int
    large: bool = False


@dataclass(frozen=True, slots=True)
class Document:
    """At the foot of every page stand `head`, where there is one, and `foot`, and larger
    `warning`."""

    title: str
    parts: tuple[Part, ...]
    foot: str
    warning: str
    head: str
    date: str | None
    page: tuple[str, str] = ("", "")
