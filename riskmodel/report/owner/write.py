"""A case's report or sheets written to a file: what the command does."""

from __future__ import annotations

import contextlib
import datetime
from pathlib import Path
from typing import Any

from riskmodel.decision.weigh import weigh
from riskmodel.oil.fleet import with_usual
from riskmodel.records.case import Case
from riskmodel.records.disk import write_file
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.report.owner import SHEETS, other_figures, owner_document, sheet_document
from riskmodel.report.owner.to_html import html_of
from riskmodel.report.owner.to_pdf import pdf_of
from riskmodel.risk.driven import own_curves

FORMATS = (".pdf", ".html")


def write_report(
    case: Case, file: Path, *, sheet: str | None = None, sheets: bool = False, date: str | None
) -> dict[str, Any]:
    """Weighs the case and writes its report (with all `sheets`), or one `sheet` alone.

    `date` (ISO) is the day of the report; left out, that of the case, and where it has none,
    today. Returns what was written. Raises CannotAnswer for a file name of another kind, a date
    that is none, or a case without an answer, and InputError where the file cannot be written.
    """
    kind = file.suffix.lower()
    if kind not in FORMATS:
        raise CannotAnswer(f"-o: found {file.name}, expected a name that ends in .pdf or .html")
    _place(file)
    day = _day(date) or case.machine.date or datetime.date.today().isoformat()
    case = with_usual(case)
    curves = own_curves(case)
    weighing = weigh(case, curves)
    if sheet is not None:
        document = sheet_document(sheet, weighing, date=day)
    else:
        figures = () if weighing.stop else other_figures(case, curves)
        document = owner_document(weighing, *figures, date=day, sheets=sheets)
    data = pdf_of(document) if kind == ".pdf" else html_of(document).encode()
    write_file(file, data)
    contents = [sheet] if sheet is not None else ["report", *(SHEETS if sheets else ())]
    return {
        "file": str(file),
        "format": kind[1:],
        "bytes": len(data),
        "contents": contents,
        "date": day,
        "stop": weighing.stop,
    }


def _place(file: Path) -> None:
    """Finds out before the work begins that nothing can be written there."""
    found, folder = "", file.parent
    with contextlib.suppress(OSError):  # a name that no file can have: writing tells of it
        if file.is_dir():
            found = "a folder"
        elif not folder.is_dir():
            found = f"{folder.name}, no folder" if folder.exists() else "no such folder"
    if found:
        raise InputError([Problem(str(file), "", found, "a file in a folder that exists")])


def _day(date: str | None) -> str | None:
    if date is None:
        return None
    try:
        return datetime.date.fromisoformat(date).isoformat()
    except ValueError:
        raise CannotAnswer(
            f"--date: found {date}, expected a day as year-month-day, such as 2026-11-01"
        ) from None
