"""Entries on their way into the file and out of it."""

from __future__ import annotations

import uuid as uuids
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from riskmodel.records.errors import InputError
from riskmodel.records.log.entries import Entry, Payload
from riskmodel.records.log.faults import damaged
from riskmodel.records.log.json_text import from_json


def new_uuid() -> str:
    """A name for an entry that no other has."""
    return str(uuids.uuid4())


@dataclass(frozen=True, slots=True)
class New:
    """An entry to be added. A `uuid` given by the caller makes adding it twice the same as
    once, and lets later entries of the same batch refer to it."""

    payload: Payload
    machine: str | None = None
    uuid: str = field(default_factory=new_uuid)
    undoes: int | None = None


@dataclass(frozen=True, slots=True)
class Written:
    """What was added, and what its author should know (a clock that was set back, life records
    that the log has already)."""

    entries: tuple[Entry, ...]
    warnings: tuple[str, ...] = ()

    @property
    def entry(self) -> Entry:
        return self.entries[-1]


def entry_of(row: Sequence[object], place: object) -> Entry:
    """The entry of a row with `COLUMNS`. Raises RefusedError where it is none."""
    seq, uuid, recorded, author, kind, machine, payload, program, undoes = row
    try:
        held = from_json(str(kind), str(payload))
    except InputError as fault:
        raise damaged(place, f"entry {seq}: {fault}") from None
    assert isinstance(seq, int)
    assert undoes is None or isinstance(undoes, int)
    name = None if machine is None else str(machine)
    return Entry(seq, str(uuid), str(recorded), str(author), name, held, str(program), undoes)


def as_read(item: New, text: str) -> New:
    """The entry as whoever opens the log will read it (a whole number as its float)."""
    return replace(item, payload=from_json(item.payload.kind, text))


def row_of(entry: Entry, payload: str) -> tuple[object, ...]:
    return (
        entry.seq,
        entry.uuid,
        entry.recorded,
        entry.author,
        entry.kind,
        entry.machine,
        payload,
        entry.program,
        entry.undoes,
    )
