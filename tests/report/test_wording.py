"""No text of the report and the sheets calls an engine what nobody can know."""

from __future__ import annotations

import re

import pytest

from riskmodel.report import owner
from tests.report import made, printed
from tests.words.test_wording import NEVER
from tests.words.weighings import plain_case, weighing, with_values

PLACEHOLDER = re.compile(r"\bNone\b(?!,? of)|\bnan\b|\binf\b|[a-z]_[a-z]|\{|\}")


def texts() -> dict[str, str]:
    """What is said of all kinds of case, without tags."""
    found = {name: owner.report_html(made.on_case(name), sheets=True) for name in made.EXAMPLES}
    found["stop"] = owner.report_html(made.knocking(), sheets=True)
    found["by hand"] = owner.report_html(*made.told(), sheets=True)
    for unit in ("mi", "h"):
        case = with_values(plain_case(unit), "machine", date="2026-11-01")
        found[unit] = owner.report_html(weighing(case), sheets=True)
    found["never"] = owner.report_html(
        weighing(costs=(5000.0, 6000.0, 4000.0), failures=(0.04, 0.1, 0.3)), sheets=True
    )
    return {
        name: printed.plain(re.sub(r"<[^>]*>", " ", html.partition("</style>")[2]))
        + " ".join(re.findall(r'alt="([^"]*)"', html))
        for name, html in found.items()
    }


@pytest.fixture(scope="module")
def said() -> dict[str, str]:
    return texts()


def test_no_text_calls_an_engine_what_nobody_can_know(said: dict[str, str]) -> None:
    for name, text in said.items():
        assert not NEVER.findall(text), name
        assert len(text) > 2000


def test_no_text_shows_a_key_or_a_placeholder(said: dict[str, str]) -> None:
    for name, text in said.items():
        assert not PLACEHOLDER.findall(text), name


def test_every_estimated_chance_of_the_report_carries_its_interval(said: dict[str, str]) -> None:
    """As in the words themselves: thresholds and counts of ways are no estimates of a chance.
    What the crosses of a picture stand for follows the chance with its interval."""
    for name in ("by hand", "mi", "h", "never"):
        for match in re.finditer(
            r"about \d+ of 100(?: engines like this one)?(?P<after>.{0,12})", said[name]
        ):
            before = said[name][: match.start()]
            threshold = re.search(r"(cross at|below|from|In|Filled crosses:) $", before)
            assert threshold or match["after"].startswith(" ("), (name, before[-60:])
