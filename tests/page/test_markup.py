"""Whatever a case holds, it is shown as text and does nothing."""

from __future__ import annotations

import pandas as pd

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


def test_markdown_in_a_label_is_shown_not_run() -> None:
    text = markup.markdown_text(NASTY)
    for active in ("<", ">", "[", "]", "$", ":", "*"):
        assert text.count(active) == text.count("\\" + active) == NASTY.count(active)


def test_plain_labels_are_left_as_they_are() -> None:
    label = "Replacement in time, EUR, from (a price)"
    assert markup.markdown_text(label) == label


def test_a_marked_row_stands_out_and_cells_carry_their_heading() -> None:
    html = markup.table(pd.DataFrame([{"Plan": "Now", "Cost": 1}, {"Plan": "Never", "Cost": 2}]), 1)
    assert html.count('class="marked"') == 1
    assert '<td data-label="Cost">2</td>' in html
    assert '<th scope="row">Never</th>' in html


def test_file_names_are_plain() -> None:
    assert file_name("Example road car (invented)") == "example-road-car-invented"
    assert file_name("Ärger/../..\\x") == "arger-x"
    assert file_name("!!!") == "case"
