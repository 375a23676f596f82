"""What is guessed of tables of people's own: columns, the unit, words for outcomes."""

from __future__ import annotations

import pytest

from riskmodel.records.life_table import COLUMNS
from riskmodel.records.loose_guess import distinct, guessed_columns, guessed_unit, guessed_word


@pytest.mark.parametrize(
    ("headings", "expected"),
    [
        (list(COLUMNS), {name: name for name in COLUMNS}),
        (
            ["Car", "Mileage (km)", "What happened", "Root cause", "Reason for removal", "Qty"],
            {
                "age": "Mileage (km)",
                "outcome": "What happened",
                "cause": "Root cause",
                "why": "Reason for removal",
                "count": "Qty",
            },
        ),
        (
            ["ID", "Bought at km", "km", "Failed"],
            {"age": "km", "outcome": "Failed", "entered_at": "Bought at km"},
        ),
        (
            ["Failure mode", "Hours", "Status"],
            {"age": "Hours", "outcome": "Status", "cause": "Failure mode"},
        ),
        (["x", "y"], {}),
    ],
)
def test_headings_are_guessed(headings: list[str], expected: dict[str, str]) -> None:
    assert guessed_columns(headings) == expected


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Mileage (km)", "km"),
        ("Miles", "mi"),
        ("age_h", "h"),
        ("Engine hours", "h"),
        ("Mileage", None),
        ("age mi", "mi"),
    ],
)
def test_the_unit_is_guessed_from_the_heading(heading: str, unit: str | None) -> None:
    assert guessed_unit(heading) == unit


@pytest.mark.parametrize(
    ("word", "heading", "meaning"),
    [
        ("Failed", "", "failed"),
        ("seized", "", "failed"),
        ("not failed", "", "running"),
        ("Still running", "", "running"),
        ("censored", "", "running"),
        ("replaced, worn", "", "removed_worn"),
        ("replaced - not worn", "", "removed_unworn"),
        ("Replaced", "", "removed"),
        ("removed_unworn", "", "removed_unworn"),
        ("1", "Failed?", "failed"),
        ("0", "Failed?", "running"),
        ("yes", "Censored", "running"),
        ("1", "code", None),
        ("zzz", "", None),
        ("", "", None),
    ],
)
def test_words_for_outcomes_are_guessed(word: str, heading: str, meaning: str | None) -> None:
    assert guessed_word("outcome", word, heading) == meaning


def test_words_are_one_whatever_their_case() -> None:
    assert distinct(["Failed", "failed", "", "FAILED", "ran"]) == {"failed": 3, "": 1, "ran": 1}
