"""The text of tables of people's own: separators, encodings, lines, and what is no table."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from riskmodel.records.errors import InputError
from riskmodel.records.loose_text import MAX_LOOSE, read_loose
from tests.records.loose_made import read


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_guessed(separator: str) -> None:
    loose = read(separator.join(["a b", "c", "d"]) + "\n" + separator.join(["1", "x", "y"]) + "\n")
    assert loose.separator == separator
    assert loose.headings == ("a b", "c", "d")
    assert loose.rows == ((2, ("1", "x", "y")),)


def test_decimal_commas_do_not_make_commas_the_separator() -> None:
    loose = read("Laufzeit km;Status;Preis\n120.000,5;failed;1,5\n90.000,0;running;2,5\n")
    assert loose.separator == ";"
    assert loose.column("Laufzeit km") == ("120.000,5", "90.000,0")


def test_a_list_of_one_column_is_a_table() -> None:
    assert read("km\n120000\n90000\n").rows == ((2, ("120000",)), (3, ("90000",)))


def test_a_declared_separator_is_used_and_its_line_counts() -> None:
    loose = read("sep=;\na;b\n1,5;2,5\n")
    assert (loose.separator, loose.rows) == (";", ((3, ("1,5", "2,5")),))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_encodings(encoding: str) -> None:
    loose = read("Größe,état\n1,café\n", encoding)
    assert loose.headings == ("Größe", "état")
    assert loose.rows[0][1] == ("1", "café")


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_blank_lines_are_passed_over_and_counted(end: str) -> None:
    loose = read(end.join(["", "a,b", "", "1,x", ",", "  ,  ", "2,y", ""]))
    assert [line for line, _ in loose.rows] == [4, 7]


def test_a_quoted_cell_may_run_over_lines_and_hold_the_separator() -> None:
    loose = read('age,"what, happened"\n1,"ran\nhot, then ""seized"""\n2,ok\n')
    assert loose.headings == ("age", "what, happened")
    assert loose.rows == ((2, ("1", 'ran hot, then "seized"')), (4, ("2", "ok")))


def test_headings_twice_or_missing_get_names_of_their_own() -> None:
    loose = read("km,Km,,note,km (2)\n1,2,3,4,5\n")
    assert loose.headings == ("km", "Km (2)", "column 3", "note", "km (2) (2)")
    assert len({heading.lower() for heading in loose.headings}) == 5


def test_empty_columns_at_the_end_are_no_columns() -> None:
    loose = read("a,b,,\n1,2,,\n3,4,,\n")
    assert loose.headings == ("a", "b")
    assert not loose.ragged


def test_rows_of_another_length_are_named() -> None:
    loose = read("a,b,c\n1,2,3\n1,2,3,4\n1,2\n1,2,3,\n")
    assert loose.ragged == ((3, 4), (4, 2))
    assert [line for line, _ in loose.rows] == [2, 5]
    assert [str(problem) for problem in loose.ragged_problems()] == [
        "mine.csv, line 3: found 4 cells; expected 3 cells, one for each heading",
        "mine.csv, line 4: found 2 cells; expected 3 cells, one for each heading",
    ]


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "an empty file"),
        (b" \r\n \n", "an empty file"),
        (b"\xef\xbb\xbf", "an empty file"),
        (b"age,outcome\n", "nothing below"),
        (b";;;\n;;\n", "nothing else"),
        (b"PK\x03\x04rest", "workbook"),
        (b"\xd0\xcf\x11\xe0rest", "workbook"),
        (b"a,b\n1,\x00\n", "no text"),
        (b"a,b\n\x81\x8d,1\n", "no text"),
        (b'a,b\n1,"open\n2,3\n', "quote that is never closed"),
        (b"a,b\n" + b"x" * 200_000 + b",1\n", "131,072"),
        (
            b",".join(b"c%d" % i for i in range(201)) + b"\n" + b",".join([b"1"] * 201),
            "201 columns",
        ),
    ],
)
def test_what_is_no_table_is_refused(data: bytes, found: str) -> None:
    with pytest.raises(InputError) as caught:
        read_loose(data, "mine.csv")
    assert found in str(caught.value)
    assert all(problem.expected for problem in caught.value.problems)


def test_a_file_of_10_mb_is_refused_with_its_size() -> None:
    with pytest.raises(InputError, match=r"a file of 10 MB; expected at most 5 MB"):
        read_loose(b"1,2\n" * 2_500_000, "mine.csv")
    assert MAX_LOOSE == 5_000_000


@given(
    st.lists(
        st.lists(
            st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=8),
            min_size=3,
            max_size=3,
        ),
        min_size=1,
        max_size=6,
    )
)
def test_every_row_written_is_read_or_named(rows: list[list[str]]) -> None:
    sheet = io.StringIO(newline="")
    csv.writer(sheet).writerows([["alpha", "beta", "gamma"], *rows])
    said = [row for row in rows if any(" ".join(cell.split()) for cell in row)]
    assume(said)
    loose = read_loose(sheet.getvalue().encode(), "mine.csv", ",")
    assert len(loose.rows) + len(loose.ragged) == len(said)


def test_nothing_below_the_headings_but_blanks_is_refused() -> None:
    with pytest.raises(InputError, match="at least one row"):
        read('alpha,beta\n"  ",\n')
