"""What the command line says of the log."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.records.errors import plain
from riskmodel.records.log.bridge import Brought
from riskmodel.records.log.entries import Entry
from riskmodel.records.log.laboratory import Batch
from riskmodel.records.log.rows import Written
from riskmodel.records.log.state import MachineState
from riskmodel.records.log.waiting import SampleLine
from riskmodel.words import formats

MACHINES, SAMPLES, ENTRIES = "Machines", "Samples, overdue ones first", "Entries"
MACHINE_HEADINGS = ("Machine", "Name", "Meter", "On", "Part", "Remarks")
SAMPLE_HEADINGS = ("Machine", "Bottle", "At", "State", "Since", "Overdue")
ENTRY_HEADINGS = ("No.", "When (UTC)", "By", "Machine", "What", "")
NO_MACHINE = "No machine yet. Take one in: riskmodel log import CASE"
NOTHING_NEW = "Nothing new in it; nothing was written."
TRIED = "Nothing was written (--try)."


def started(path: object) -> str:
    return f"Started a log: {path}"


def written(done: Written) -> list[str]:
    """What was added, with its number for an undo, and remarks."""
    entry = done.entry
    told = entry.payload.gist
    about = f", {entry.machine}" if entry.machine else ""
    return [
        f"Entry {entry.seq}{about}: {entry.payload.title}{f', {told}' if told else ''}.",
        *done.warnings,
    ]


def brought(found: Brought) -> list[str]:
    own = ""
    if found.own_records:
        own = " Its group has other life records in the log; it keeps its own."
    return [f"Taken in as {found.machine}.{own}", *found.warnings]


def exported(machine: str, folder: object, left_out: int) -> str:
    more = ""
    if left_out:
        more = (
            f" {formats.plural(left_out, 'life record')} of its group had to be left out: a number "
            "that its table asks for is not known of them."
        )
    return f"Wrote the case of {machine} into {folder}.{more}"


def machine_row(machine: MachineState) -> tuple[str, ...]:
    remarks = []
    if machine.retired is not None:
        remarks.append("given up")
    elif machine.part is None:
        remarks.append("no part in service")
    if machine.overdue_oil > 0:
        remarks.append(f"oil {formats.usage(machine.overdue_oil, machine.unit)} overdue")
    if machine.contents.get("machine", {}).get("symptoms"):
        remarks.append("SYMPTOMS: stop")
    return (
        machine.id,
        machine.name,
        formats.usage(machine.reading, machine.unit),
        machine.date or "",
        machine.parts[-1].code,
        ", ".join(remarks),
    )


def sample_row(line: SampleLine) -> tuple[str, ...]:
    taken = line.sample.taken.what
    at = taken.reading if taken.reading is not None else taken.age
    return (
        line.machine.id,
        taken.bottle,
        "" if at is None else plain(at),
        line.sample.stage,
        line.since or "",
        f"{formats.plural(line.overdue, 'day')}" if line.overdue else "",
    )


def entry_row(entry: Entry, undone: bool) -> tuple[str, ...]:
    return (
        str(entry.seq),
        entry.recorded[:16].replace("T", " "),
        entry.author,
        entry.machine or "",
        f"{entry.payload.title}{f', {entry.payload.gist}' if entry.payload.gist else ''}",
        "undone" if undone else "",
    )


def backed_up(path: object) -> str:
    return f"Wrote a copy of the log, checked entry by entry: {path}"


def restored(path: object, kept: object | None) -> str:
    before = "" if kept is None else f" The log that was there is kept as {kept}."
    return f"Put the backup in place: {path}.{before}"


def as_text(folder: object, files: int) -> str:
    return (
        f"Wrote {formats.plural(files, 'file')} into {folder}. Those named life-records have no "
        "names in them."
    )


def batch(found: Batch, *, wrote: bool) -> list[str]:
    """What a laboratory's table came to."""
    lines = []
    if found.new:
        lines.append(f"{formats.plural(len(found.new), 'new sample')}.")
    if found.back:
        lines.append(f"{formats.plural(len(found.back), 'sample')} under way came back.")
    if found.duplicates:
        lines.append(
            f"{formats.plural(len(found.duplicates), 'row')} left out, as the log has the very "
            f"same sample ({_lines([line for line, _ in found.duplicates])})."
        )
    if found.unlike:
        lines.append(
            f"{formats.plural(len(found.unlike), 'row')} taken as a further sample at a meter "
            f"reading where the log has one with other readings "
            f"({_lines([line for line, _ in found.unlike])}); undo what is wrong."
        )
    for name, at in found.unknown.items():
        lines.append(f"“{name}” is no machine of the log ({_lines(at)}).")
    if not found.new and not found.back:
        lines.append(NOTHING_NEW)
    elif not wrote:
        lines.append(TRIED)
    return lines


def columns(found: Batch) -> list[str]:
    """Which column was taken for what."""
    told = {**found.columns.columns, **found.columns.elements}
    return [
        f"Columns of {found.columns.laboratory}: "
        + ", ".join(f"{name} from “{heading}”" for name, heading in told.items())
        + f"; dates as {', '.join(_parts(found.columns.dates))}, decimal "
        f"{found.columns.decimal}. They are remembered for its next table."
    ]


def _parts(order: str) -> list[str]:
    return [{"y": "year", "m": "month", "d": "day"}[part] for part in order]


def _lines(at: Sequence[int], most: int = 5) -> str:
    told = ", ".join(str(line) for line in at[:most])
    more = f" and {len(at) - most} more" if len(at) > most else ""
    return f"line{'' if len(at) == 1 else 's'} {told}{more}"
