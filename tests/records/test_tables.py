"""The two tables: their limits, and what is written of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files, changed, write_case
from riskmodel.records.life_table import MOST_COVARIATES, MOST_LEVELS, read_records, write_records
from riskmodel.records.oil_table import read_samples, write_samples
from riskmodel.records.tables import LifeRecords, OilSample, OilSamples, Reading
from riskmodel.records.template import template


def message(data: bytes) -> str:
    with pytest.raises(InputError) as refused:
        read_records(data)
    return str(refused.value)


def table(columns: int, rows: int = 1) -> bytes:
    header = ",".join(["age", "outcome", *(f"x{n}" for n in range(columns))])
    return "\n".join([header, *(["5,failed" + ",1" * columns] * rows)]).encode()


def test_covariates_up_to_the_limit() -> None:
    assert len(read_records(table(MOST_COVARIATES)).covariates) == MOST_COVARIATES
    expected = "records.csv, line 1: found 21 covariate columns; expected at most 20"
    assert message(table(MOST_COVARIATES + 1)) == expected
    assert message(table(99)) == "records.csv, line 1: found 101 columns; expected at most 100"


def test_words_up_to_the_limit() -> None:
    rows = [f"5,failed,w{n}" for n in range(MOST_LEVELS)]
    assert len(read_records("\n".join(["age,outcome,shop", *rows]).encode())) == MOST_LEVELS
    rows.append("6,running,w20")
    expected = "records.csv, line 2, column shop: found 21 different words; expected at most 20"
    assert message("\n".join(["age,outcome,shop", *rows]).encode()) == expected


def test_name_of_a_covariate_up_to_the_limit() -> None:
    assert list(read_records(b"age,outcome," + b"a" * 30 + b"\n5,failed,1\n").covariates)
    assert "a name of at most 30 letters" in message(
        b"age,outcome," + b"a" * 31 + b"\n5,failed,1\n"
    )


@pytest.mark.parametrize("number", ["1e12", "1000000000000"])
def test_largest_number(number: str) -> None:
    assert read_records(f"age,outcome\n{number},failed\n".encode()).age.tolist() == [1e12]
    assert "not larger than 1000000000000" in message(b"age,outcome\n1e13,failed\n")


def test_mixed_numbers_and_words_name_their_lines() -> None:
    rows = ["5,failed,12"] * 15 + ["5,failed,x"] * 2
    expected = (
        "records.csv, line 17, column year: found words (lines 17, 18) among numbers; "
        "expected only numbers or only words in a column"
    )
    assert message("\n".join(["age,outcome,year", *rows]).encode()) == expected


@pytest.mark.parametrize(
    ("slip", "column"),
    [
        ("ages", "age"),
        ("outcomes", "outcome"),
        ("agefrom", "age_from"),
        ("age from", "age_from"),
        ("enterd_at", "entered_at"),
        ("entered", "entered_at"),
        ("counts", "count"),
        ("cuont", "count"),
        ("causes", "cause"),
        ("age_h", "age"),
        ("entered_at_km", "entered_at"),
    ],
)
def test_slips_of_a_column_are_no_covariates(slip: str, column: str) -> None:
    names = ["age", "outcome"]
    if column in names:
        names[names.index(column)] = slip
        cells = "5,failed"
    else:
        names.append(slip)
        cells = "5,failed,1"
    text = message(f"{','.join(names)}\n{cells}\n".encode())
    assert text.startswith(f'records.csv, line 1: found the column "{slip}"; expected the column')
    assert f"the column {column}" in text
    assert len(text.splitlines()) == 1


def test_all_problems_of_a_file_from_its_top_down() -> None:
    text = message(
        b"age,outcome,cuont\nx,failed,1\n5,failed\n-1,faild,1\n6,running,1\n7,running,1,2\n"
    )
    assert [line.split(":")[0] for line in text.splitlines()] == [
        "records.csv, line 1",
        "records.csv, line 2, column age",
        "records.csv, line 3",
        "records.csv, line 4, column age",
        "records.csv, line 4, column outcome",
        "records.csv, line 6",
    ]


def test_quoted_cell_over_two_lines_keeps_the_count() -> None:
    text = message(b'age,outcome,note\n5,failed,"a\nb"\nx,failed,c\n')
    assert "line 2, column note" in text
    assert "line 4, column age" in text


RECORDS = LifeRecords(
    age=np.array([5.0, 7.5]),
    outcome=("failed", "removed"),
    age_from=np.array([4.0, np.nan]),
    entered_at=np.array([0.0, 2.0]),
    count=np.array([1.0, 3.0]),
    cause=("other", "wear"),
    why=("scheduled", "suspected"),
    covariates={"year": (1999.0, 2001.5)},
)


def test_columns_not_at_their_default_are_written() -> None:
    """A table made in Python names only its two required columns; nothing of it is lost."""
    assert write_records(RECORDS).decode() == (
        "age,outcome,age_from,entered_at,count,cause,why,year\n"
        "5,failed,4,,1,other,,1999\n"
        "7.5,removed,,2,3,,suspected,2001.5\n"
    ).replace("4,,1", "4,0,1")
    again = read_records(write_records(RECORDS))
    assert replace(again, columns=RECORDS.columns) == RECORDS


def test_samples_not_at_their_default_are_written() -> None:
    row = OilSample(
        reading=100.0,
        age=None,
        oil_age=50.0,
        date="2026-01-01",
        top_up=0.5,
        lab="north",
        elements={"Pb": Reading(1.0, below=True)},
    )
    data = write_samples(OilSamples((row,), ("oil_age",)))
    assert data.decode() == ("oil_age,reading,date,top_up,lab,Pb\n50,100,2026-01-01,0.5,north,<1\n")
    assert read_samples(data).rows == (row,)


def test_no_formula_is_written(tmp_path: Path) -> None:
    case = case_from_files(template("km"))
    assert case.records is not None
    evil = replace(case.records, covariates={"shop": ("=1+1",) * len(case.records)})
    with pytest.raises(InputError, match="a spreadsheet takes it as a formula"):
        write_case(replace(case, records=evil), tmp_path / "evil")
    assert not (tmp_path / "evil").exists()


def test_records_without_a_failure_need_a_belief() -> None:
    """They leave the life by which half fail without an upper end."""
    case = case_from_files(template("km"))
    survivors = {
        "records.csv": b"age,outcome,cause\n5,running,\n6,removed_unworn,\n7,failed,other\n"
    }
    with pytest.raises(InputError, match=r"life\.b50_prior: found nothing, and records without"):
        changed(case, {}, survivors)
    assert changed(case, {"life.b50_prior": [1e5, 2e5]}, survivors).records is not None
    for learns in (b"8,failed,wear\n", b"8,failed,unknown\n", b"8,removed_worn,\n"):
        more = {"records.csv": survivors["records.csv"] + learns}
        assert changed(case, {}, more).records is not None


def test_traits_are_those_of_the_records() -> None:
    case = case_from_files(template("km"))
    data = {"records.csv": b"age,outcome,oil,year\n5,failed,thin,1999\n6,running,thick,2001\n"}
    for traits in ({}, {"oil": "thin"}, {"year": 2010, "oil": "thick"}):
        assert changed(case, {"part.traits": traits}, data).part.traits == traits
    for bad, expected in {
        "oil=thn": "one of thick or thin, as in the records",
        "oil=5": "one of thick or thin, as in the records",
        "year=x": "a number, as in the records",
        "fuel=x": "a covariate of the records: oil, year",
    }.items():
        name, value = bad.split("=")
        trait = int(value) if value.isdigit() else value
        with pytest.raises(InputError, match=expected):
            changed(case, {"part.traits": {name: trait}}, data)
