"""Numbers in tables of people's own: signs, units, and what is no number."""

from __future__ import annotations

import pytest

from riskmodel.records.loose_cells import Decimal, guessed_decimal, read_loose_number
from riskmodel.records.scalars import UnreadableError


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("120000", "point", 120000),
        ("120,000.5", "point", 120000.5),
        ("120.000,5", "comma", 120000.5),
        ("120 000 km", "point", 120000),
        ("120\u00a0000\u202fkm", "comma", 120000),
        ("1'234'567", "point", 1234567),
        ("120.000", "comma", 120000),
        ("120.000", "point", 120),
        ("120,000", "point", 120000),
        ("120,000", "comma", 120),
        (".5", "point", 0.5),
        ("-5", "point", -5),
        ("87000km", "point", 87000),
        ("87000 Kilometers.", "point", 87000),
    ],
)
def test_numbers_as_people_write_them(text: str, decimal: Decimal, value: float) -> None:
    assert read_loose_number(text, decimal, "km") == value


@pytest.mark.parametrize(
    "text",
    ["", "abc", "12,5", "1,23,456", "1.2.3", "~120000", "120k", "=1+1", "nan", "inf", "1e5", "٣"],
)
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(UnreadableError, match=r"120,000\.5"):
        read_loose_number(text, "point", "km")


def test_a_number_in_another_unit_is_refused() -> None:
    with pytest.raises(UnreadableError, match="in km"):
        read_loose_number("60,000 miles", "point", "km")
    assert read_loose_number("60,000 miles", "point", "mi") == 60000
    assert read_loose_number("1,200 hrs", "point", "h") == 1200


@pytest.mark.parametrize(
    ("cells", "decimal"),
    [
        (["120000", "90000"], "point"),
        (["120,000", "90,000"], "point"),
        (["120,000.5"], "point"),
        (["120.000,5"], "comma"),
        (["120.000", "90.000 km"], "comma"),
        (["120.000", "90.5", "80.25"], "point"),
        (["12,5", "9,75"], "comma"),
        (["0.125"], "point"),
        ([], "point"),
    ],
)
def test_the_decimal_sign_is_guessed(cells: list[str], decimal: str) -> None:
    assert guessed_decimal(cells) == decimal
