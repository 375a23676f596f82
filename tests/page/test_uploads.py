"""Files offered to the page become a case, or a message that says what is wrong."""

from __future__ import annotations

import pytest

from riskmodel.page.examples import EXAMPLES, example
from riskmodel.page.uploads import Upload, meant, read_uploads
from riskmodel.records.archive import case_to_zip
from riskmodel.records.errors import InputError
from riskmodel.records.files import case_to_files
from riskmodel.words import screen


def offered(files: dict[str, bytes]) -> list[Upload]:
    return [Upload(name, data) for name, data in files.items()]


@pytest.mark.parametrize("folder", EXAMPLES)
def test_every_example_reads_and_says_that_it_is_invented(folder: str) -> None:
    case = example(folder)
    assert case.machine.invented
    assert case.records is not None
    assert not case.machine.symptoms


@pytest.mark.parametrize("folder", EXAMPLES)
def test_a_zip_and_loose_files_give_the_same_case(folder: str) -> None:
    case = example(folder)
    assert read_uploads([Upload("my case.ZIP", case_to_zip(case))]) == case
    assert read_uploads(offered(case_to_files(case))) == case


def test_a_table_alone_is_refused_with_what_is_wanted() -> None:
    with pytest.raises(InputError, match=r"records\.csv") as caught:
        read_uploads([Upload("records.csv", b"age,outcome\n1,failed\n")])
    assert "case.toml together with the tables" in str(caught.value)
    assert screen.BEHIND in str(caught.value)
    with pytest.raises(InputError) as caught:
        read_uploads([Upload("photo.toml", b"x"), Upload("records.csv", b"age,outcome\n")])
    assert screen.BEHIND not in str(caught.value)


def test_a_zip_beside_other_files_is_refused() -> None:
    data = case_to_zip(example("road-car"))
    with pytest.raises(InputError, match="one zip alone"):
        read_uploads([Upload("a.zip", data), Upload("b.csv", b"")])


def test_a_missing_table_is_named() -> None:
    files = case_to_files(example("road-car"))
    del files["oil.csv"]
    with pytest.raises(InputError, match=r"oil\.csv"):
        read_uploads(offered(files))


def test_two_files_of_one_name_are_refused() -> None:
    files = case_to_files(example("road-car"))
    twice = [*offered(files), Upload("oil.csv", files["oil.csv"])]
    with pytest.raises(InputError):
        read_uploads(twice)


def test_a_zip_brought_after_a_wrong_file_is_read_by_itself() -> None:
    """The box keeps what was offered before: that must not stand in the way of the right file."""
    wrong, right = Upload("wrong.csv", b"a,b\n"), Upload("a.zip", case_to_zip(example("road-car")))
    assert read_uploads(meant([wrong, Upload("old.zip", b"no zip")], [right])) == example(
        "road-car"
    )


def test_tables_may_come_one_by_one_and_a_mended_one_takes_the_place_of_the_first() -> None:
    case = example("road-car")
    *first, last = offered(case_to_files(case))
    broken = Upload(first[0].name, b"broken")
    before = [Upload("old.zip", b"no zip"), broken, *first[1:]]
    assert read_uploads(meant(before, [first[0], last])) == case
    assert meant(first, []) == first, "one of them was taken away"
    twice = [last, last]
    assert meant([], twice) == twice, "two of one name at once are for the reader to refuse"
