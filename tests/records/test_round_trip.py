"""What is read is written back the same, by whatever way a case comes and goes."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.errors import InputError
from riskmodel.records.files import (
    case_from_files,
    case_to_files,
    changed,
    read_case,
    write_case,
)
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.life_table import read_records, write_records
from riskmodel.records.oil_table import read_samples, write_samples
from riskmodel.records.tables import LifeRecords, OilSamples
from riskmodel.records.template import template
from tests.records.strategies import case_files, life_records, oil_samples, raw_values

settings.register_profile(
    "round trip",
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
SETTINGS = settings.get_profile("round trip")


def same_numbers(one: Any, other: Any) -> bool:
    """Equal raw contents, a whole number being the same as its float, a range its exact value."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same_numbers(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same_numbers, one, other))
    if isinstance(one, list) and len(one) == 2 and one[0] == one[1]:
        return bool(one[0] == other)
    return bool(one == other) or str(one) == other  # a date of TOML's own comes back as text


@SETTINGS
@given(case_files())
def test_case(files: Mapping[str, bytes]) -> None:
    case = case_from_files(files)
    written = case_to_files(case)
    again = case_from_files(written)
    assert again == case
    assert again.stated == case.stated
    assert written.keys() == files.keys()
    assert case_to_files(again) == written

    stated = {k: v for k, v in tomllib.loads(files["case.toml"].decode()).items() if v != {}}
    assert same_numbers(stated, tomllib.loads(written["case.toml"].decode()))

    packed = case_to_zip(case)
    assert case_from_zip(packed) == case
    assert case_to_zip(again) == packed


@SETTINGS
@given(life_records())
def test_life_records(records: LifeRecords) -> None:
    data = write_records(records)
    again = read_records(data)
    assert replace(again, columns=records.columns) == records
    assert read_records(write_records(again)) == again
    assert write_records(again) == data
    assert again.lines == tuple(range(2, len(records) + 2))


@SETTINGS
@given(oil_samples(1000.0, 5000.0, ["Pb", "Cu", "Sn"]))
def test_oil_samples(samples: OilSamples) -> None:
    data = write_samples(samples)
    again = read_samples(data, elements=["Pb", "Cu", "Sn"])
    assert again.rows == samples.rows
    assert read_samples(write_samples(again)) == again
    assert write_samples(again) == data


@SETTINGS
@given(case_files(), st.data())
def test_change_is_as_in_the_file(files: Mapping[str, bytes], data: st.DataObject) -> None:
    """A change made on the page and the same edit of case.toml give the same case, or the
    same problems."""
    kinds = ("number", "quantity", "share", "share_quantity", "text", "flag", "choice", "date")
    keys = [key for key, e in BY_KEY.items() if e.kind in kinds and key.count(".") == 1]
    key = data.draw(st.sampled_from(keys))
    value = data.draw(raw_values(BY_KEY[key]) | st.sampled_from([-1, 0, "", "x", [3, 2]]))
    case = case_from_files(files)
    raw = tomllib.loads(files["case.toml"].decode())
    section, name = key.split(".")
    raw.setdefault(section, {})[name] = value
    edited = {**files, "case.toml": tomli_w.dumps(raw).encode()}

    try:
        expected = case_from_files(edited)
    except InputError as refused:
        with pytest.raises(InputError) as also_refused:
            changed(case, {key: value})
        found = {(p.found, p.expected) for p in refused.problems}
        assert {(p.found, p.expected) for p in also_refused.value.problems} == found
    else:
        result = changed(case, {key: value})
        assert result == expected
        assert result.records is case.records  # the tables are not read again
        assert result.samples is case.samples
    assert changed(case, {}) == case


def test_a_statement_is_taken_back() -> None:
    case = case_from_files(template("km"))
    costly = changed(case, {"cost.urgent": 5000, "oil.interval": 9000})
    assert costly.oil.interval == 9000
    assert costly.stated == case.stated | {"cost.urgent", "oil.interval"}
    assert changed(costly, {"cost.urgent": None, "oil.interval": None}) == case
    with pytest.raises(InputError, match=r"cost.planned: found nothing"):
        changed(case, {"cost.planned": None})


