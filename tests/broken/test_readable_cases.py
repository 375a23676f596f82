"""Files as people's programs save them, which read all the same."""

from __future__ import annotations

import pytest

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.life_table import read_records
from riskmodel.records.oil_table import read_samples
from tests.broken.made import VALID


def as_bytes(files: dict[str, str]) -> dict[str, bytes]:
    return {name: text.encode() for name, text in files.items()}


PLAIN: Case = case_from_files(as_bytes(VALID))


def every(old: str, new: str) -> dict[str, str]:
    return {name: text.replace(old, new) for name, text in VALID.items()}


def tables(old: str, new: str) -> dict[str, str]:
    return {
        name: text if name == "case.toml" else text.replace(old, new)
        for name, text in VALID.items()
    }


READABLE = {
    "byte order mark": {name: "\ufeff" + text for name, text in VALID.items()},
    "Windows line ends": every("\n", "\r\n"),
    "old Macintosh line ends": tables("\n", "\r"),
    "semicolons": tables(",", ";"),
    "tabs": tables(",", "\t"),
    "blanks around cells": tables(",", " , "),
    "trailing empty lines": {name: text + "\n\n  \n" for name, text in VALID.items()},
    "empty lines in between": tables("\n", "\n\n"),
    "lines of separators only": {
        name: text if name == "case.toml" else text + "," * text.split("\n")[0].count(",") + "\n"
        for name, text in VALID.items()
    },
    "no line end at the end": {name: text.rstrip("\n") for name, text in VALID.items()},
    "header in capitals": {
        name: text
        if name == "case.toml"
        else text.split("\n", 1)[0].upper() + "\n" + text.split("\n", 1)[1]
        for name, text in VALID.items()
    },
    "quoted cells": {
        name: text
        if name == "case.toml"
        else "\n".join(
            ",".join(f'"{cell}"' for cell in line.split(",")) for line in text.splitlines()
        )
        for name, text in VALID.items()
    },
    "blank after less-than": every("<1", "< 1"),
    "numbers in other forms": every("90000,failed", "9.0e+04,failed"),
    "date as TOML has it": every('date = "2026-05-01"', "date = 2026-05-01"),
    "format left out": every("format = 1\n", ""),
    "files that the case does not name": {**VALID, "notes.txt": "read me"},
}


@pytest.mark.parametrize("name", READABLE)
def test_reads_the_same(name: str) -> None:
    assert case_from_files(as_bytes(READABLE[name])) == PLAIN


def test_any_order_of_columns() -> None:
    one = read_records(b"age,outcome,count\n5,failed,2\n")
    other = read_records(b"count,outcome,age\n2,failed,5\n")
    assert one.age.tolist() == other.age.tolist() == [5.0]
    assert one.count.tolist() == other.count.tolist() == [2.0]
    assert one.outcome == other.outcome == ("failed",)


def test_empty_cells_take_the_default() -> None:
    records = read_records(b"age,outcome,age_from,entered_at,count,cause,why\n5,failed,,,,,\n")
    bare = read_records(b"age,outcome\n5,failed\n")
    for name in ("entered_at", "count", "cause", "why"):
        assert list(getattr(records, name)) == list(getattr(bare, name))
    assert str(records.age_from) == "[nan]"
    assert records.count.tolist() == [1.0]
    assert records.cause == ("wear",)


def test_millions_of_units_in_one_line() -> None:
    assert read_records(b"age,outcome,count\n5,running,3000000\n").count.tolist() == [3e6]


def test_failure_known_only_to_lie_before_an_age() -> None:
    assert read_records(b"age,outcome,age_from\n5,failed,0\n").age_from.tolist() == [0.0]


def test_covariates_are_numbers_or_words() -> None:
    records = read_records(
        b"age,outcome,year,oil,temp\n5,failed,1999,5W30,-4\n6,running,2001,,x\n".replace(
            b",,x", b",10W40,-2.5"
        )
    )
    assert records.covariates == {
        "year": (1999.0, 2001.0),
        "oil": ("5W30", "10W40"),
        "temp": (-4.0, -2.5),
    }


def test_country_is_no_slip_of_count() -> None:
    assert read_records(b"age,outcome,country\n5,failed,north\n").covariates == {
        "country": ("north",)
    }


def test_samples_by_age_and_of_any_element() -> None:
    samples = read_samples(b"age,oil_age,Cu,PQ\n100,50,<2,\n150,50,3.5,20\n")
    first, second = samples.rows
    assert (first.age, first.reading, first.oil_age, first.line) == (100.0, None, 50.0, 2)
    assert {name: str(reading) for name, reading in first.elements.items()} == {"Cu": "<2"}
    assert {name: str(reading) for name, reading in second.elements.items()} == {
        "Cu": "3.5",
        "PQ": "20",
    }


def test_two_samples_at_one_reading() -> None:
    """A sample that was sent to two laboratories, or drawn again."""
    samples = read_samples(b"reading,oil_age,lab,Fe\n100,50,north,9\n100,50,south,12\n")
    assert [row.lab for row in samples.rows] == ["north", "south"]


def test_part_of_a_thousand_is_plain_in_a_semicolon_file() -> None:
    """0.125 has three digits after the point, but nobody groups 125 after a zero."""
    assert read_samples(b"age;oil_age;Sn\n9;5;0.125\n").rows[0].elements["Sn"].value == 0.125
