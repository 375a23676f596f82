"""The record checks as a whole: silent on records without a fault, plain about one put in."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.life.check import Remark, check
from riskmodel.life.check_remark import MOST_NAMED
from riskmodel.records.life_table import read_records
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.check_made import only, plain_club, rng
from tests.life.made import HOSTILE, joined, records, reference
from tests.studies.check_power import CLEAN, FAULTS, spoken

LEAD = Quantity(12_000.0, 60_000.0)


class TestFalseAlarms:
    """The study in tests/studies/check_power.py measures them; here is a small part of it."""

    @pytest.mark.parametrize("name", ["club of 40, shape 2.5", "club of 150, shape 2.5"])
    def test_silent_on_true_reports(self, name: str) -> None:
        # each check speaks in at most about one of a hundred such lists
        told = spoken(CLEAN[name], 30, seed=21)
        assert sum(told.values()) <= 3, told

    def test_rounding_alone_is_told_as_rounding(self) -> None:
        told = spoken(CLEAN["club of 150, rounded ages"], 15, seed=22)
        assert told.pop("heaping") == 15
        assert sum(told.values()) <= 2, told

    @pytest.mark.parametrize("name", ["nist_weibull", "ball_bearings", "shock_absorber"])
    def test_published_data(self, name: str) -> None:
        kinds = {remark.kind for remark in check(reference(name))}
        # these say so of themselves: all but one failed, or the ages are rounded
        assert kinds <= {"no survivors", "heaping"}

    def test_another_worth_of_records_changes_nothing(self) -> None:
        some = plain_club()
        before = replace(some, age=some.age.copy(), count=some.count.copy())
        check(some, "km", at=100_000, ahead=10_000)
        assert some == before


class TestPower:
    @pytest.mark.parametrize(
        ("name", "least"),
        [
            ("1 of 150 told twice, exact ages", 0.9),
            ("5 of 150 in thousands", 0.8),
            ("a digit too many", 0.8),
            ("3 turned to miles", 0.8),
            ("8 came failing", 0.8),
            ("all late, one failed at 9,000", 0.8),
            ("2 early, mean 2,000", 0.8),
            ("count of 200 in one of 60 rows", 0.7),
        ],
    )
    def test_a_fault_put_in_is_told(self, name: str, least: float) -> None:
        fault, random = FAULTS[name], rng(31)
        seen = [
            any(remark.kind in fault.kinds for remark in check(fault.make(random), "km"))
            for _ in range(10)
        ]
        assert np.mean(seen) >= least


class TestRemarks:
    def everything(self) -> list[Remark]:
        found: list[Remark] = []
        for fault in FAULTS.values():
            found += check(fault.make(rng(5)), "km", at=250_000, ahead=20_000)
        for name in ("road-car", "work-boat"):
            path = Path(__file__).parents[2] / "data" / name / "records.csv"
            some = read_records(path.read_bytes())
            found += check(some, "km" if name == "road-car" else "h", at=150_000, visible_lead=LEAD)
        return found

    def test_plain_sentences(self) -> None:
        for remark in self.everything():
            text = remark.sentence
            assert (
                text[0].isupper()
                or text[0].isdigit()
                or text.startswith(("entered_at", "use:", "oil_interval:"))
            )
            assert text.endswith(".")
            assert "nan" not in text.lower().split()
            assert not re.search(r"\b(safe|sound|healthy|fine|ok)\b", text, re.IGNORECASE)
            assert len(text) < 600

    def test_lines_are_lines_of_the_file(self) -> None:
        some = plain_club()
        twice = joined(some, records([some.age[7]], some.outcome[7], entered_at=some.entered_at[7]))
        numbered = replace(twice, lines=tuple(range(2, 63)))
        remark = only(check(numbered), "duplicates")
        assert remark.lines == (9, 62)
        assert remark.sentence.startswith("Lines 9 and 62")

    def test_long_lists_are_cut(self) -> None:
        some = joined(plain_club(), records(np.linspace(40_000, 90_000, 20), cause="other"))
        remark = only(check(some), "other cause")
        assert len(remark.lines) == 20
        assert f"{20 - MOST_NAMED} more" in remark.sentence


class TestHostileRecords:
    @pytest.mark.parametrize("name", HOSTILE)
    def test_no_traceback(self, name: str) -> None:
        for unit in (None, "km", "h"):
            for lead in (None, Quantity(5.0, 20.0)):
                check(HOSTILE[name], unit, at=25.0, ahead=10.0, visible_lead=lead)

    def test_no_record_at_all(self) -> None:
        assert check(empty()) == ()

    @settings(
        max_examples=15,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
        derandomize=True,
    )
    @given(st.data())
    def test_whatever_the_reader_accepts(self, data: st.DataObject) -> None:
        rows = ["age,outcome,age_from,entered_at,count,cause,why,use"]
        for _ in range(data.draw(st.integers(1, 12))):
            age = data.draw(st.sampled_from([1, 7, 80, 1000, 50_000, 100_000, 123_457, 900_000]))
            outcome = data.draw(
                st.sampled_from(["failed", "running", "removed", "removed_worn", "removed_unworn"])
            )
            since = data.draw(st.sampled_from(["", age / 2])) if outcome == "failed" else ""
            entry = data.draw(st.sampled_from(["", age / 4]))
            count = data.draw(st.sampled_from(["", 2, 10**9]))
            cause = (
                data.draw(st.sampled_from(["", "other", "unknown"])) if outcome == "failed" else ""
            )
            why = "suspected" if outcome.startswith("removed") and data.draw(st.booleans()) else ""
            use = data.draw(st.sampled_from(["town", "track"]))
            rows.append(f"{age},{outcome},{since},{entry},{count},{cause},{why},{use}")
        some = read_records("\n".join(rows).encode())
        for remark in check(some, "km", at=60_000.0, ahead=5_000.0, visible_lead=LEAD):
            assert set(remark.lines) <= set(some.lines)


def empty() -> LifeRecords:
    none = np.zeros(0)
    return LifeRecords(none, (), none, none, none, (), ())
