"""A year in an invented workshop, end to end: the life curve, the ranking and what was said against
what was seen follow what happens."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.decision.rank import Ranking, Standing, rank
from riskmodel.decision.rank_curves import without_own
from riskmodel.decision.rank_quick import Quick, quick
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.weigh import weigh
from riskmodel.records.files import read_case
from riskmodel.records.log.bridge import decision_inputs, export_case, group_of_case, import_case
from riskmodel.records.log.decided import came_out, followed
from riskmodel.records.log.entries import (
    Decision,
    Finding,
    Job,
    MachineRetired,
    MeterReading,
    Said,
    SampleSent,
    SampleTaken,
)
from riskmodel.records.log.log import Log
from riskmodel.records.log.many import begin, many
from riskmodel.records.tables import Reading
from riskmodel.risk.life_curves import life_curves
from riskmodel.risk.said_and_seen import Told, found_when_replaced, said_and_seen
from tests.decision.many_machines import DATA
from tests.log.made import made_case, new_log, ticking

ENGINES = 20
FOUND = {3: "worn", 7: "unworn", 8: "worn", 12: "unworn", 15: "worn"}
FAILED, SURGED, LATE = 19, 5, 9
AHEAD, CHANCE, WORN = 20_000.0, 0.1, 0.4
TODAY = datetime.date(2026, 12, 1)


def day(number: int) -> str:
    return str(datetime.date(2026, 2, 1) + datetime.timedelta(number))


@dataclass(frozen=True)
class Year:
    """The workshop's log, and its rankings before the year and after it."""

    path: Path
    before: Mapping[str, Standing]
    after: Ranking


def ranked(log: Log) -> Ranking:
    found = many(log.state(), TODAY.isoformat())
    assert len(found.groups) == 1
    return rank(found.machines, today=TODAY, begin=(begin, (found.groups,)))


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Year:
    """20 engines, 60 samples, 5 jobs with findings, 1 failure."""
    log = new_log(tmp_path_factory.mktemp("year"), clock=ticking())
    for number in range(ENGINES):
        reading = 80_000 + 4_000 * number
        case = made_case(
            machine={"name": f"Engine {number}", "reading": reading},
            part={"entered_at": reading / 2},
        )
        name = import_case(log, case, author="Ann", machine=f"engine-{number}").machine
        decision = Decision(
            day(0), reading, "later", "told\n", decision_inputs(case),
            said=(Said(AHEAD, CHANCE, 0.05, 0.2),), worn_told=WORN,
        )  # fmt: skip
        log.add(decision, machine=name, author="Ann")
    before = {s.name: s for s in ranked(log).standings}
    for number in range(ENGINES):
        name, reading = f"engine-{number}", 80_000 + 4_000 * number
        for step in range(3):
            last = step == 2
            lead = 30.0 if number == SURGED and last else 2.0 + step
            results = {} if number == LATE and last else {"Pb": Reading(lead)}
            sample = SampleTaken(
                2_000 + 500 * step, reading + 2_000 + 3_000 * step, date=day(90 * step),
                elements=results,
            )  # fmt: skip
            uuid = log.add(sample, machine=name, author="Bob").entry.uuid
            if not results:
                log.add(SampleSent(uuid, day(90 * step)), machine=name, author="Bob")
        if number in FOUND:
            job = log.add(Job(reading + 9_000, day(200), True), machine=name, author="Ann").entry
            for shell, look in enumerate(("unworn", FOUND[number])):
                finding = Finding(job.uuid, f"rod {shell}", look)  # type: ignore[arg-type]
                log.add(finding, machine=name, author="Bob")
        if number == FAILED:
            log.add(Job(reading + 10_000, day(210), True, True), machine=name, author="Ann")
        log.add(MeterReading(reading + 12_000, day(300)), machine=name, author="Ann")
    found = Year(log.path, before, ranked(log))
    log.close()
    return found


def test_all_of_it_is_there(year: Year) -> None:
    with Log.open(year.path) as log:
        machines = log.state().machines.values()
        assert len(machines) == ENGINES
        assert sum(len(machine.samples) for machine in machines) == 60
        assert sum(len(machine.jobs) for machine in machines) == 6
    assert not year.after.unread
    assert len(year.after.standings) == ENGINES


def test_the_life_curve_follows(year: Year) -> None:
    """With six parts out, one of them failed and three worn, life is known better than before."""
    with Log.open(year.path) as log:
        case = export_case(log, "engine-0")
        assert case.records is not None
        outcomes = sorted(o for o in case.records.outcome if o != "running")
        assert outcomes == ["failed", *["removed_unworn"] * 2, *["removed_worn"] * 3]
        after = life_curves(case)
        before = life_curves(made_case(machine={"reading": 92_000}, part={"entered_at": 40_000}))

        def spread(curves: object) -> float:
            b50 = np.log(curves.scale) + np.log(np.log(2)) / curves.shape  # type: ignore[attr-defined]
            weight = curves.weight  # type: ignore[attr-defined]
            return float(np.sqrt(weight @ (b50 - weight @ b50) ** 2))

        assert spread(after) < 0.8 * spread(before)


def test_the_ranking_follows(year: Year) -> None:
    after = {s.name: s for s in year.after.standings}
    order = [s.name for s in year.after.standings]
    assert order[0] == f"engine-{LATE}"  # its sample is overdue
    surged = after[f"engine-{SURGED}"]
    assert surged.oil_factor is not None
    assert surged.oil_factor > 2
    # what its oil shows counts for more than some years of age
    older, surge = f"engine-{SURGED + 1}", f"engine-{SURGED}"
    assert order.index(surge) < order.index(older)
    assert [year.before[name].waiting for name in (surge, older)] == sorted(
        year.before[name].waiting or 0.0 for name in (surge, older)
    )
    for number in (*FOUND, FAILED):  # a new part
        name = f"engine-{number}"
        told, was = after[name].chance, year.before[name].chance
        assert told is not None
        assert was is not None
        assert told.value < was.value
        assert order.index(name) > ENGINES / 2


