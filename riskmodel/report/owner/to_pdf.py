"""A document as PDF: tagged (PDF/UA-1), fonts embedded, the same bytes for the same document.

Every text reaches the template as data, never as markup, so that no name can do anything there.
"""

from __future__ import annotations

import datetime
import json
from bisect import bisect_left
from dataclasses import asdict, is_dataclass, replace
from pathlib import Path
from typing import Any

from riskmodel.report.owner.document import Document
from riskmodel.report.owner.pictures import FONT, font_folder
from riskmodel.words.formats import CODE

TEMPLATE = Path(__file__).with_name("template.typ")
SIZES = tuple(size / 10 for size in range(80, 111))
"""Sizes of the text in points: a part is set at the largest at which it keeps to its pages."""
LARGE = (*SIZES, 11.5, 12.0, 12.5)
"""Those of a part that is set larger where there is room."""
_UNDATED = "2000-01-01"
_STANDARD = ["ua-1"]


def pdf_of(document: Document) -> bytes:
    """The document with each part at the largest size at which it keeps to its pages; where none
    does, at the smallest."""
    sizes = [_fitting(document, i) for i in range(len(document.parts))]
    made: bytes = _typst().compile(
        TEMPLATE.read_bytes(),
        pdf_standards=_STANDARD,
        timestamp=_moment(document.date),
        **_given(document, sizes),
    )
    return made


def pages_of(document: Document, size: float) -> int:
    """How many pages it takes with all its text at `size`."""
    given = _given(document, [size] * len(document.parts))
    found = _typst().query(TEMPLATE.read_bytes(), "<pages>", field="value", one=True, **given)
    return int(json.loads(found))


def _fitting(document: Document, i: int) -> float:
    alone, part = replace(document, parts=document.parts[i : i + 1]), document.parts[i]
    sizes = LARGE if part.large else SIZES
    too_large = bisect_left(sizes, True, key=lambda size: pages_of(alone, size) > part.most_pages)
    return sizes[max(0, too_large - 1)]


def _given(document: Document, sizes: list[float]) -> dict[str, Any]:
    content = {"sizes": sizes, "sans": FONT, "code": CODE.pattern, **_plain(document)}
    return {
        "sys_inputs": {"doc": json.dumps(content, ensure_ascii=False)},
        "font_paths": [str(font_folder())],
        "ignore_system_fonts": True,
    }


def _plain(value: Any) -> Any:
    """A document as lists and tables, each block with the name of its kind."""
    if is_dataclass(value) and not isinstance(value, type):
        fields = {name: getattr(value, name) for name in asdict(value)}
        return {"kind": type(value).__name__.lower(), **{k: _plain(v) for k, v in fields.items()}}
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, (tuple, list)):
        return [_plain(each) for each in value]
    return value


def _moment(date: str | None) -> datetime.datetime:
    """The day of the document as the time stamped in the file: it never tells when it was made."""
    return datetime.datetime.fromisoformat(f"{date or _UNDATED}T12:00:00+00:00")


def _typst() -> Any:
    import typst

    return typst
