"""Past decisions and what became of their parts: what `riskmodel.risk.said_and_seen` weighs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import accumulate

from riskmodel.records.log.job_entries import Decision, Said
from riskmodel.records.log.state import LogState, MachineState, PartState


@dataclass(frozen=True, slots=True)
class Followed:
    """A decision and its part since. Each `chance` was told of a failure within the usage `ahead`,
    rising; the part was `followed` for so much, and `ended`: "failed" by wear, "other" (a failure
    of another cause), "replaced", "given up" or "" while it runs on."""

    machine: str
    date: str
    ahead: tuple[float, ...]
    chance: tuple[float, ...]
    followed: float
    ended: str


@dataclass(frozen=True, slots=True)
class CameOut:
    """A part that came out before it failed, and how it looked; `chance` is that of visible
    distress as the last decision about it told (NaN: none did)."""

    machine: str
    look: str
    chance: float


def followed(state: LogState, code: str | None = None) -> tuple[Followed, ...]:
    """Every decision that told a chance, in the log's order; about parts of one `code` if given.

    Of decisions about one part the later one ends the following of the earlier: no usage is
    counted twice.
    """
    found = []
    for machine in state.machines.values():
        told = [held.what for held in machine.decisions if held.what.said]
        for i, decision in enumerate(told):
            later = told[i + 1].reading if i + 1 < len(told) else math.inf
            row = _followed(machine, decision, later, code)
            if row is not None:
                found.append(row)
    return tuple(found)


def came_out(state: LogState, code: str | None = None) -> tuple[CameOut, ...]:
    """Every part (of one `code` if given) that was taken out in service, and how it looked."""
    found = []
    for machine in state.machines.values():
        for part in machine.parts:
            if part.ended is None or part.ended.job.what.failed:
                continue
            if not _is_of(part, code):
                continue
            chance = _distress_told(machine, part)
            found.append(CameOut(machine.id, part.ended.worst, chance))
    return tuple(found)


def _is_of(part: PartState, code: str | None) -> bool:
    return code is None or part.code.strip().casefold() == code.strip().casefold()


def _part_at(machine: MachineState, reading: float) -> PartState | None:
    """The part that was in service when the meter stood so."""
    for part in machine.parts:
        end = math.inf if part.ended is None else part.ended.job.what.reading
        if part.fitted_at <= reading < end:
            return part
    return None


def _followed(
    machine: MachineState, decision: Decision, later: float, code: str | None
) -> Followed | None:
    part = _part_at(machine, decision.reading)
    if part is None or not _is_of(part, code):
        return None
    said = {each.ahead: each.probability for each in sorted(decision.said, key=_by_ahead)}
    limit = min(max(said), later - decision.reading)
    ended, until = "", machine.reading
    if part.ended is not None:
        job = part.ended.job.what
        until = job.reading
        ended = "replaced" if not job.failed else "other" if job.cause == "other" else "failed"
    elif machine.retired is not None:
        ended, until = "given up", machine.retired.what.reading
    usage = max(until - decision.reading, 0.0)
    if usage > limit:
        usage, ended = limit, ""
    return Followed(machine.id, decision.date, tuple(said), _rising(said.values()), usage, ended)


def _by_ahead(said: Said) -> float:
    return said.ahead


def _rising(chances: Iterable[float]) -> tuple[float, ...]:
    """Rounding may let a chance told for more usage come out a hair lower."""
    return tuple(accumulate(chances, max))


def _distress_told(machine: MachineState, part: PartState) -> float:
    """The chance of visible distress that the last decision about a part told."""
    end = math.inf if part.ended is None else part.ended.job.what.reading
    told = [
        held.what.worn_told
        for held in machine.decisions
        if part.fitted_at <= held.what.reading <= end and held.what.worn_told is not None
    ]
    return told[-1] if told else math.nan
