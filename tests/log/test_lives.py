"""Parts that came out, or are still in, as life records for the next decision."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.life.likelihood import Likelihood
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.life_table import read_records
from riskmodel.records.log.bridge import export_case, export_files, group_of_case, import_case
from riskmodel.records.log.entries import (
    Finding,
    InputsChanged,
    Job,
    Look,
    MachineRetired,
    MeterReading,
    RecordsSet,
    SampleTaken,
)
from riskmodel.records.log.lives import records_csv
from riskmodel.records.log.log import Log
from riskmodel.records.tables import LifeRecords, Reading
from tests.log.made import AUTHOR, TRAITS, log_with, made_case, new_log


def rows(records: LifeRecords | None) -> list[tuple[Any, ...]]:
    if records is None:
        return []
    from_ = [None if np.isnan(v) else float(v) for v in records.age_from]
    return list(
        zip(records.age.tolist(), records.outcome, records.entered_at.tolist(), from_,
            records.cause, records.why, strict=True)
    )  # fmt: skip


def mate(**sections: dict[str, Any]) -> Case:
    sections.setdefault("machine", {}).setdefault("name", "Second car")
    return made_case(**sections)


def seen_from_mate(log: Log, names: list[str]) -> list[tuple[Any, ...]]:
    """The life records of the second machine's case."""
    return rows(export_case(log, names[1]).records)


def do(log: Log, machine: str, job: Job, *looks: Look) -> str:
    uuid = log.add(job, machine=machine, author=AUTHOR).entry.uuid
    for number, look in enumerate(looks, start=1):
        log.add(Finding(uuid, f"rod {number}, upper", look), machine=machine, author=AUTHOR)
    return uuid


REPLACED = Job(110_000, "2026-06-01", replaced=True)


def test_a_machine_in_service_is_a_running_record_for_the_others_only(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(), mate(machine={"reading": 90_000}))
    assert seen_from_mate(log, names) == [(100_000, "running", 40_000, None, "wear", "scheduled")]
    assert rows(export_case(log, names[0]).records) == [
        (90_000, "running", 40_000, None, "wear", "scheduled")
    ]
    log.add(MeterReading(105_000, "2026-03-01"), machine=names[0], author=AUTHOR)
    assert seen_from_mate(log, names)[0][0] == 105_000
    log.add(MachineRetired(106_000, "2026-04-01"), machine=names[0], author=AUTHOR)
    assert seen_from_mate(log, names)[0][:2] == (106_000, "running")


@pytest.mark.parametrize(
    ("looks", "outcome"),
    [
        ((), "removed"),
        (("not_seen",), "removed"),
        (("unworn", "unworn"), "removed_unworn"),
        (("unworn", "not_seen"), "removed_unworn"),
        (("unworn", "worn", "unworn"), "removed_worn"),
        (("unworn", "failed", "worn"), "failed"),
    ],
)
def test_the_worst_look_sets_the_outcome(
    looks: tuple[Look, ...], outcome: str, tmp_path: Path
) -> None:
    log, names = log_with(tmp_path, made_case(), mate())
    do(log, names[0], REPLACED, *looks)
    why = "scheduled"
    assert seen_from_mate(log, names) == [(110_000, outcome, 40_000, None, "wear", why)]
    # For the machine itself too, whose new part starts at nothing.
    mine = export_case(log, names[0])
    assert (110_000, outcome, 40_000, None, "wear", why) in rows(mine.records)
    assert (mine.age, mine.part.fitted_at, mine.part.entered_at) == (0, 110_000, 0)
    assert mine.next_change_in == 10_000  # the job brought fresh oil


def test_why_and_cause_and_when_go_with_it(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(), mate())
    do(log, names[0], Job(110_000, "2026-06-01", replaced=True, why="suspected"), "worn")
    failed = Job(
        150_000, "2029-06-01", replaced=True, failed=True, cause="unknown", whole_at=140_000
    )
    do(log, names[0], failed)
    assert seen_from_mate(log, names) == [
        (110_000, "removed_worn", 40_000, None, "wear", "suspected"),
        (40_000, "failed", 0, 30_000, "unknown", "scheduled"),
    ]


def test_a_look_without_replacing_ends_no_life(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(), mate())
    do(log, names[0], Job(101_000, "2026-06-01", replaced=False), "unworn")
    assert seen_from_mate(log, names)[0][:2] == (101_000, "running")
    assert log.machine(names[0]).jobs[0].worst == "unworn"


