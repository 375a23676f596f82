"""All machines of a log as cases to be weighed, many at once.

The case that `export_case` makes holds every part of its group, so that a thousand machines would
make a thousand tables of a thousand rows. Here the records of a group are put together once, with
every part that is in service among them: a machine weighed on them is counted already. Machines
to which that does not apply (a table of their own, a part without a code, traits without a table,
numbers that a table asks for and a machine does not state) get the case of `export_case`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.life_table import read_records
from riskmodel.records.log.assemble import assembled
from riskmodel.records.log.entries import Group, RecordsSet
from riskmodel.records.log.lives import life_of, lives_of, with_lives
from riskmodel.records.log.state import Held, LogState, MachineState
from riskmodel.records.log.waiting import overdue_samples
from riskmodel.records.tables import LifeRecords

_STAND_IN = "age,outcome\n1,failed\n2,running\n"
"""So that the reader of a case has a table to read; the group's takes its place."""

_GROUPS: dict[Group, LifeRecords] = {}


def begin(groups: Mapping[Group, LifeRecords]) -> None:
    """Tells this process the records of the groups, before any machine is loaded."""
    _GROUPS.clear()
    _GROUPS.update(groups)


@dataclass(frozen=True, slots=True)
class OfLog:
    """A machine of a log on its way to be weighed.

    `group`: the one whose records, told by `begin`, hold its part; None where `case` (or `fault`,
    why there is none) was put together on its own.
    """

    name: str
    machine: MachineState
    overdue_days: int
    group: Group | None = None
    case: Case | None = None
    fault: InputError | CannotAnswer | None = None

    def load(self) -> tuple[Case, bool]:
        """The case, and whether its records hold the part itself. Raises InputError,
        CannotAnswer."""
        if self.fault is not None:
            raise self.fault
        if self.group is None:
            assert self.case is not None
            return self.case, False
        records = _GROUPS[self.group]
        contents = dict(self.machine.contents)
        part = dict(contents.get("part", {}))
        traits = part.pop("traits", {})
        stand_in = replace(self.machine, contents={**contents, "part": part})
        held = Held(self.machine.added, RecordsSet(_STAND_IN, self.group))
        state = LogState({self.name: stand_in}, {self.group: held}, 0)
        case = assembled(state, self.name, shared=False).case()
        known = {name: value for name, value in traits.items() if name in records.covariates}
        return replace(case, records=records, part=replace(case.part, traits=known)), True


@dataclass(frozen=True, slots=True)
class Many:
    """The machines of a log in service, `groups` the records to tell `begin`; `resting` are the ids
    of those given up or without a part, which there is nothing to weigh about."""

    machines: tuple[OfLog, ...]
    groups: Mapping[Group, LifeRecords]
    resting: tuple[str, ...]


def many(state: LogState, today: str) -> Many:
    """Every machine of the log; samples are overdue as of `today`."""
    late: dict[str, int] = {}
    for line in overdue_samples(state, today):
        late[line.machine.id] = max(late.get(line.machine.id, 0), line.overdue)
    groups: dict[Group, LifeRecords | None] = {}
    found, resting = [], []
    for name, machine in state.machines.items():
        if not machine.in_service:
            resting.append(name)
            continue
        group = machine.group
        if group is not None and group not in groups:
            groups[group] = _records(state, group)
        records = None if group is None else groups[group]
        if records is not None and _counted(machine, records):
            found.append(OfLog(name, machine, late.get(name, 0), group))
        else:
            found.append(_on_its_own(state, name, late.get(name, 0)))
    held = {group: records for group, records in groups.items() if records is not None}
    return Many(tuple(found), held, tuple(resting))


def _records(state: LogState, group: Group) -> LifeRecords | None:
    """The records of a group with all its parts; None where some part cannot be among them."""
    held = state.records.get(group)
    table = None
    if held is not None and held.what.csv is not None:
        table = read_records(held.what.csv.encode("utf-8"))
    records, left_out = with_lives(table, lives_of(state, group), {})
    return None if left_out else records


def _counted(machine: MachineState, records: LifeRecords) -> bool:
    """Whether a machine's part is among its group's records just as its case would count it."""
    part = machine.part
    assert part is not None
    if machine.records is not None or part.counted_to > 0:
        return False
    if machine.contents.get("part", {}).get("in_records", False):
        return False
    if not all(name in records.covariates for name in part.traits):
        return False
    life = life_of(machine, part)
    return life is not None and life.entered_at == part.entered_at


def _on_its_own(state: LogState, name: str, late: int) -> OfLog:
    machine = state.machines[name]
    try:
        case = assembled(state, name).case()
    except (InputError, CannotAnswer) as fault:
        return OfLog(name, machine, late, fault=fault)
    return OfLog(name, machine, late, case=case)
