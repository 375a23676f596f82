"""The four printable sheets of a weighing, as parts of a document."""

from __future__ import annotations

from collections.abc import Callable

from riskmodel import words
from riskmodel.decision.results import Weighing
from riskmodel.report.owner.document import (
    Blanks,
    Block,
    Box,
    Columns,
    Heading,
    Paragraph,
    Part,
    Table,
    Terms,
)
from riskmodel.words import sheets

SHEETS = tuple(sheets.NAMES)


def sheet_part(name: str, w: Weighing) -> Part:
    """One sheet, by its name in `SHEETS`; with symptoms it begins with stop, and the sheet on
    driving until then says nothing else. Raises KeyError for another name."""
    case = w.case
    banner = words.example_banner(case)
    head: list[Block] = [Paragraph(banner, "strong")] if banner else []
    head += [Heading(sheets.NAMES[name], 1), Paragraph(sheets.heading(case))]
    if w.stop:
        head.append(Box((Paragraph(words.stop_heading(case), "strong"),)))
        if name == "until-then":
            return Part((*head, *[Paragraph(text) for text in words.stop_text(case)]), 1, True)
    return Part((*head, *_BODY[name](w), Paragraph(sheets.MAKER, "small")), 1, True)


def _bad_report(w: Weighing) -> list[Block]:
    readings = sheets.readings(w.case)
    lines = Table(sheets.LINES_COLUMNS, sheets.LINES, (1.0, 2.2), sheets.LINES_TITLE)
    found: list[Block] = [
        Paragraph(sheets.BAD_LEAD),
        Terms(sheets.BAD_STEPS, numbered=True, ticked=True),
    ]
    if not readings:
        return [*found, lines, Blanks(sheets.TONIGHT)]
    head, *rows = readings
    own = Table(head, tuple(rows), (0.7, *(1.2,) * (len(head) - 1)), roomy=True)
    return [*found, Columns(((0.52, (lines,)), (0.48, (own,)))), Blanks(sheets.TONIGHT)]


def _ask(w: Weighing) -> list[Block]:
    asked = [(text, "") for text in sheets.ASK]
    return [
        Paragraph(sheets.ASK_LEAD),
        Table(sheets.ASK_COLUMNS, tuple(asked), (1.25, 1.0), roomy=True),
        Blanks(sheets.ASKED),
    ]


def _parts(w: Weighing) -> list[Block]:
    return [
        *[Paragraph(text, "strong") for text in sheets.booking(w)],
        Paragraph(sheets.PARTS_LEAD),
        Table(
            sheets.PARTS_COLUMNS,
            tuple(sheets.part_rows(w.case)),
            (2.0, 2.2, 0.9, 0.9, 0.8),
            sheets.PARTS_TITLE,
            roomy=True,
        ),
        Table(
            sheets.JOBS_COLUMNS,
            tuple(sheets.job_rows(w.case)),
            (3.0, 1.5, 1.5, 1.2, 1.0, 1.0),
            sheets.jobs_title(w.case),
            frozenset({1, 2, 3}),
            roomy=True,
        ),
        *[Paragraph(text) for text in sheets.jobs_sum(w.case)],
        Paragraph(sheets.SINGLE_USE),
        Blanks(sheets.BOOKED),
    ]


def _until(w: Weighing) -> list[Block]:
    log = ("",) * len(sheets.LOG_COLUMNS)
    return [
        Terms(tuple(sheets.until_rules(w))),
        Table(
            sheets.LOG_COLUMNS,
            (log,) * sheets.LOG_ROWS,
            (1.0, 1.0, 1.2, 1.0, 2.4),
            sheets.LOG_TITLE,
            roomy=True,
        ),
        Blanks(sheets.NUMBERS),
    ]


_BODY: dict[str, Callable[[Weighing], list[Block]]] = {
    "bad-report": _bad_report,
    "ask-the-workshop": _ask,
    "parts-and-jobs": _parts,
    "until-then": _until,
}
