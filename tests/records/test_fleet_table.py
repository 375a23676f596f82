"""Samples of other engines: what is read, what is refused, and that nothing is lost."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files, case_to_files, changed, read_case, write_case
from riskmodel.records.fleet_table import read_fleet, write_fleet
from riskmodel.records.tables import FleetSamples, Reading
from tests.broken.made import VALID
from tests.records.strategies import case_files, fleets

FLEET = """\
engine,reading,oil_age,date,top_up,lab,Pb,Fe
Ada,9000,9000,2020-03-01,0.5,north,4,22
3,52000,8000,,,,<1,
Ada,17000,8000,2021-03-01,,north,5,20
3,60000,8000,,,,2,18
"""
SETTINGS = settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def with_fleet_file(text: str = FLEET, **edits: str) -> dict[str, bytes]:
    """The valid case of the broken ones with other engines' samples, and with edits in it."""
    toml = VALID["case.toml"].replace('samples = "oil.csv"', 'samples = "oil.csv"\nfleet = "f.csv"')
    for old, new in edits.items():
        toml = toml.replace(old, new)
    files = {name: text.encode() for name, text in VALID.items()}
    return {**files, "case.toml": toml.encode(), "f.csv": text.encode()}


def problems_of(files: Mapping[str, bytes]) -> list[str]:
    with pytest.raises(InputError) as refused:
        case_from_files(files)
    return str(refused.value).splitlines()


def test_what_is_read() -> None:
    found = read_fleet(FLEET.encode(), elements=["Pb", "Fe"])
    assert found.engine == ("Ada", "3", "Ada", "3")
    assert list(found.by_engine()) == ["Ada", "3"]
    assert [row.reading for row in found.by_engine()["Ada"]] == [9000, 17000]
    assert found.rows[1].elements == {"Pb": Reading(1.0, below=True)}
    assert found.rows[0].top_up == 0.5
    assert found.rows[3].line == 5
    assert write_fleet(found).decode().splitlines()[1] == "Ada,9000,9000,2020-03-01,0.5,north,4,22"


@SETTINGS
@given(fleets(["Pb", "Cu", "Sn"]))
def test_what_is_written_is_read_back(fleet: FleetSamples) -> None:
    data = write_fleet(fleet)
    again = read_fleet(data, elements=["Pb", "Cu", "Sn"])
    assert (again.rows, again.engine) == (fleet.rows, fleet.engine)
    assert write_fleet(again) == data
    assert read_fleet(write_fleet(again)) == again


@SETTINGS
@given(case_files().filter(lambda files: "other engines.csv" in files))
def test_a_case_keeps_them_by_every_way(files: Mapping[str, bytes]) -> None:
    case = case_from_files(files)
    written = case_to_files(case)
    assert written["other engines.csv"] == files["other engines.csv"]  # byte for byte
    again = case_from_zip(case_to_zip(case))
    assert (again, again.stated) == (case, case.stated)
    assert changed(case, {}).fleet is case.fleet  # not read again


@SETTINGS
@given(st.text(max_size=300) | st.lists(st.text("engi,\n;Pb<10\"'ageo_l")).map("".join))
def test_arbitrary_text_is_read_or_refused(text: str) -> None:
    try:
        told = len(read_fleet(text.encode()))
    except InputError as refused:
        told = len(refused.problems)
    assert told > 0


def test_a_folder_keeps_them(tmp_path) -> None:
    case = case_from_files(with_fleet_file())
    write_case(case, tmp_path / "van")
    assert read_case(tmp_path / "van") == case
    assert (tmp_path / "van" / "f.csv").read_text() == FLEET


def test_they_can_be_brought_and_taken_away() -> None:
    case = case_from_files({name: text.encode() for name, text in VALID.items()})
    with_them = changed(case, {"oil.fleet": "fleet.csv"}, {"fleet.csv": FLEET.encode()})
    assert with_them.fleet is not None
    assert len(with_them.fleet) == 4
    assert changed(with_them, {"oil.fleet": None}) == case


