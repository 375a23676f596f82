"""Texts and tables as HTML, every text escaped: a case from elsewhere may hold anything.

Prose is shown as HTML and not as Markdown, so that a dollar sign starts no formula and a
name with brackets becomes no link or picture.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape
from itertools import pairwise

import pandas as pd

from riskmodel.words.formats import CODE

# A colon or an ampersand before a space starts nothing; a label is also read out as it stands here.
_MARKDOWN = re.compile(r"([\\`*_\[\]<>#|$~]|[:&](?=\S))")

# Addresses become links however they are escaped, unless something stands within them.
_ADDRESS = re.compile(r"(?i)(https?:(?=//)|www(?=\.)|(?<=[\w.+-])(?=@\w))")
_NOTHING_SEEN = "\u200b"
_SENTENCE = 45
"""Letters from which a cell stands under its heading where rows are cards, not beside it."""
_LONG = re.compile(r"[^ \t\n]{30}(?=[^ \t\n]{10})")
"""Letters in one run after which a line may break: no word of a person is that long."""


def markdown_text(text: str) -> str:
    """The text with nothing in it that Markdown would act on, for labels of widgets."""
    return _MARKDOWN.sub(r"\\\1", _ADDRESS.sub(rf"\1{_NOTHING_SEEN}", text))


def shown(text: str) -> str:
    """The text as HTML, which may break a long run on a narrow screen; copied, it is the same."""
    ends = [0, *(run.end() for run in _LONG.finditer(text)), len(text)]
    return "<wbr>".join(escape(text[start:end]) for start, end in pairwise(ends))


def paragraph(text: str, kind: str = "") -> str:
    return f"<p{_class(kind)}>{shown(text)}</p>"


def paragraphs(texts: Iterable[str], kind: str = "") -> str:
    return "".join(paragraph(text, kind) for text in texts)


def bullets(texts: Iterable[str]) -> str:
    return f"<ul>{_items(texts)}</ul>"


def numbered(texts: Iterable[str]) -> str:
    return f"<ol>{_items(texts)}</ol>"


def terms(entries: dict[str, str]) -> str:
    rows = [f"<dt>{shown(term)}</dt><dd>{shown(text)}</dd>" for term, text in entries.items()]
    return f"<dl>{''.join(rows)}</dl>"


def heading(text: str, level: int = 2) -> str:
    return f"<h{level}>{shown(text)}</h{level}>"


def block(kind: str, *parts: str) -> str:
    """Parts that are HTML already, in a box of their own."""
    return f"<div{_class(kind)}>{''.join(parts)}</div>"


def escaped(text: str) -> str:
    """Lines as they are, each as a paragraph."""
    return paragraphs(text.split("\n"))


def table(
    frame: pd.DataFrame, marked: int | None = None, links: Sequence[str] | None = None
) -> str:
    """A frame as a table; the row at place `marked` stands out. `links` are addresses on this
    page for the first cell of each row.

    On a narrow screen each row becomes a small card, its headings beside its figures.
    """
    columns = [str(name) for name in frame.columns]
    head = "".join(f'<th scope="col">{shown(name)}</th>' for name in columns)
    body = "".join(
        _row(
            columns,
            [str(value) for value in values],
            place == marked,
            links[place] if links is not None else "",
        )
        for place, values in enumerate(frame.itertuples(index=False, name=None))
    )
    return f'<table class="figures"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _row(columns: list[str], values: list[str], marked: bool, link: str) -> str:
    first, *rest = values
    head = shown(first)
    if link:
        head = f'<a href="{escape(link)}">{head}</a>'
    cells = "".join(
        f'<td{_class("long" if len(value) > _SENTENCE else "")} data-label="{escape(name)}">'
        f"{_cell(value)}</td>"
        for name, value in zip(columns[1:], rest, strict=True)
    )
    kind = _class("marked" if marked else "")
    return f'<tr{kind}><th scope="row">{head}</th>{cells}</tr>'


def _cell(text: str) -> str:
    """A cell's text with the codes of parts kept whole; copied, it is the same."""
    if not CODE.search(text):
        return shown(text)
    ends = [0, *(end for code in CODE.finditer(text) for end in code.span()), len(text)]
    pieces = [text[start:end] for start, end in pairwise(ends)]
    told = "".join(
        f'<span class="whole">{escape(piece)}</span>' if i % 2 else shown(piece)
        for i, piece in enumerate(pieces)
    )
    return f"<span>{told}</span>"


def _items(texts: Iterable[str]) -> str:
    return "".join(f"<li>{shown(text)}</li>" for text in texts)


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""
