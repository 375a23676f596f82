"""No text on any screen of the page calls an engine what nobody can know.

What Streamlit is handed is searched whole: prose, labels, help, options, charts, tables.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from riskmodel.page import log_file
from riskmodel.records.case import Case
from riskmodel.records.files import changed
from riskmodel.records.log.bridge import import_case
from riskmodel.words import cautions, screen
from tests.page.conftest import Page
from tests.page.log_made import exact_case
from tests.words.test_wording import NEVER


def texts(message: Any) -> Iterator[str]:
    """Every text in a message to the browser, however deep it lies."""
    for field, value in message.ListFields():
        values = value.values() if hasattr(value, "values") else value
        for each in values if field.is_repeated else [value]:
            if isinstance(each, str):
                yield each
            elif isinstance(each, bytes):
                yield each.decode("utf-8", "ignore")
            elif hasattr(each, "ListFields"):
                yield from texts(each)


def everything(page: Page) -> list[str]:
    """All that a screen hands to the browser but its style sheet and scripts."""
    protos = [node.proto for node in page.app._tree if getattr(node, "proto", None) is not None]
    found = [text for proto in protos for text in texts(proto)]
    return [text for text in found if not text.startswith(("<style>", "<script>"))]


def nothing_claimed(page: Page, *, more_than: int) -> str:
    found = everything(page)
    assert len(found) > more_than
    for text in found:
        assert not NEVER.search(text), text
    return "\n".join(found)


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_an_example_and_a_symptom_on_it_claim_nothing(folder: str) -> None:
    page = Page(example=folder)
    said = nothing_claimed(page, more_than=300)
    assert "EXAMPLE" in said
    assert cautions(exact_case())[0] in said
    page.tick("A knock")
    assert "Do not start the engine" in nothing_claimed(page, more_than=100)


def test_the_first_visit_claims_nothing() -> None:
    page = Page(screen="start")
    said = nothing_claimed(page, more_than=50)
    assert screen.SYMPTOMS_ASK in said


@pytest.mark.parametrize("knocks", [False, True])
def test_a_machine_of_the_log_and_all_machines_claim_nothing(knocks: bool) -> None:
    case: Case = exact_case("My car")
    if knocks:
        case = changed(case, {"machine.symptoms": ["knock"]})
    name = import_case(log_file.made(), case, author="me", source="test").machine
    nothing_claimed(Page(machine=name), more_than=100)
    said = nothing_claimed(Page(screen="workshop"), more_than=20)
    assert "My car" in said


def test_the_search_reads_every_text_it_is_handed() -> None:
    page = Page(screen="start")
    found = everything(page)
    assert any(box.help and box.help in found for box in page.app.number_input)
    assert all(box.label in found for box in page.app.number_input)
    assert all(box.label in found for box in page.app.button)