def test_all_faults_of_the_file_are_told_together() -> None:
    found = problems_of(
        with_fleet_file(
            "engine,reading,oil_age,date,Pb,Fe\n"
            "Ada,17000,8000,2021-03-01,5,20\n"
            ",9000,8000,,5,20\n"
            "Ada,9000,9500,2020-03-01,4,x\n"
            "Bo,5000,4000,2031-01-01,1,2\n"
            "Bo,5000,4000,2031-01-01,1,2\n"
            "Bo,,4000,,1,2\n"
            "=Cy,6000,-1,,1,2\n"
        )
    )
    assert found == [
        "f.csv, line 3, column engine: found an empty cell; expected the engine that the sample is "
        "of, by any name",
        'f.csv, line 4, column Fe: found "x"; expected a number of 0 or more',
        "f.csv, line 4, column oil_age: found 9500; expected not more than the meter at the "
        "sample, 9000",
        "f.csv, line 4, column reading: found 9000 after 17000 on line 2; expected the oldest "
        "sample first",
        "f.csv, line 4, column date: found 2020-03-01 after 2021-03-01 on line 2; expected dates "
        "that do not run backwards",
        "f.csv, line 6: found the sample on line 5 once more; expected each sample once",
        "f.csv, line 7, column reading: found an empty cell; expected a number of 0 or more",
        'f.csv, line 8, column engine: found "=Cy"; expected a text that does not begin with =, +, '
        "- or @ (a spreadsheet takes it as a formula)",
        'f.csv, line 8, column oil_age: found "-1"; expected a number above 0',
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (FLEET.replace("engine,", "motor,"), "f.csv, line 1: found no column engine, but motor"),
        (FLEET.replace("engine,", "engin,"), "expected the column engine, if that is meant"),
        (FLEET.replace("Fe", "Cr"), 'f.csv, line 1: found the column "Cr"; expected an element'),
        (FLEET.replace("reading", "meter"), "found no column reading or age, but engine"),
        (FLEET.replace("reading,oil_age", "oil_age,x"), "found no column reading or age"),
        (FLEET.replace("2021-03-01", "2027-03-01"), "line 4, column date: found 2027-03-01"),
        (
            "engine,reading,oil_age,date,Pb,Fe\nmine,100000,8000,2024-05-01,4,20\n",
            "f.csv, line 2: found this engine's own sample, on line 2 of its samples; expected "
            "samples of other engines",
        ),
        ("engine,reading,oil_age\na,9,8\n", "found no element, but engine, reading, oil_age"),
    ],
)
def test_what_is_refused(text: str, told: str) -> None:
    assert told in "\n".join(problems_of(with_fleet_file(text)))


def test_a_usual_level_may_be_left_to_them_and_to_nothing_else() -> None:
    left_out = {"typical = [0.5, 2]\n": ""}
    case = case_from_files(with_fleet_file(**left_out))
    assert "oil.element[1].typical" not in case.stated
    assert b"typical = [0.5" not in case_to_files(case)["case.toml"]

    without = {**with_fleet_file(**left_out)}
    without["case.toml"] = without["case.toml"].replace(b'fleet = "f.csv"\n', b"")
    assert problems_of(without) == [
        "case.toml, line 23, oil.element[1].typical: found nothing; expected a value, as it is "
        "required: Usual wear rate between engines of this kind (or oil.fleet: other engines' "
        "samples, to learn it from)"
    ]
    unmeasured = "engine,reading,oil_age,Fe\nAda,9000,9000,22\n"
    assert problems_of(with_fleet_file(unmeasured, **left_out)) == [
        "case.toml, line 24, oil.element[1].typical: found nothing, and no sample in f.csv that "
        "tells of Pb; expected a usual level, or such samples"
    ]


def test_a_file_of_its_own_and_a_column_for_the_engine() -> None:
    files = with_fleet_file()
    files["case.toml"] = files["case.toml"].replace(b'"f.csv"', b'"OIL.csv"')
    assert problems_of(files)[0] == (
        'case.toml, line 21, oil.fleet: found "OIL.csv", as oil.samples; expected a file of its own'
    )
    named = with_fleet_file(**{'symbol = "Fe"': 'symbol = "Engine"'})
    assert 'found "Engine"; expected a chemical symbol' in "\n".join(problems_of(named))
