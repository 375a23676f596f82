"""Whatever a case holds, it is shown as text and does nothing."""

from __future__ import annotations

import re
from html import unescape

import pandas as pd
import pytest

from riskmodel.page import markup
from riskmodel.page.files import file_name

NASTY = '<img src=x onerror="alert(1)"> ![a](http://example.org/a.png) $x$ :material/home: *b*'


def test_html_in_a_text_is_shown_not_run() -> None:
    for text in (
        markup.paragraph(NASTY),
        markup.bullets([NASTY]),
        markup.numbered([NASTY]),
        markup.heading(NASTY),
        markup.terms({NASTY: NASTY}),
        markup.table(pd.DataFrame([{NASTY: NASTY, "B": NASTY}])),
    ):
        assert "<img" not in text
        assert "&lt;img" in text


def test_a_run_without_end_may_break_and_stays_the_same_text() -> None:
    run = "<A&" * 3_000
    html = markup.paragraph(f"short {run} words with a space")
    pieces = re.split("<wbr>| ", html.removeprefix("<p>").removesuffix("</p>"))
    assert max(len(unescape(piece)) for piece in pieces) <= 40
    assert unescape(html.replace("<wbr>", "")) == f"<p>short {run} words with a space</p>"
    assert "<wbr>" not in markup.paragraph("Replace at the 2nd oil change (in\u00a018,000\u00a0km)")


def test_markdown_in_a_label_is_shown_not_run() -> None:
    text = markup.markdown_text(NASTY)
    for active in ("<", ">", "[", "]", "$", "*"):
        assert text.count(active) == text.count("\\" + active) == NASTY.count(active)
    for start in ("http:", ":material", "&amp;", "&#65;", ":red[x]"):
        escaped = markup.markdown_text(f"a {start}//b")
        assert re.search(r"(?<!\\)[:&](?=\S)", escaped) is None, escaped


@pytest.mark.parametrize("text", ["http://example.org", "HTTPS://e.org", "www.e.org", "me@e.org"])
def test_an_address_in_a_label_becomes_no_link(text: str) -> None:
    """The patterns by which GitHub's Markdown (its "autolinks (extension)") finds one."""
    shown = markup.markdown_text(f"see {text} there").replace("\\", "")
    assert not re.search(r"(?i)https?://|www\.|\w@\w", shown)
    assert shown.replace("\u200b", "") == f"see {text} there"


def test_plain_labels_are_left_as_they_are() -> None:
    """A label is a field's name for those who have it read out: no stray backslash in it."""
    for label in ("Replacement in time, EUR, from (a price)", "Half failed: from", "Tow & hire:"):
        assert markup.markdown_text(label) == label


def test_a_marked_row_stands_out_and_cells_carry_their_heading() -> None:
    html = markup.table(pd.DataFrame([{"Plan": "Now", "Cost": 1}, {"Plan": "Never", "Cost": 2}]), 1)
    assert html.count('class="marked"') == 1
    assert '<td data-label="Cost">2</td>' in html
    assert '<th scope="row">Never</th>' in html


def test_a_part_s_code_in_a_cell_is_kept_on_one_line_and_stays_the_same_text() -> None:
    told = f"Big-end bearings EX-BE-01, 100,000 km old, {NASTY}"
    table = markup.table(pd.DataFrame([{"Machine": "A", "Part": told, "Meter": "5 - 7 km"}]))
    assert '<span class="whole">EX-BE-01</span>' in table
    assert told in unescape(re.sub(r"</?span[^>]*>|<wbr>", "", table))
    assert "<img" not in table
    assert ">5 - 7 km</td>" in table


def test_file_names_are_plain() -> None:
    assert file_name("Example road car (invented)") == "example-road-car-invented"
    assert file_name("Ärger/../..\\x") == "arger-x"
    assert file_name("!!!") == "case"
