"""A case whose every name is meant to do harm is shown and exported harmlessly."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from riskmodel.report import owner
from riskmodel.report.owner.readable import LONGEST, MARK, name
from tests.report import made, printed
from tests.report.printed import needs_poppler

ALLOWED = {
    "html head meta title style body main section footer div h1 h2 p ul ol li strong table "
    "caption thead tbody tr th td figure figcaption img br span"
}


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag not in ("meta", "img", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def read(html: str) -> Tags:
    tags = Tags()
    tags.feed(html)
    tags.close()
    assert not tags.open
    return tags


@pytest.fixture(scope="module")
def html() -> str:
    return owner.report_html(made.hostile(), sheets=True)


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return owner.report_pdf(made.hostile(), sheets=True)


def test_html_holds_no_tag_and_no_attribute_but_its_own(html: str) -> None:
    tags = read(html)
    allowed = set(next(iter(ALLOWED)).split())
    assert {tag for tag, _ in tags.found} <= allowed
    attributes = {key for _, attrs in tags.found for key in attrs}
    known = {"lang", "dir", "charset", "name", "content", "http-equiv", "class", "src", "alt"}
    assert attributes <= known | {"scope", "role", "data-label", "tabindex", "aria-label"}
    shown = "".join(tags.text)
    assert "<script>alert(1)</script>" in shown.replace("\u200b", "")
    assert '=HYPERLINK("http' in shown.replace("\u200b", "")


def test_html_needs_nothing_from_anywhere(html: str) -> None:
    tags = read(html)
    for tag, attrs in tags.found:
        assert "href" not in attrs
        if tag == "img":
            assert (attrs["src"] or "").startswith("data:image/svg+xml;base64,")
            assert attrs["alt"]
    assert "url(" not in html
    assert "@import" not in html
    policy = next(a["content"] for t, a in tags.found if a.get("http-equiv"))
    assert policy == "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def test_an_example_s_html_names_no_address() -> None:
    found = owner.report_html(made.on_case("road-car"), sheets=True)
    assert not re.search(r"https?:|//", found)


@needs_poppler
def test_pdf_shows_the_names_as_text_and_does_nothing(pdf: bytes) -> None:
    found = printed.info(pdf)
    assert found["JavaScript"] == "no"
    assert int(found["Pages"]) <= 6
    assert not re.search(rb"/(URI|Launch|JavaScript|GoToR|SubmitForm|EmbeddedFile)\b", pdf)
    said = printed.text(pdf).replace("\u200b", "").replace(" ", "")
    for text in ("<script>alert(1)</script>", "=HYPERLINK(", "#panic()#letx=[*bold*]", "שלום"):
        assert text in said
    assert "AAAA…" in said
    assert "A" * 100 not in said


@needs_poppler
def test_pdf_of_hostile_names_is_still_tagged_with_embedded_fonts(pdf: bytes) -> None:
    assert printed.info(pdf)["Tagged"] == "yes"
    assert all(row[1:] == ["yes", "yes", "yes"] for row in printed.fonts(pdf))


@pytest.mark.parametrize("text", made.HOSTILE)
def test_a_name_is_short_in_one_line_and_turns_nothing(text: str) -> None:
    shown = name(text)
    assert len(shown.replace("\u200b", "")) <= LONGEST + 2
    assert not re.search(r"[\x00-\x1f\x7f\u200e\u200f\u202a-\u202e\u2066\u2067]", shown)
    assert shown.count("\u2068") == shown.count("\u2069")
    assert max(len(run) for run in re.split(r"[\s\u200b]", shown)) <= 20


def test_signs_without_a_shape_become_a_mark_and_plain_names_stay() -> None:
    assert name("中文") == MARK * 2
    assert name("Ärger & Söhne – ½ 😀") == "Ärger & Söhne – ½ 😀"
    assert name("Example road car (invented)") == "Example road car (invented)"
    assert name("שלום") == "\u2068שלום\u2069"


def test_that_names_were_changed_is_said_only_where_they_were() -> None:
    said = printed.plain(owner.report_html(made.hostile()))
    assert "Some names are shortened here" in said
    assert "Some names are shortened here" not in owner.report_html(made.told()[0])
