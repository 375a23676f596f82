"""Numbers, dates and words as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.records.errors import (
    InputError,
    Problem,
    by_line,
    closest,
    did_you_mean,
    one_of,
    plain,
    shown,
)
from riskmodel.records.scalars import (
    UnreadableError,
    looks_like_number,
    read_date,
    read_number,
    text_fault,
)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", 12),
        (" 12.5 ", 12.5),
        ("12.", 12),
        (".5", 0.5),
        ("+3", 3),
        ("-3", -3),
        ("1e3", 1000),
        ("1.5E-2", 0.015),
        ("0.125", 0.125),
        ("1.234", 1.234),
    ],
)
def test_numbers(text: str, value: float) -> None:
    assert read_number(text) == value


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12,5", "a number with a decimal point: 12.5"),
        ("-0,25", "a number with a decimal point: -0.25"),
        ("12,500", "a number with a decimal point and no separators: 12500 or 12.500"),
        ("1234,567", "a number with a decimal point: 1234.567"),
        ("1,234,567", "a number without separators between its digits, such as 1234567"),
        ("1.234.567", "a number without separators between its digits, such as 1234567"),
        ("1.234,5", "a number without separators between its digits, such as 1234567"),
        ("1 234", "a number without separators between its digits, such as 1234567"),
        ("1\u00a0234", "a number without separators between its digits, such as 1234567"),
        ("1\u202f234", "a number without separators between its digits, such as 1234567"),
        ("1'234", "a number without separators between its digits, such as 1234567"),
        ("1_234", "a number without separators between its digits, such as 1234567"),
        ("120000 km", "the number alone, without a unit: 120000"),
        ("120000km", "the number alone, without a unit: 120000"),
        ("12.5 mg/kg", "the number alone, without a unit: 12.5"),
        ("20 %", "a plain number: a share of 20 % is written 0.2"),
        ("nan", "a finite number"),
        ("-Inf", "a finite number"),
        ("Infinity", "a finite number"),
        ("1e400", "a number of ordinary size"),
        ("-1e400", "a number of ordinary size"),
        ("", "a number"),
        ("about 12", "a number"),
        ("12-13", "a number"),
        ("\u0661\u0662", "a number"),  # Arabic-Indic digits
        ("\u22125", "a number"),  # a minus sign that is none of the keyboard
        ("0x1F", "a number"),
        ("--5", "a number"),
    ],
)
def test_what_is_no_number(text: str, expected: str) -> None:
    with pytest.raises(UnreadableError) as refused:
        read_number(text)
    assert str(refused.value) == expected


def test_thousands_point_beside_semicolons() -> None:
    with pytest.raises(UnreadableError, match=r"in two ways: 120500 or 120\.5"):
        read_number("120.500", semicolons=True)
    assert read_number("0.125", semicolons=True) == 0.125
    assert read_number("1.25", semicolons=True) == 1.25


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_numbers_are_written_as_they_read(value: float) -> None:
    assert read_number(plain(value)) == value


@given(st.text(max_size=12))
def test_any_text_is_a_number_or_refused(text: str) -> None:
    try:
        value = read_number(text)
    except UnreadableError:
        return
    assert looks_like_number(text.strip())
    assert value == float(text)


def test_dates() -> None:
    assert read_date(" 2028-02-29 ").isoformat() == "2028-02-29"
    for text, expected in {
        "01.05.2026": "such as 2026-05-01",
        "20260501": "such as 2026-05-01",
        "2026-W18-5": "such as 2026-05-01",
        "2026-5-1": "such as 2026-05-01",
        "2027-02-29": "a day that is in the calendar",
        "0026-05-01": "a year from 1900 to 2199",
    }.items():
        with pytest.raises(UnreadableError, match=expected):
            read_date(text)


def test_texts() -> None:
    assert text_fault("Pöschl & Söhne, 2nd engine (#2)") is None
    assert text_fault("-5", in_table=False) is None
    for start in "=+-@":
        assert "formula" in str(text_fault(f"{start}A1", in_table=True))
    for odd in ("a\nb", "a\tb", "a\x00b", "a\u2028b", "\ud800"):
        assert "one line" in str(text_fault(odd))
    assert "200 characters" in str(text_fault("x" * 201))


def test_suggestions() -> None:
    assert closest("Faild", ["failed", "running"]) == "failed"
    assert closest("xyz", ["failed", "running"]) is None
    assert did_you_mean("plannd", ["planned", "urgent"]) == " (did you mean planned?)"
    assert did_you_mean("zzz", ["planned"]) == ""
    assert one_of(["a"]) == "a"
    assert one_of(["a", "b", "c"]) == "one of a, b or c"


def test_values_are_quoted_on_one_short_line() -> None:
    assert shown("a\nb") == '"a\\nb"'
    assert len(shown("x" * 1000)) < 70
    assert shown(True) == "true"
    assert shown(1e15) == "1000000000000000.0"
    assert shown(120000.0) == "120000"
    assert shown([1, "a", 2.5]) == '[1, "a", 2.5]'
    assert shown(list(range(9))) == "a list of 9"
    assert shown({"a": 1}) == "a table"
    assert shown(10**500) == "a whole number of about 500 digits"


def test_problems_are_told_from_the_top_down() -> None:
    low, high, none = (
        Problem("f", where, "x", "y") for where in ("line 12, column age", "line 2", "")
    )
    assert by_line([low, high, none]) == [none, high, low]


def test_message_of_many_problems_ends_with_a_count() -> None:
    error = InputError([Problem("f.csv", f"line {n}", "x", "y") for n in range(250)])
    assert len(error.problems) == 250
    lines = str(error).splitlines()
    assert lines[0] == "f.csv, line 0: found x; expected y"
    assert lines[-1] == "and 150 problems more"
    assert len(lines) == 101


def test_error_survives_pickling() -> None:
    import pickle

    error = InputError([Problem("f.csv", "line 2", "x", "y")])
    again = pickle.loads(pickle.dumps(error))
    assert again.problems == error.problems
    assert str(again) == str(error)
