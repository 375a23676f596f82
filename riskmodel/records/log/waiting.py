"""Where the samples are: taken, sent, back, told; those that are overdue first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from riskmodel.records.log.state import LogState, MachineState, SampleState

OVERDUE_DAYS = 14
"""Days after which a sample that is not back is overdue (judgement)."""
_ORDER = ("sent", "taken", "back", "told")


@dataclass(frozen=True, slots=True)
class SampleLine:
    """A sample of a machine; `since` is the day of its last step (None: not known), `days`
    how long ago that is, `overdue` by how many days it is over the time allowed (0: it is not).
    """

    machine: MachineState
    sample: SampleState
    since: str | None
    days: int | None
    overdue: int


def sample_list(
    state: LogState, today: str, *, after_days: int = OVERDUE_DAYS, machine: str | None = None
) -> tuple[SampleLine, ...]:
    """All samples of all machines (or of one): overdue ones first, the longest overdue at the
    top; then those under way, those not yet told, the rest; newest first within each.

    A sample is overdue where it is not back more than `after_days` days after it was sent; one
    that was never sent, so long after it was taken: it still stands on a shelf.
    """
    machines = state.machines.values()
    chosen = [m for m in machines if machine is None or m.id == machine]
    lines = [_line(m, sample, today, after_days) for m in chosen for sample in m.samples]
    return tuple(sorted(lines, key=_place))


def overdue_samples(
    state: LogState, today: str, *, after_days: int = OVERDUE_DAYS
) -> tuple[SampleLine, ...]:
    """The overdue ones of them, the longest overdue first."""
    return tuple(line for line in sample_list(state, today, after_days=after_days) if line.overdue)


def _line(machine: MachineState, sample: SampleState, today: str, after_days: int) -> SampleLine:
    steps = (sample.taken, sample.sent, sample.back, sample.told)
    dated = [held.what.date for held in steps if held is not None and held.what.date is not None]
    since = dated[-1] if dated else None
    days = None if since is None else (date.fromisoformat(today) - date.fromisoformat(since)).days
    waits = sample.stage in ("taken", "sent") and machine.retired is None
    overdue = max(days - after_days, 0) if waits and days is not None else 0
    return SampleLine(machine, sample, since, days, overdue)


def _place(line: SampleLine) -> tuple[int, int, int, int]:
    newest = -date.fromisoformat(line.since).toordinal() if line.since else 0
    stage = _ORDER.index(line.sample.stage)
    return (-line.overdue, 0 if line.overdue else stage, newest, line.sample.taken.entry.seq)
