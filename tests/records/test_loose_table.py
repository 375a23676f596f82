"""Tables of people's own as life records: what is taken, and that no row is lost.

What the cells mean is stated beside each test; the records are held against `read_records`,
the one reader of a case's file, and against counts made by hand.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.records.life_table import COLUMNS, is_slip, read_records
from riskmodel.records.loose_table import Choices, imported, trait_names
from riskmodel.records.row_table import csv_of
from riskmodel.records.scalars import TRAIT_NAME
from riskmodel.records.units import KM_PER_MILE, factor
from tests.records.loose_made import choices, read, taken

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
