"""A document as one HTML file that needs nothing from anywhere: no script, no link, no font."""

from __future__ import annotations

import base64
from html import escape

from riskmodel.report.owner.document import (
    Blanks,
    Block,
    Box,
    Columns,
    Document,
    Heading,
    Items,
    Paragraph,
    Part,
    Picture,
    Table,
    Terms,
)

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_STYLE = """
@page { size: A4; margin: 14mm 15mm; }
body { font: 16px/1.45 "DejaVu Sans", "Segoe UI", Helvetica, Arial, sans-serif; color: #1c2227;
  background: white; margin: 0 auto; padding: 1rem; max-width: 56rem; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: .6rem 0; }
h2 { font-size: 1.1rem; margin: 1.4rem 0 .4rem; border-bottom: 1px solid #59646c; }
p, ul, ol, dl { margin: .4rem 0; }
.strong { font-weight: bold; } .small { font-size: .85rem; }
.box { border: 2px solid #1c2227; padding: .4rem .8rem; margin: .6rem 0; }
.columns { display: flex; flex-wrap: wrap; gap: 1rem; }
.columns > div { flex: 1 1 9rem; } .columns > .wide { flex-basis: 20rem; }
table { border-collapse: collapse; width: 100%; margin: .5rem 0; font-size: .9rem; }
caption { text-align: left; font-weight: bold; padding: .2rem 0; }
th, td { border-bottom: 1px solid #c9d0d5; padding: .25rem .5rem; text-align: left;
  vertical-align: top; font-weight: normal; }
thead th { border-bottom: 2px solid #1c2227; font-weight: bold; }
.right { text-align: right; } .marked > * { font-weight: bold; }
.roomy td, .roomy th { border: 1px solid #59646c; height: 1.6rem; }
.scroll { overflow-x: auto; }
figure { margin: .3rem 0; } figure img { max-width: 100%; }
.wide img { width: 100%; } figcaption { font-size: .9rem; }
.terms { list-style: none; padding-left: 0; }
.terms.numbered { list-style: decimal; padding-left: 2rem; }
.blank { border-bottom: 1px solid #59646c; padding-top: .8rem; }
.part + .part { break-before: page; border-top: 4px solid #1c2227; margin-top: 3rem; }
footer { margin-top: 2rem; font-size: .85rem; }
@media print { body { font-size: 9.5pt; max-width: none; padding: 0; }
  h2 { break-after: avoid; } tr, figure, .box { break-inside: avoid; } }
"""


def html_of(document: Document) -> str:
    """The whole file. Every text is escaped; pictures stand in it as data."""
    head = f'<p class="strong">{escape(document.head)}</p>' if document.head else ""
    parts = "".join(_part(part) for part in document.parts)
    return (
        '<!DOCTYPE html>\n<html lang="en" dir="ltr">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(document.title)}</title>\n<style>{_STYLE}</style>\n</head>\n"
        f"<body>\n<main>{parts}</main>\n"
        f"<footer>{head}<p>{escape(document.foot)}</p></footer>\n</body>\n</html>\n"
    )


def _part(part: Part) -> str:
    return f'<section class="part">{_blocks(part.blocks)}</section>'


def _blocks(blocks: tuple[Block, ...]) -> str:
    return "\n".join(_block(block) for block in blocks)


def _block(block: Block) -> str:
    match block:
        case Heading(text, level):
            return f"<h{level}>{escape(text)}</h{level}>"
        case Paragraph(text, look):
            return f'<p class="{look}">{escape(text)}</p>'
        case Items(texts, numbered, small):
            tag = "ol" if numbered else "ul"
            items = "".join(f"<li>{escape(text)}</li>" for text in texts)
            return f"<{tag}{_kind('small' if small else '')}>{items}</{tag}>"
        case Terms():
            return _terms(block)
        case Table():
            return _table(block)
        case Picture():
            return _picture(block)
        case Blanks(names):
            return "".join(f'<p class="blank">{escape(name)}:</p>' for name in names)
        case Box(blocks):
            return f'<div class="box">{_blocks(blocks)}</div>'
        case Columns(parts):
            return f'<div class="columns">{"".join(_column(*part) for part in parts)}</div>'


def _column(share: float, blocks: tuple[Block, ...]) -> str:
    return f"<div{_kind('wide' if share > 0.3 else '')}>{_blocks(blocks)}</div>"


def _terms(block: Terms) -> str:
    tag = "ol" if block.numbered else "ul"
    tick = "☐ " if block.ticked else ""
    items = "".join(
        f"<li>{tick}<strong>{escape(name)}</strong> {escape(text)}</li>"
        for name, text in block.entries
    )
    looks = [
        "terms",
        *(["numbered"] if block.numbered else []),
        *(["small"] if block.small else []),
    ]
    return f"<{tag}{_kind(' '.join(looks))}>{items}</{tag}>"


def _table(block: Table) -> str:
    title = f"<caption>{escape(block.title)}</caption>" if block.title else ""
    head = "".join(
        f'<th scope="col"{_kind(_right(block, i))}>{escape(text)}</th>'
        for i, text in enumerate(block.columns)
    )
    rows = "".join(
        f"<tr{_kind('marked' if place == block.marked else '')}>{_row(block, row)}</tr>"
        for place, row in enumerate(block.rows)
    )
    return (
        f'<div class="scroll"><table{_kind("roomy" if block.roomy else "")}>{title}'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _row(block: Table, row: tuple[str, ...]) -> str:
    first = f'<th scope="row">{escape(row[0])}</th>' if row[0] else "<td></td>"
    return first + "".join(
        f"<td{_kind(_right(block, i))}>{escape(text)}</td>" for i, text in enumerate(row) if i
    )


def _right(block: Table, column: int) -> str:
    return "right" if column in block.right else ""


def _picture(block: Picture) -> str:
    data = base64.b64encode(block.svg.encode()).decode()
    above = (
        f"<figcaption><strong>{escape(block.title)}</strong><br>{escape(block.figure)}</figcaption>"
    )
    return (
        f"<figure>{above if block.title else ''}"
        f'<img src="data:image/svg+xml;base64,{data}" alt="{escape(block.alt)}"></figure>'
    )


def _kind(name: str) -> str:
    return f' class="{name}"' if name else ""
