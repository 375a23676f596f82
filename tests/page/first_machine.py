"""How somebody starts a machine of their own on the page, for tests that begin there."""

from __future__ import annotations

from riskmodel.words import first_visit as words
from riskmodel.words import screen
from tests.page.browsing import Visit

NAME = "First car"
FIRST_FIGURES = {
    "name": NAME,
    "reading": "121000",
    "year": "12000",
    "interval": "10000",
    "planned": "2500",
    "failure": "14000",
    "keep": "5",
    "currency": "EUR",
    "tenth": "90000",
    "half": "190000",
}
"""Answers to the questions of the first visit, by the question's name."""


def labels() -> dict[str, str]:
    """The accessible name of the box of each of these answers, in the order of the page."""
    first_of_two = {
        "planned": f"{words.question('planned', 'km')} {words.FROM}",
        "failure": f"{words.question('failure', 'km')} {words.FROM}",
        "tenth": f"{words.question('tenth', 'km')} {screen.LOW_END}",
        "half": f"{words.question('half', 'km')} {screen.LOW_END}",
    }
    return {name: first_of_two.get(name) or words.question(name, "km") for name in FIRST_FIGURES}


def begin(visit: Visit) -> None:
    """Answers the questions with the mouse and waits for the first verdict."""
    page = visit.page
    for name, label in labels().items():
        box = page.get_by_label(label, exact=True).first
        box.fill(FIRST_FIGURES[name])
        box.press("Tab")
    page.get_by_text(words.STILL_OPEN).wait_for(state="detached")
    visit.settle()
    page.get_by_role("button", name=words.DO).click()
    page.get_by_text(f"{NAME}:").first.wait_for()
    visit.box("verdict")
    visit.settle()