def test_rows_are_changed_whole_or_one_by_one() -> None:
    case = case_from_files(template("km"))
    lead = {"symbol": "Pb", "typical": [1, 2], "from_part": True}
    iron = {"symbol": "Fe", "typical": [2, 9], "from_part": False}
    with_oil = changed(case, {"oil.element": [lead, iron]})
    assert [element.symbol for element in with_oil.oil.element] == ["Pb", "Fe"]
    rising = changed(with_oil, {"oil.element[2].rise": 5})
    assert [element.rise.high for element in rising.oil.element] == [20.0, 5.0]
    assert rising == changed(case, {"oil.element": [lead, {**iron, "rise": 5}]})
    for key, message in {
        "oil.element[3].rise": "found 2 rows; expected a row that there is",
        "oil.element[0].rise": "found 2 rows; expected a row that there is",
        "oil.element.rise": r"found a key of every row; .* oil.element\[1\].rise",
        "oil.elemnt[1].rise": r"found an unknown key; .* \(did you mean oil.element.rise\?\)",
        "cost.plannd": r"found an unknown key; .* \(did you mean cost.planned\?\)",
        "cost": "found an unknown key",
    }.items():
        with pytest.raises(InputError, match=message):
            changed(with_oil, {key: 5})


def test_new_tables_are_read() -> None:
    case = case_from_files(template("km"))
    new = changed(case, {}, {"records.csv": b"age,outcome\n5000,failed\n"})
    assert new.records is not None
    assert new.records.age.tolist() == [5000.0]
    named = changed(case, {"life.records": "b.csv"}, {"b.csv": b"age,outcome\n5,failed\n"})
    assert named.life.records == "b.csv"
    assert named.records is not None
    assert len(named.records) == 1
    with pytest.raises(InputError, match=r"b\.csv: found no such file"):
        changed(case, {"life.records": "b.csv"})
    without = changed(case, {"life.records": None, "life.b50_prior": [1e5, 2e5]})
    assert without.records is None
    with pytest.raises(InputError, match="found neither records nor b50_prior"):
        changed(case, {"life.records": None})


def test_samples_follow_the_declared_elements() -> None:
    raw = {
        "oil.samples": "oil.csv",
        "oil.element": [{"symbol": "Pb", "typical": 1, "from_part": True}],
    }
    data = {"oil.csv": b"age,oil_age,Pb\n9000,5000,3\n"}
    case = changed(case_from_files(template("km")), raw, data)
    renamed = changed(case, {"oil.element[1].symbol": "PB"})
    assert renamed.samples is not None
    assert list(renamed.samples.rows[0].elements) == ["PB"]
    with pytest.raises(InputError, match=r'found the column "Pb"; expected an element'):
        changed(case, {"oil.element[1].symbol": "Cu"})


def test_folder(tmp_path: Path) -> None:
    case = case_from_files(template("h"))
    write_case(case, tmp_path / "new" / "boat")
    assert read_case(tmp_path / "new" / "boat") == case
    other = changed(case, {"machine.name": "Other"})
    write_case(other, tmp_path / "new" / "boat")
    assert read_case(tmp_path / "new" / "boat") == other
    assert sorted(path.name for path in (tmp_path / "new" / "boat").iterdir()) == [
        "case.toml",
        "records.csv",
    ]


def test_what_was_replaced_in_python_is_written_too() -> None:
    """Values that differ from their default are written, stated or not."""
    case = case_from_files(template("km"))
    dearer = replace(case, oil=replace(case.oil, interval=12000.0, turnaround=700.0))
    assert "oil.interval" not in dearer.stated
    assert case_from_files(case_to_files(dearer)).oil == dearer.oil


def test_nothing_is_written_that_cannot_be_read_back(tmp_path: Path) -> None:
    case = case_from_files(template("km"))
    bad = replace(case, machine=replace(case.machine, reading=-5.0))
    with pytest.raises(InputError, match=r"machine.reading: found -5"):
        write_case(bad, tmp_path / "bad")
    assert not (tmp_path / "bad").exists()


@pytest.mark.parametrize("name", ["road-car", "work-boat"])
def test_examples(name: str, tmp_path: Path) -> None:
    folder = Path(__file__).parents[2] / "data" / name
    case = read_case(folder)
    assert case.machine.invented
    assert case.records is not None
    assert case.samples is not None
    write_case(case, tmp_path)
    assert read_case(tmp_path) == case
    assert case_from_zip(case_to_zip(case)) == case
