"""Tables of people's own: how they are read, what is guessed, and that no row is lost.

What the cells mean is stated beside each test; the records are held against `read_records`,
the one reader of a case's file, and against counts made by hand.
"""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from riskmodel.records.errors import InputError
from riskmodel.records.inputs import Unit
from riskmodel.records.life_table import COLUMNS, is_slip, read_records
from riskmodel.records.loose_cells import Decimal, guessed_decimal, read_loose_number
from riskmodel.records.loose_guess import (
    LEAVE_OUT,
    distinct,
    guessed_columns,
    guessed_unit,
    guessed_word,
)
from riskmodel.records.loose_table import Choices, Imported, imported, trait_names
from riskmodel.records.loose_text import MAX_LOOSE, LooseTable, read_loose
from riskmodel.records.row_table import csv_of
from riskmodel.records.scalars import TRAIT_NAME, UnreadableError
from riskmodel.records.units import KM_PER_MILE, factor


def read(text: str, encoding: str = "utf-8") -> LooseTable:
    return read_loose(text.encode(encoding), "mine.csv")


def choices(
    loose: LooseTable, decimal: Decimal = "point", unit: Unit = "km", **more: object
) -> Choices:
    """What the guesses would choose, words included."""
    columns = guessed_columns(loose.headings)
    words = {
        name: {
            word: guessed_word(name, word, columns[name]) or LEAVE_OUT
            for word in distinct(loose.column(columns[name]))
        }
        for name in ("outcome", "cause", "why")
        if name in columns
    }
    values: dict[str, object] = {"columns": columns, "words": words, **more}
    return Choices(table_unit=unit, decimal=decimal, **values)  # type: ignore[arg-type]


def taken(text: str, unit: Unit = "km", **more: object) -> Imported:
    loose = read(text)
    return imported(loose, choices(loose, **more), unit)  # type: ignore[arg-type]


# --- the text -------------------------------------------------------------------------------


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


# --- numbers --------------------------------------------------------------------------------


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


# --- guesses --------------------------------------------------------------------------------


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


# --- records --------------------------------------------------------------------------------

MESSY = """Car;Mileage at event;What happened;Use of it
A;120.000,5;Seized;Town
B;90 000 km;still going;town
;;;
C;80.000;Still going;motorway
D;75.000;replaced (worn);
E;ca. 70.000;Seized;Town
F;;Seized;Town
G;65.000;sold on;Town
H;-5;Seized;Town
I;1;2;3;4
"""


def test_a_messy_table_is_read_and_every_row_accounted_for() -> None:
    loose = read(MESSY)
    chosen = choices(loose, "comma", traits=("Use of it",))
    assert chosen.columns == {"age": "Mileage at event", "outcome": "What happened"}
    found = imported(loose, chosen, "km")
    assert found.rows.columns == ("age", "outcome", "use_of_it")
    assert found.rows.rows == (
        ("120000.5", "failed", "Town"),
        ("90000", "running", "Town"),
        ("80000", "running", "motorway"),
        ("75000", "removed_worn", "unknown"),
    )
    assert found.lines == (2, 3, 5, 6)
    assert found.left_out == 1  # sold on: no meaning chosen, left out
    assert [problem.where for problem in found.problems] == [
        "line 7, column Mileage at event",
        "line 8, column Mileage at event",
        "line 10, column Mileage at event",
        "line 11",
    ]
    assert found.lines_unread == 4
    assert 'found "ca. 70.000"; expected a number, such as 120.000,5' in str(found.problems[0])
    assert found.parts == {"failed": 1, "running": 2, "removed_worn": 1}
    assert len(found.rows) + found.left_out + found.lines_unread == 9


def test_what_it_yields_is_the_file_of_a_case() -> None:
    records = read_records(csv_of(taken(MESSY, decimal="comma").rows))
    assert records.age.tolist() == [120000.5, 90000, 80000, 75000]
    assert records.outcome == ("failed", "running", "running", "removed_worn")


def test_a_file_of_a_case_comes_out_as_it_went_in() -> None:
    text = (
        "age,outcome,age_from,entered_at,count,cause,why,use\n"
        "110000,failed,,70000,1,unknown,,mixed\n"
        "120000,removed_unworn,,0,3,,suspected,town\n"
        "90000,failed,60000,0,1,other,,town\n"
    )
    found = taken(text, traits=("use",))
    assert not found.problems
    assert read_records(csv_of(found.rows)) == read_records(text.encode())


def test_miles_become_kilometres() -> None:
    loose = read("age,entered at,status,qty\n60000,10000,failed,2\n")
    row = imported(loose, choices(loose, unit="mi"), "km").rows
    assert float(row.column("age")[0]) == pytest.approx(60000 * KM_PER_MILE, abs=0.05)
    assert row.column("entered_at") == ("16093.4",)
    assert row.column("count") == ("2",)
    assert imported(loose, choices(loose), "km").rows.column("age") == ("60000",)


