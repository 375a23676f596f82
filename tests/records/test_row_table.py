"""Rows that are still being worked on: edits, what is complete, what is written."""

from __future__ import annotations

import pytest

from riskmodel.page.examples import example
from riskmodel.records.life_table import read_records, write_records
from riskmodel.records.row_table import (
    RowTable,
    complete,
    csv_of,
    edited,
    joined,
    known_traits,
    renumbered,
    rows_of,
    table,
)

THREE = table(
    ("age", "outcome", "use"),
    [("100", "failed", "town"), ("200", "running", "town"), ("300", "failed", "track")],
)


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_records_come_back_as_they_were(folder: str) -> None:
    records = example(folder).records
    assert records is not None
    rows = rows_of(records)
    assert csv_of(rows, rows.columns) == write_records(records)
    assert read_records(csv_of(rows, rows.columns)) == records


def test_no_records_are_an_empty_table_with_the_columns_ready() -> None:
    assert rows_of(None) == RowTable(("age", "outcome"), (), (), frozenset())


def test_rows_keep_their_numbers_when_others_go() -> None:
    after = edited(THREE, {2: {"age": "350"}}, [{"age": "400", "outcome": "failed"}], [0])
    assert after.numbers == (2, 3, 4)
    assert after.column("age") == ("200", "350", "400")
    assert after.new == {4}
    assert renumbered(after).numbers == (1, 2, 3)
    assert renumbered(after).new == {3}


def test_a_new_column_is_empty_elsewhere() -> None:
    after = edited(THREE, {1: {"count": "5"}}, [], [])
    assert after.column("count") == ("", "5", "")


def test_a_cell_has_one_line() -> None:
    # Else the lines of the file would not be the rows of the table.
    assert edited(THREE, {0: {"use": " a\nb "}}, [], []).column("use")[0] == "a b"


def test_new_rows_wait_until_they_are_complete() -> None:
    rows = edited(THREE, {}, [{"age": "1"}, {}, {"age": "2", "outcome": "failed", "use": "x"}], [])
    counted, missing = complete(rows)
    assert counted.numbers == (1, 2, 3, 6)
    assert missing == {4: ("outcome", "use"), 5: ("age", "outcome", "use")}


def test_rows_from_before_count_as_they_stand() -> None:
    counted, missing = complete(edited(THREE, {0: {"age": ""}}, [], []))
    assert len(counted) == 3
    assert not missing
    counted, missing = complete(edited(THREE, {0: dict.fromkeys(THREE.columns, "")}, [], []))
    assert counted.numbers == (2, 3)
    assert list(missing) == [1]


def test_a_hidden_trait_of_words_is_unknown_in_a_new_row() -> None:
    rows = edited(THREE, {}, [{"age": "1", "outcome": "failed"}], [])
    assert complete(rows, ["use"])[0].column("use")[-1] == "unknown"
    numbers = edited(table(("age", "outcome", "n"), [("1", "failed", "3")]), {}, [{"age": "1"}], [])
    assert complete(numbers, ["n"])[1] == {2: ("outcome", "n")}


def test_tables_are_joined_with_unknown_where_a_trait_is_lacking() -> None:
    other = table(("age", "outcome", "count"), [("9", "running", "4")])
    both = joined(THREE, other)
    assert both.columns == ("age", "outcome", "use", "count")
    assert both.rows[0] == ("100", "failed", "town", "")
    assert both.rows[-1] == ("9", "running", "unknown", "4")
    assert both.numbers == (1, 2, 3, 4)
    assert len(read_records(csv_of(both))) == 4


def test_columns_that_say_nothing_are_not_written() -> None:
    rows = table(("age", "outcome", "count", "why"), [("1", "failed", "", "")])
    assert csv_of(rows) == b"age,outcome\n1,failed\n"
    assert csv_of(rows, ("age", "outcome", "count")) == b"age,outcome,count\n1,failed,\n"


def test_traits_that_the_rows_know() -> None:
    rows = table(("age", "outcome", "use", "n"), [("1", "failed", "town", "3")])
    traits = {"use": "town", "n": 5.0, "other": "x"}
    assert known_traits(rows, traits) == {"use": "town", "n": 5.0}
    assert known_traits(rows, {"use": "sea", "n": "many"}) == {}
    assert known_traits(rows, {"use": 3.0}) == {}