def test_what_was_said_and_seen_follows(year: Year) -> None:
    with Log.open(year.path) as log:
        state = log.state()
    rows = followed(state)
    assert len(rows) == ENGINES
    ends = [row.ended for row in rows]
    assert (ends.count("failed"), ends.count("replaced"), ends.count("")) == (1, 5, 14)
    found = said_and_seen(
        [Told(np.array(row.ahead), np.array(row.chance)) for row in rows],
        np.array([row.followed for row in rows]),
        np.array([row.ended == "failed" for row in rows]),
    )
    usage = 14 * 12_000 + 5 * 9_000 + 10_000
    assert found.expected == pytest.approx(-np.log(1 - CHANCE) * usage / AHEAD)
    assert found.seen.value == 1
    assert found.few
    out = came_out(state)
    looks = found_when_replaced(
        np.array([row.look == "worn" for row in out]),
        np.array([row.look != "not_seen" for row in out]),
        np.array([row.chance for row in out]),
    )
    assert (looks.worn, looks.unworn, looks.told_worn) == (3, 2, 3)
    assert looks.expected == pytest.approx(5 * WORN)


def test_machines_of_a_group_weigh_as_their_own_cases_do(year: Year) -> None:
    """On the group's records, their own part among them, as on the case that would be exported."""
    with Log.open(year.path) as log:
        found = many(log.state(), TODAY.isoformat())
        begin(found.groups)
        some = [each for each in found.machines if each.name in ("engine-2", "engine-8")]
        assert all(each.group is not None for each in some)
        loaded = [each.load() for each in some]
        exported = [export_case(log, each.name) for each in some]
    shared = quick([case for case, _ in loaded], [counted for _, counted in loaded], Shared())
    alone = quick(exported, [False] * len(exported), Shared())
    for one, other in zip(shared, alone, strict=True):
        assert isinstance(one, Quick)
        assert isinstance(other, Quick)
        assert one.chance.value == pytest.approx(other.chance.value, rel=0.02)
        assert one.waiting == pytest.approx(other.waiting, abs=30)


def test_a_later_decision_and_giving_up_end_the_following(tmp_path: Path) -> None:
    log = new_log(tmp_path)
    case = made_case()
    name = import_case(log, case, author="Ann").machine

    def decide(reading: float, number: int) -> None:
        said = (Said(5_000, 0.05, 0, 1), Said(AHEAD, CHANCE, 0, 1))
        told = Decision(day(number), reading, "later", "x\n", decision_inputs(case), said=said)
        log.add(told, machine=name, author="Ann")

    decide(100_000, 0)
    log.add(MeterReading(103_000, day(50)), machine=name, author="Ann")
    decide(103_000, 50)
    log.add(MachineRetired(104_000, day(90)), machine=name, author="Ann")
    rows = followed(log.state())
    assert [(row.followed, row.ended) for row in rows] == [(3_000, ""), (1_000, "given up")]
    assert rows[0].ahead == (5_000, AHEAD)
    assert followed(log.state(), "ex-1") == rows
    assert followed(log.state(), "other") == ()
    assert many(log.state(), day(95)).resting == (name,)


def test_a_replaced_part_leaves_its_stretches_of_use_behind(tmp_path: Path) -> None:
    log = new_log(tmp_path)
    stretches = [{"until": 60_000, "unknown": True}, {"until": 100_000, "shares": {"town": 0.5}}]
    use = {"kinds": [{"name": "town", "population_share": 0.3}], "stretches": stretches}
    case = made_case(use=use)
    name = import_case(log, case, author="Ann").machine
    log.add(Job(104_000, day(10), True), machine=name, author="Ann")
    assert export_case(log, name).use.stretches == ()
    assert group_of_case(export_case(log, name)) == group_of_case(case)


def test_weighed_in_full_a_machine_is_what_its_own_page_says(tmp_path: Path) -> None:
    """To the digit: there its part is no row of the records, and counts by its survival alone. Two
    road cars of the bundled kind, of which failures were told three times as readily."""
    road_car = read_case(DATA / "road-car")
    stated = road_car.stated | {"life.reporting_ratio"}
    road_car = replace(road_car, life=replace(road_car.life, reporting_ratio=3.0), stated=stated)
    with new_log(tmp_path, clock=ticking()) as log:
        for reading in (124_000.0, 131_000.0):
            case = replace(road_car, machine=replace(road_car.machine, reading=reading))
            import_case(log, case, author="Ann")
        found = many(log.state(), TODAY.isoformat())
        told = rank(found.machines, full=1, workers=1, begin=(begin, (found.groups,)))
        [name] = [s.name for s in told.standings if s.full]
        own = export_case(log, name)
    [source] = [machine for machine in found.machines if machine.name == name]
    begin(found.groups)
    case, counted = source.load()
    assert counted
    assert case.records is not None
    assert own.records is not None
    assert len(case.records) == len(own.records) + 1
    assert without_own(case).records == own.records
    loud = {name: str(told).upper() for name, told in case.part.traits.items()}
    loudly = replace(case, part=replace(case.part, traits=loud))
    assert loud
    assert without_own(loudly).records == own.records
    first, page = told.standings[0], weigh(own)
    assert first.chance == page.risk[0].chance
    assert first.now == page.plans[0].cost.value


def test_a_part_that_is_not_among_the_records_cannot_be_taken_out_of_them() -> None:
    case = made_case()
    with pytest.raises(ValueError, match="do not hold the part itself"):
        without_own(case)
