"""The owner's report and the printable sheets, as PDF and as one HTML file."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import FigureChange
from riskmodel.report.owner.choices import other_figures
from riskmodel.report.owner.document import Document, Part
from riskmodel.report.owner.fill import report_part
from riskmodel.report.owner.readable import readable
from riskmodel.report.owner.sheets import SHEETS, sheet_part
from riskmodel.report.owner.to_html import html_of
from riskmodel.report.owner.to_pdf import pdf_of
from riskmodel.words import report

__all__ = [
    "SHEETS",
    "other_figures",
    "owner_document",
    "report_html",
    "report_pdf",
    "sheet_document",
    "sheet_html",
    "sheet_pdf",
]

Changes = Sequence[FigureChange]


def report_pdf(
    weighing: Weighing,
    changes: Changes = (),
    free: Changes = (),
    *,
    date: str | None = None,
    sheets: bool = False,
) -> bytes:
    """The owner's report as PDF, one or two pages.

    `changes` and `free` are those of `other_figures` (no such table without); `date` is the day
    of the report (ISO; left out, that of the case); `sheets` appends the four sheets. The same
    input gives the same bytes.
    """
    return pdf_of(owner_document(weighing, changes, free, date=date, sheets=sheets))


def report_html(
    weighing: Weighing,
    changes: Changes = (),
    free: Changes = (),
    *,
    date: str | None = None,
    sheets: bool = False,
) -> str:
    """The same as one HTML file that needs nothing else."""
    return html_of(owner_document(weighing, changes, free, date=date, sheets=sheets))


def sheet_pdf(name: str, weighing: Weighing, *, date: str | None = None) -> bytes:
    """One sheet, by its name in `SHEETS`, as PDF of one page. Raises KeyError for another name."""
    return pdf_of(sheet_document(name, weighing, date=date))


def sheet_html(name: str, weighing: Weighing, *, date: str | None = None) -> str:
    """One sheet as one HTML file. Raises KeyError for another name."""
    return html_of(sheet_document(name, weighing, date=date))


def owner_document(
    weighing: Weighing,
    changes: Changes = (),
    free: Changes = (),
    *,
    date: str | None = None,
    sheets: bool = False,
) -> Document:
    """The report, and the sheets where asked for."""
    w, shortened = readable(weighing)
    day = date or w.case.machine.date
    parts = [report_part(w, changes, free, day, shortened)]
    parts += [sheet_part(name, w) for name in SHEETS] if sheets else []
    return _document(w, day, parts)


def sheet_document(name: str, weighing: Weighing, *, date: str | None = None) -> Document:
    """One sheet. Raises KeyError for a name that is none of `SHEETS`."""
    w, _ = readable(weighing)
    return _document(w, date or w.case.machine.date, [sheet_part(name, w)])


def _document(w: Weighing, day: str | None, parts: list[Part]) -> Document:
    return Document(
        title=report.document_title(w.case),
        parts=tuple(parts),
        foot=". ".join(text for text in (report.dated(w.case, day), report.out_of_date(w)) if text),
        warning=report.FOOT,
        head=report.EXAMPLE_FOOT if w.case.machine.invented else "",
        date=day,
        page=report.PAGE_OF,
    )