def test_the_factor_is_the_international_mile() -> None:
    # 1 mile = 1609.344 m exactly: international yard and pound agreement, 1959.
    assert factor("mi", "km") == 1.609344
    assert factor("km", "mi") * factor("mi", "km") == pytest.approx(1, rel=1e-15)
    assert factor("h", "h") == 1
    with pytest.raises(ValueError, match="no factor"):
        factor("h", "km")


def test_hours_cannot_become_kilometres() -> None:
    loose = read("age,outcome\n60000,failed\n")
    found = imported(loose, choices(loose, unit="h"), "km")
    assert len(found.unsettled) == 1
    assert not found.rows.rows


def test_one_answer_for_every_row() -> None:
    loose = read("km\n60000\n70000\n")
    chosen = choices(loose, constants={"outcome": "failed", "cause": "unknown"})
    records = read_records(csv_of(imported(loose, chosen, "km").rows))
    assert records.outcome == ("failed", "failed")
    assert records.cause == ("unknown", "unknown")


def test_columns_that_mean_nothing_beside_the_outcome_are_counted_and_not_refused() -> None:
    found = taken(
        "age,outcome,last seen,cause\n60000,failed,50000,wear\n70000,running,65000,wear\n"
        "80000,removed,75000,\n"
    )
    assert not found.problems
    assert found.unused == {"age_from": 2, "cause": 1}
    assert found.rows.column("age_from") == ("50000", "", "")


def test_what_the_reader_refuses_is_named_by_line_and_own_heading() -> None:
    found = taken("Mileage km,Status,Bought at,Qty\n\n60000,failed,70000,1\n90000,failed,0,1.5\n")
    assert [problem.where for problem in found.problems] == [
        "line 3, column Bought at",
        "line 4, column Qty",
    ]
    assert found.unsettled[0].found == "no row that can be read"


def test_words_without_a_meaning_hold_everything_up() -> None:
    loose = read("age,outcome\n60000,failed\n70000,zzz\n80000,\n")
    chosen = Choices(
        {"age": "age", "outcome": "outcome"}, "km", words={"outcome": {"failed": "failed"}}
    )
    problem = imported(loose, chosen, "km").unsettled[0]
    assert (problem.where, problem.found) == ("outcome", '"zzz", an empty cell')


def test_too_many_words_hold_everything_up() -> None:
    rows = "".join(f"{1000 + i},word{i}\n" for i in range(31))
    found = taken("age,outcome\n" + rows)
    assert found.unsettled[0].found == "31 different words"


def test_one_column_has_one_meaning() -> None:
    loose = read("age,outcome\n60000,failed\n")
    chosen = choices(loose, traits=("age",))
    assert "the same column for 2 things" in str(imported(loose, chosen, "km").unsettled[0])


def test_age_and_outcome_are_needed() -> None:
    loose = read("x,y\n60000,failed\n")
    wheres = [problem.where for problem in imported(loose, choices(loose), "km").unsettled]
    assert wheres == ["age", "outcome"]


def test_traits_of_numbers_keep_their_rows_honest() -> None:
    found = taken(
        "age,outcome,oil change km\n1000,failed,10.5\n2000,running,\n3000,failed,long\n"
        "4000,failed,8\n5000,failed,9\n6000,failed,7\n",
        traits=("oil change km",),
    )
    assert found.rows.column("oil_change_km") == ("10.5", "8", "9", "7")
    assert [problem.found for problem in found.problems] == ["an empty cell", '"long"']


def test_a_number_among_words_is_named() -> None:
    found = taken(
        "age,outcome,grade\n1000,failed,thin\n2000,running,12\n3000,failed,thick\n",
        traits=("grade",),
    )
    assert [problem.where for problem in found.problems] == ["line 3, column grade"]
    assert len(found.rows) == 2


def test_a_formula_stays_text_and_is_told() -> None:
    found = taken(
        "age,outcome,note\n1000,failed,=1+1\n2000,running,town\n=A1,failed,town\n", traits=("note",)
    )
    assert [problem.where for problem in found.problems] == [
        "line 2, column note",
        "line 4, column age",
    ]
    assert "formula" in found.problems[0].expected
    assert found.rows.rows == (("2000", "running", "town"),)


def test_too_many_words_for_a_trait() -> None:
    rows = "".join(f"{1000 + i},failed,car{chr(65 + i)}\n" for i in range(21))
    found = taken("age,outcome,name\n" + rows, traits=("name",))
    assert found.unsettled[0].where == "name"
    assert "21 different words" in found.unsettled[0].found


@given(st.lists(st.text(max_size=40), max_size=8, unique=True))
def test_every_heading_gives_a_name_that_the_reader_takes(headings: list[str]) -> None:
    names = trait_names(headings)
    assert list(names) == headings
    assert len(set(names.values())) == len(headings)
    for name in names.values():
        assert TRAIT_NAME.fullmatch(name)
        assert name not in COLUMNS
        assert not is_slip(name)


@pytest.mark.parametrize("heading", ["Age", "Entry", "Ages", "count", "From", "Cause ", "age km"])
def test_a_trait_called_like_a_column_gets_another_name(heading: str) -> None:
    name = trait_names([heading])[heading]
    found = read_records(f"age,outcome,{name}\n1000,failed,a\n".encode())
    assert list(found.covariates) == [name]