def test_a_failure_with_nothing_fitted_leaves_nothing_to_weigh(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(), mate())
    failed = log.add(
        Job(110_000, "2026-06-01", replaced=False, failed=True), machine=names[0], author=AUTHOR
    ).entry
    assert seen_from_mate(log, names) == [(110_000, "failed", 40_000, None, "wear", "scheduled")]
    assert not log.machine(names[0]).in_service
    with pytest.raises(CannotAnswer, match="its part failed and none has been fitted since"):
        export_case(log, names[0])
    with pytest.raises(InputError, match="without a part"):
        log.add(Job(111_000, "2026-06-09", replaced=False), machine=names[0], author=AUTHOR)
    fitted = Job(110_000, "2026-08-01", replaced=True, new_code="EX-2")
    log.add(fitted, machine=names[0], author=AUTHOR)
    assert export_case(log, names[0]).part.code == "EX-2"
    assert len(seen_from_mate(log, names)) == 1  # the new part is of another group
    log.undo(log.last(names[0]), author=AUTHOR)
    log.undo(failed.seq, author=AUTHOR)
    assert seen_from_mate(log, names)[0][:2] == (100_000, "running")


def test_parts_of_another_code_lining_or_unit_are_not_shared(tmp_path: Path) -> None:
    others = [
        mate(part={"lining": "aluminium-tin"}),
        mate(part={"code": "EX-2"}),
        mate(part={"code": ""}),
        mate(machine={"unit": "mi"}),
        mate(machine={"invented": False}),
    ]
    log, names = log_with(tmp_path, made_case(), *others)
    assert [export_case(log, name).records for name in names] == [None] * 6


def test_machines_without_a_part_code_share_only_with_themselves(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(part={"code": ""}), mate(part={"code": ""}))
    do(log, names[0], REPLACED, "worn")
    assert rows(export_case(log, names[0]).records) == [
        (110_000, "removed_worn", 40_000, None, "wear", "scheduled")
    ]
    assert export_case(log, names[1]).records is None


def test_an_engine_that_stands_in_the_records_is_not_counted_twice(tmp_path: Path) -> None:
    """Its line in the records counts it up to its age then; what the log saw afterwards is a
    record entered at that age, so that both together say what one would."""
    base = b"age,outcome,entered_at\n100000,running,40000\n90000,failed,0\n"
    log, names = log_with(
        tmp_path, made_case(base, part={"in_records": True}), mate(part={"code": "EX-1"})
    )
    assert len(seen_from_mate(log, names)) == 2  # nothing but the table
    do(log, names[0], REPLACED, "worn")
    assert seen_from_mate(log, names)[2] == (
        110_000, "removed_worn", 100_000, None, "wear", "scheduled",
    )  # fmt: skip
    assert not export_case(log, names[0]).part.in_records  # the new part is not in them
    split = _likelihood((100_000, "running", 40_000), (110_000, "failed", 100_000))
    whole = _likelihood((110_000, "failed", 40_000))
    assert split == pytest.approx(whole, rel=1e-12)


def _likelihood(*parts: tuple[float, str, float]) -> float:
    text = "age,outcome,entered_at\n" + "".join(f"{a},{o},{e}\n" for a, o, e in parts)
    return float(Likelihood(read_records(text.encode())).log(2.5, 150_000.0))


def test_what_was_not_watched_is_no_record(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(part={"entered_at": 100_000}), mate())
    assert seen_from_mate(log, names) == []
    log.add(MeterReading(100_001, "2026-02-01"), machine=names[0], author=AUTHOR)
    assert seen_from_mate(log, names)[0][0] == 100_001


def test_traits_go_into_the_columns_of_the_table(tmp_path: Path) -> None:
    cases = [
        made_case(TRAITS, part={"traits": {"use": "mixed"}}),
        mate(part={"traits": {"use": "Town"}}, machine={"name": "Town"}),
    ]
    with new_log(tmp_path) as log:
        names = [import_case(log, case, author=AUTHOR).machine for case in cases[:1]]
        with pytest.raises(InputError, match=r'found "Town"; expected .*town'):
            import_case(log, cases[1], author=AUTHOR)  # its case would not be readable
        assert len(log.state().machines) == 1
        names.append(import_case(log, mate(), author=AUTHOR).machine)
        records = export_case(log, names[0]).records
        assert records is not None
        assert records.covariates["use"] == ("town", "mixed", "town", "unknown")


def test_a_number_that_is_not_known_keeps_a_life_out(tmp_path: Path) -> None:
    table = b"age,outcome,year\n90000,failed,2001\n120000,running,2004\n"
    one = made_case(table, part={"traits": {"year": 2003.0}})
    log, names = log_with(tmp_path, one, mate())
    assert export_files(log, names[0]).lives_left_out == 1
    assert export_case(log, names[0]) == one


