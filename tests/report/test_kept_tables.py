"""What the kept tables say of the report holds: the decision-aid criteria, the reader's test."""

from __future__ import annotations

import re
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from riskmodel.report import owner
from tests.report import made, printed
from tests.report.printed import needs_poppler

HERE = Path(__file__).parent
CRITERIA, READERS = HERE / "decision_aid_criteria.md", HERE / "readers_test.md"
QUESTIONS = 10


def rows(path: Path) -> list[list[str]]:
    """The rows of the file's table, its heading left out."""
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line[:1] == "|"]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def quoted(text: str) -> list[str]:
    return re.findall(r"`([^`]+)`", text)


@cache
def said(*, sheets: bool) -> str:
    html = owner.report_html(*made.told(), sheets=sheets).partition("</style>")[2]
    return printed.plain(unescape(re.sub(r"<[^>]*>", " ", html)))


@pytest.mark.parametrize("row", rows(CRITERIA), ids=lambda row: row[0])
def test_each_criterion_is_judged_and_what_is_quoted_stands_in_the_report(row: list[str]) -> None:
    assert len(row) == 4
    assert row[2] in ("yes", "partly", "no")
    assert row[3]
    if row[2] == "yes":
        assert quoted(row[3])
    for text in quoted(row[3]):
        assert text in said(sheets=True), text


def test_all_criteria_stand_in_the_table() -> None:
    """The twelve minimum criteria, and the quality criteria that apply to a printed sheet."""
    assert len(rows(CRITERIA)) >= 19


def test_the_reader_was_asked_ten_questions_and_each_was_judged() -> None:
    found = rows(READERS)
    assert [row[0] for row in found] == [str(n + 1) for n in range(QUESTIONS)]
    for row in found:
        assert row[1].endswith("?")
        assert quoted(row[2])
        assert row[3]
        assert row[4] in ("right", "half", "wrong")


@pytest.mark.parametrize("row", rows(READERS), ids=lambda row: row[1])
def test_the_key_to_each_question_stands_in_the_report(row: list[str]) -> None:
    for text in quoted(row[2]):
        assert text in said(sheets=False), text


@needs_poppler
def test_the_key_can_be_read_off_the_printed_pages() -> None:
    page = printed.text(owner.report_pdf(*made.told()))
    for row in rows(READERS):
        for text in quoted(row[2]):
            assert text in page, text
