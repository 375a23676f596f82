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
    Together,
)
from riskmodel.words.formats import CODE

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_STYLE = """
/* On paper: a narrow letter, and others that stand in for it drawn to about its width, so that the
   report keeps to its pages on any machine. */
@font-face { font-family: Narrow; src: local("Libertinus Serif"), local("Times New Roman"),
  local("Liberation Serif"), local("Tinos"); }
@font-face { font-family: Narrow; font-weight: bold; src: local("Libertinus Serif Bold"),
  local("Times New Roman Bold"), local("Liberation Serif Bold"), local("Tinos Bold"); }
@font-face { font-family: Wide; src: local("DejaVu Serif Condensed"), local("DejaVu Serif"),
  local("Noto Serif"); size-adjust: 84%; }
@font-face { font-family: Wide; font-weight: bold; src: local("DejaVu Serif Condensed Bold"),
  local("DejaVu Serif Bold"), local("Noto Serif Bold"); size-adjust: 84%; }
@page { size: A4; margin: 11mm 13mm; }
:root { color-scheme: light dark; --ink: #1c2227; --paper: white; --quiet: #59646c;
  --hair: #c9d0d5; }
body { font: 1rem/1.45 "DejaVu Sans", "Segoe UI", Helvetica, Arial, sans-serif;
  color: var(--ink); background: var(--paper); margin: 0 auto; padding: 1rem; max-width: 60rem;
  overflow-wrap: break-word; }
h1 { font-size: 1.6em; line-height: 1.2; margin: .4em 0; }
h2 { font-size: 1.1em; line-height: 1.25; margin: 1.4em 0 .4em;
  border-bottom: 1px solid var(--quiet); }
p, ul, ol { margin: .4em 0; } ul, ol { padding-left: 1.5em; }
.strong { font-weight: bold; } .small { font-size: .94em; }
.box { border: 2px solid var(--ink); padding: .3em .8em; margin: .6em 0; }
.columns { display: grid; gap: 0 1.5em; grid-template-columns: var(--shares); }
.columns > div { min-width: 0; } .columns > div > h2:first-child { margin-top: .8em; }
table { border-collapse: collapse; width: 100%; margin: .5em 0; font-size: .94em; }
table.small { font-size: .94em; }
caption { text-align: left; font-weight: bold; padding: .2em 0; }
th, td { border-bottom: 1px solid var(--hair); padding: .25em .5em; text-align: left;
  vertical-align: top; font-weight: normal; }
thead th { border-bottom: 2px solid var(--ink); font-weight: bold; }
.right { text-align: right; } .marked > * { font-weight: bold; }
.roomy td, .roomy th { border: 1px solid var(--quiet); height: 1.6em; }
.scroll { overflow-x: auto; } .whole { white-space: nowrap; }
figure { margin: .3em 0; } figure img { width: 100%; background: white; }
figure.named img { display: block; max-width: 14rem; } figcaption { font-size: .94em; }
.terms { list-style: none; padding-left: 0; }
.terms.numbered { list-style: decimal; padding-left: 2em; }
.blank { border-bottom: 1px solid var(--quiet); padding-top: .8em; }
.part + .part { break-before: page; border-top: 4px solid var(--ink); margin-top: 3em; }
footer { margin-top: 2em; font-size: .94em; }
@media screen and (prefers-color-scheme: dark) {
  :root { --ink: #e6eaed; --paper: #14181b; --quiet: #aab4bb; --hair: #48525a; }
}
@media screen and (max-width: 42rem) {
  .columns { grid-template-columns: 1fr; }
  .columns .columns { grid-template-columns: 1fr 1fr; }
  .stacked, .stacked caption, .stacked tbody, .stacked tr, .stacked th,
  .stacked td { display: block; }
  .stacked thead { display: none; }
  .stacked tr { border-bottom: 2px solid var(--quiet); padding: .4em 0; }
  .stacked th, .stacked td { border: 0; padding: .1em 0; text-align: left; }
  .stacked th { font-weight: bold; }
  .stacked td::before { content: attr(data-label) ": "; color: var(--quiet); }
  .stacked .marked::before { content: "\\2605"; float: right; }
}
@media print {
  :root { font-size: 8.9pt; color-scheme: light; }
  body { font-family: Narrow, Wide, serif; line-height: 1.16; max-width: none; padding: 0; }
  h1 { font-size: 1.7em; margin: .1em 0; }
  h2 { font-size: 1.15em; margin: .5em 0 .2em; break-after: avoid; }
  p, ul, ol, figure { margin: .12em 0; } ul, ol { padding-left: 1.2em; }
  .columns > div > h2:first-child { margin-top: .4em; }
  .box { border-width: 1px; padding: .15em .6em; margin: .3em 0; }
  th, td { padding: .1em .4em; } table { margin: .2em 0; }
  tr, figure, .box, .together { break-inside: avoid; }
  /* No page break leaves one row of a table alone. */
  tbody tr:first-child, tbody tr:nth-last-child(2) { break-after: avoid; }
  .part + .part { border: 0; margin: 0; }
  .roomy td, .roomy th { padding: .5em .4em; }
  footer { margin-top: .6em; }
}
"""
_SHARES = "\n".join(f".split-{n} {{ --shares: {n}fr {100 - n}fr; }}" for n in range(20, 81))
"""How two columns part the width, in hundredths of it."""
_STACKED_FROM = 4
"""A table of so many columns stands row by row where the screen is narrow."""