def test_traits_without_a_table_are_kept_where_a_mate_shares_them(tmp_path: Path) -> None:
    log, names = log_with(
        tmp_path,
        made_case(part={"traits": {"use": "town", "year": 2003.0}}),
        mate(part={"traits": {"use": "town"}}),
    )
    files = export_files(log, names[0])
    assert files.traits_left_out == ("year",)
    case = files.case()
    assert case.part.traits == {"use": "town"}
    assert case.records is not None
    assert case.records.covariates == {"use": ("town",)}


def test_new_group_records_take_the_place_of_the_old(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(TRAITS), mate())
    group = group_of_case(made_case())
    assert group is not None
    do(log, names[0], REPLACED, "worn")
    log.add(RecordsSet("age,outcome\n80000,failed\n", group, "a club"), author=AUTHOR)
    assert [row[:2] for row in seen_from_mate(log, names)] == [
        (80_000, "failed"),
        (110_000, "removed_worn"),
    ]
    with pytest.raises(InputError, match="line 2, column age"):
        log.add(RecordsSet("age,outcome\nold,failed\n", group), author=AUTHOR)


def test_no_undo_takes_the_last_failure_from_a_machine_that_needs_one(tmp_path: Path) -> None:
    """Without a belief about life a case needs a failure by wear to learn from."""
    log, names = log_with(tmp_path, made_case(), mate())
    failed = log.add(
        Job(110_000, "2026-06-01", replaced=True, failed=True), machine=names[0], author=AUTHOR
    ).entry
    log.add(InputsChanged({"life.b50_prior": None}), machine=names[1], author=AUTHOR)
    with pytest.raises(InputError, match=r"case of Second car.*without a failure by wear"):
        log.undo(failed.seq, author=AUTHOR)
    assert seen_from_mate(log, names)[0][1] == "failed"


def test_records_of_a_group_have_no_names(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(TRAITS), mate())
    do(log, names[0], REPLACED, "worn")
    group = group_of_case(made_case())
    assert group is not None
    text = (records_csv(log.state(), group) or b"").decode()
    assert [line.split(",")[:3] for line in text.splitlines()] == [
        ["age", "outcome", "use"],
        ["90000", "failed", "town"],
        ["120000", "running", "mixed"],
        ["150000", "removed_worn", "town"],
        ["110000", "removed_worn", "unknown"],
        ["100000", "running", "unknown"],
    ]
    for word in ("car", "Ann", *names):
        assert word not in text


def test_samples_of_the_old_part_stay_with_it(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    lead = {"Pb": Reading(5.0)}

    def sample(reading: float, date: str, oil_age: float) -> None:
        taken = SampleTaken(oil_age, reading, date=date, elements=lead)
        log.add(taken, machine=car, author=AUTHOR)

    sample(105_000, "2026-03-01", 9_000)
    do(log, car, REPLACED, "worn")
    assert export_case(log, car).samples is None
    sample(110_000, "2026-06-01", 5_000)  # the oil drained at the job
    assert export_case(log, car).samples is None
    with pytest.raises(InputError, match=r"oil_age: found 5000; expected not more than .* 1000"):
        sample(111_000, "2026-08-01", 5_000)
    sample(111_000, "2026-08-01", 1_000)
    samples = export_case(log, car).samples
    assert samples is not None
    assert [row.reading for row in samples.rows] == [111_000]
    assert [s.part for s in log.machine(car).samples] == [0, 0, 1]


def test_symptoms_of_the_part_end_with_it(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case(machine={"symptoms": ["knock"]}))
    do(log, car, Job(105_000, "2026-03-01", replaced=False))
    assert export_case(log, car).machine.symptoms == ("knock",)
    do(log, car, REPLACED)
    assert export_case(log, car).machine.symptoms == ()
    do(log, car, Job(115_000, "2026-09-01", replaced=True, symptoms=("knock",)))
    assert export_case(log, car).machine.symptoms == ("knock",)


def test_what_comes_out_is_weighed(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(TRAITS), mate())
    before = weigh(export_case(log, names[1]))
    do(log, names[0], Job(110_000, "2026-06-01", replaced=True, failed=True))
    after = weigh(export_case(log, names[1]))
    assert after.risk[0].chance.value > before.risk[0].chance.value


def test_own_records_brought_back_in_are_remarked_on(tmp_path: Path) -> None:
    log, names = log_with(tmp_path, made_case(TRAITS), mate())
    do(log, names[0], REPLACED, "worn")
    group = group_of_case(made_case())
    assert group is not None
    own = records_csv(log.state(), group)
    assert own is not None
    written = log.add(RecordsSet(own.decode(), group), author=AUTHOR)
    assert "seem to hold 2 parts that this log knows itself" in written.warnings[0]
    other = log.add(RecordsSet(TRAITS.decode(), group), author=AUTHOR)
    assert other.warnings == ()
