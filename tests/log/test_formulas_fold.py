"""What the entries of a log come to, worked out by hand."""

from __future__ import annotations

from pathlib import Path

from riskmodel.records.log.bridge import export_case
from riskmodel.records.log.entries import Job, MeterReading, OilChange, SampleTaken
from riskmodel.records.tables import Reading
from tests.log.made import AUTHOR, log_with, made_case

DAY = "2026-03-01"


def test_an_oil_change_entered_late_is_not_the_last_one(tmp_path: Path) -> None:
    """At 100,000 with the next change in 4,000; an old one at 91,000 would put it at 101,000."""
    log, [car] = log_with(tmp_path, made_case())
    log.add(OilChange(91_000, "2025-03-01"), machine=car, author=AUTHOR)
    assert export_case(log, car).next_change_in == 4_000
    log.add(MeterReading(101_000, DAY), machine=car, author=AUTHOR)
    assert export_case(log, car).next_change_in == 3_000
    assert log.machine(car).overdue_oil == 0


def test_oil_drawn_at_a_replacement_is_the_old_parts(tmp_path: Path) -> None:
    """It holds the metal of the part that came out, whichever of the two is entered first."""
    log, [car] = log_with(tmp_path, made_case())
    sample = SampleTaken(6_000.0, 102_000.0, None, DAY, 0.0, "", "", True, {"Pb": Reading(9.0)})
    log.add(sample, machine=car, author=AUTHOR)
    log.add(Job(102_000, DAY, replaced=True), machine=car, author=AUTHOR)
    log.add(SampleTaken(2_000.0, 104_000.0, None, "2026-05-01", 0.0, "", "", False,
                        {"Pb": Reading(2.0)}), machine=car, author=AUTHOR)  # fmt: skip
    held = log.machine(car)
    assert [each.part for each in held.samples] == [0, 1]
    samples = export_case(log, car).samples
    assert samples is not None
    assert [row.elements["Pb"].value for row in samples.rows] == [2.0]


def test_what_undoes_may_be_undone(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    read = log.add(MeterReading(105_000, DAY), machine=car, author=AUTHOR).entry
    back = log.undo(read.seq, author=AUTHOR).entry
    assert log.machine(car).reading == 100_000
    log.undo(back.seq, author=AUTHOR)
    assert log.machine(car).reading == 105_000
