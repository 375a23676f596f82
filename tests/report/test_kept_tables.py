"""What the kept tables say of the report holds: the decision-aid criteria, the reader's test."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from html import unescape
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from riskmodel.page import log_file
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


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """All that the page of the road car says: prose, tables, headings, folded parts, labels."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(log_file.VARIABLE, str(tmp_path_factory.mktemp("log") / "log.sqlite"))
        app = AppTest.from_file(str(HERE.parents[1] / "app.py"), default_timeout=120)
        app.query_params["example"] = "road-car"
        app.run()
        assert not app.exception
        bodies = [element.proto.body for element in app.get("html")]
        texts = [body for body in bodies if not body.startswith(("<style>", "<script>"))]
        texts += [element.value for element in (*app.title, *app.header, *app.subheader)]
        texts += [element.label for element in (*app.button, *app.number_input, *app.expander)]
        yield printed.plain(unescape(re.sub(r"<[^>]*>", " ", " ".join(map(str, texts)))))
        log_file.close()


@pytest.mark.parametrize("row", rows(CRITERIA), ids=lambda row: row[0])
def test_each_criterion_is_judged_for_report_and_page(row: list[str]) -> None:
    assert len(row) == 6
    for judged, where in (row[2:4], row[4:6]):
        assert judged in ("yes", "partly", "no")
        assert where
        if judged != "no":
            assert quoted(where)


@pytest.mark.parametrize("row", rows(CRITERIA), ids=lambda row: row[0])
def test_what_is_quoted_of_the_report_stands_in_it(row: list[str]) -> None:
    for text in quoted(row[3]):
        assert text in said(sheets=True), text


@pytest.mark.parametrize("row", rows(CRITERIA), ids=lambda row: row[0])
def test_what_is_quoted_of_the_page_stands_on_it(row: list[str], page: str) -> None:
    for text in quoted(row[5]):
        assert text in page, text


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