def html_of(document: Document) -> str:
    """The whole file. Every text is escaped; pictures stand in it as data."""
    head = f'<p class="strong">{escape(document.head)}</p>' if document.head else ""
    parts = "".join(_part(part) for part in document.parts)
    return (
        '<!DOCTYPE html>\n<html lang="en" dir="ltr">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(document.title)}</title>\n<style>{_STYLE}{_SHARES}</style>\n</head>\n"
        f"<body>\n<main>{parts}</main>\n"
        f'<footer><p class="strong">{escape(document.warning)}</p>{head}'
        f"<p>{escape(document.foot)}</p></footer>\n</body>\n</html>\n"
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
        case Together(blocks):
            return f'<div class="together">{_blocks(blocks)}</div>'
        case Columns(parts, _):
            return _columns(parts)


def _columns(parts: tuple[tuple[float, tuple[Block, ...]], ...]) -> str:
    inner = "".join(f"<div>{_blocks(blocks)}</div>" for _, blocks in parts)
    left = round(100 * parts[0][0] / sum(share for share, _ in parts))
    return f'<div class="columns split-{left}">{inner}</div>'


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
    """The roles are those of the tags: a browser forgets them where rows are stacked."""
    title = f"<caption>{escape(block.title)}</caption>" if block.title else ""
    head = "".join(
        f'<th scope="col" role="columnheader"{_kind(_right(block, i))}>{escape(text)}</th>'
        for i, text in enumerate(block.columns)
    )
    rows = "".join(
        f'<tr role="row"{_kind("marked" if place == block.marked else "")}>{_row(block, row)}</tr>'
        for place, row in enumerate(block.rows)
    )
    many = len(block.columns) >= _STACKED_FROM
    looks = ["roomy"] if block.roomy else []
    looks += ["small"] if block.small else []
    looks += ["stacked"] if many and not block.roomy else []
    # What may scroll sideways on a narrow screen can be reached with the keyboard.
    name = escape(block.title or ", ".join(block.columns))
    reached = f' tabindex="0" role="region" aria-label="{name}"' if block.roomy and many else ""
    return (
        f'<div class="scroll"{reached}><table role="table"{_kind(" ".join(looks))}>{title}'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead>'
        f'<tbody role="rowgroup">{rows}</tbody></table></div>'
    )


def _row(block: Table, row: tuple[str, ...]) -> str:
    first = '<td role="cell"></td>'
    if row[0]:
        first = f'<th scope="row" role="rowheader">{escape(row[0])}</th>'
    return first + "".join(
        f'<td role="cell" data-label="{escape(block.columns[i])}"{_kind(_right(block, i))}>'
        f"{_cell(text)}</td>"
        for i, text in enumerate(row)
        if i
    )


def _cell(text: str) -> str:
    """The codes of parts are kept whole."""
    return CODE.sub(r'<span class="whole">\g<0></span>', escape(text))


def _right(block: Table, column: int) -> str:
    return "right" if column in block.right else ""


def _picture(block: Picture) -> str:
    data = base64.b64encode(block.svg.encode()).decode()
    image = f'<img src="data:image/svg+xml;base64,{data}" alt="{escape(block.alt)}">'
    if not block.title:
        return f"<figure>{image}</figure>"
    named = (
        f"<strong>{escape(block.title)}</strong><br>{escape(block.figure).replace(chr(10), '<br>')}"
    )
    return f'<figure class="named">{image}<figcaption>{named}</figcaption></figure>'


def _kind(name: str) -> str:
    return f' class="{name}"' if name else ""
