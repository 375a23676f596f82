"""Files that hold something else altogether; and every message about a broken case is whole."""

from __future__ import annotations

import pytest

from riskmodel.records.files import case_from_files, case_to_files
from tests.broken import test_broken_records, test_broken_samples, test_broken_toml
from tests.broken.made import VALID, refusal

# Files that hold something else altogether: a title; the file and its bytes (None: it is not
# there); the message.
REPLACED: dict[str, tuple[dict[str, bytes | None], tuple[str, ...]]] = {
    "5000 digits": (
        {
            "case.toml": VALID["case.toml"]
            .replace("failure = 9000", "failure = " + "9" * 5000)
            .encode()
        },
        ("case.toml, line 33: found thousands of digits; expected a number of ordinary size",),
    ),
    "400 digits": (
        {
            "case.toml": VALID["case.toml"]
            .replace("failure = 9000", "failure = " + "9" * 400)
            .encode()
        },
        (
            "case.toml, line 33, cost.failure: found a whole number of about 400 digits; expected a number of 0 or more, or a range [low, high], not larger than 1000000000000",  # noqa: E501
        ),
    ),
    "thousands point in a semicolon file": (
        {"records.csv": b"age;outcome\n120.000;failed\n"},
        (
            'records.csv, line 2, column age: found "120.000"; expected a number that cannot be read in two ways: 120000 or 120.0',  # noqa: E501
        ),
    ),
    "decimal comma in a semicolon file": (
        {"records.csv": b"age;outcome\n12,5;failed\n"},
        (
            'records.csv, line 2, column age: found "12,5"; expected a number with a decimal point: 12.5',  # noqa: E501
        ),
    ),
    "empty file": (
        {"records.csv": b""},
        ("records.csv: found an empty file; expected a file with contents",),
    ),
    "blank file": (
        {"records.csv": b"\n \n"},
        ("records.csv: found an empty file; expected a file with contents",),
    ),
    "separators only": (
        {"records.csv": b",,,\n,,,\n"},
        ("records.csv: found separators only; expected a header and rows below it",),
    ),
    "header only": (
        {"records.csv": b"age,outcome\n"},
        ("records.csv: found a header and nothing below it; expected at least one row",),
    ),
    "bytes that are not UTF-8": (
        {
            "records.csv": VALID["records.csv"]
            .replace("petrol\n150000", "pétrol\n150000")
            .encode("latin-1")
        },
        ("records.csv, line 2: found the byte 0xe9, which is not UTF-8; expected text in UTF-8",),
    ),
    "UTF-16": (
        {"records.csv": VALID["records.csv"].encode("utf-16")},
        ("records.csv: found text in UTF-16; expected text in UTF-8",),
    ),
    "NUL byte": (
        {"records.csv": VALID["records.csv"].replace("140000", "14\x00000").encode()},
        ("records.csv, line 5: found a NUL byte; expected text in UTF-8",),
    ),
    "missing file": (
        {"records.csv": None},
        ("records.csv: found no such file; expected a file beside case.toml",),
    ),
    "missing tables, one nearly named": (
        {
            "case.toml": VALID["case.toml"].replace('"oil.csv"', '"oli.csv"').encode(),
            "records.csv": None,
        },
        (
            "records.csv: found no such file; expected a file beside case.toml",
            "oli.csv: found no such file; expected a file beside case.toml (did you mean oil.csv?)",
        ),
    ),
    "no case": (
        {"case.toml": None},
        ("case: found no case.toml; expected the folder of a case, with case.toml",),
    ),
    "empty case": (
        {"case.toml": b""},
        ("case.toml: found an empty file; expected a file with contents",),
    ),
}


@pytest.mark.parametrize("title", REPLACED)
def test_replaced(title: str) -> None:
    new, message = REPLACED[title]
    files = {name: text.encode() for name, text in VALID.items()} | new
    assert refusal({name: data for name, data in files.items() if data is not None}) == message


ROOMS = (test_broken_toml, test_broken_records, test_broken_samples)


def test_every_message_is_complete() -> None:
    edited = [case for room in ROOMS for case in room.EDITED.values()]
    messages = [line for _, says in [*edited, *REPLACED.values()] for line in says]
    for line in messages:
        assert ": found " in line
        assert "; expected " in line
    assert len(edited) + len(REPLACED) > 140


def test_the_case_they_start_from_is_valid() -> None:
    case = case_from_files({name: text.encode() for name, text in VALID.items()})
    assert case_from_files(case_to_files(case)) == case
