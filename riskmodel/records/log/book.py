"""The entries of a log in memory, and what they say, worked out machine by machine."""

from __future__ import annotations

from riskmodel.records.log.entries import Entry, Group, RecordsSet
from riskmodel.records.log.fold import fold_machine, laboratories, shared_records
from riskmodel.records.log.state import Held, LogState, MachineState


class Book:
    """Entries in their order. Only what a new entry is about is worked out anew."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.about: dict[str | None, list[Entry]] = {}
        self.by_uuid: dict[str, Entry] = {}
        self.undone_by: dict[int, Entry] = {}
        self._machines: dict[str, MachineState | None] = {}
        self._shared: dict[Group, Held[RecordsSet]] | None = None

    @property
    def last(self) -> int:
        return len(self.entries)

    def push(self, entry: Entry) -> None:
        self.entries.append(entry)
        self.about.setdefault(entry.machine, []).append(entry)
        self.by_uuid[entry.uuid] = entry
        if entry.undoes is not None:
            self.undone_by[entry.undoes] = entry
        self._forget(entry)

    def pop(self) -> None:
        """Takes the newest entry back, which was not written after all."""
        entry = self.entries.pop()
        self.about[entry.machine].pop()
        if not self.about[entry.machine]:
            del self.about[entry.machine]
        del self.by_uuid[entry.uuid]
        if entry.undoes is not None:
            del self.undone_by[entry.undoes]
        self._forget(entry)

    def _forget(self, entry: Entry) -> None:
        if entry.machine is None:
            self._shared = None
        else:
            self._machines.pop(entry.machine, None)

    def last_about(self, machine: str | None) -> int:
        """The seq of the newest entry about a machine (None: about groups); 0 without any."""
        held = self.about.get(machine)
        return held[-1].seq if held else 0

    def machine(self, name: str) -> MachineState | None:
        if name not in self._machines:
            held = self.about.get(name)
            self._machines[name] = fold_machine(name, held) if held else None
        return self._machines[name]

    def state(self) -> LogState:
        if self._shared is None:
            self._shared = shared_records(self.about.get(None, []))
        names = [name for name in self.about if name is not None]
        held = {name: state for name in names if (state := self.machine(name)) is not None}
        return LogState(held, dict(self._shared), self.last, laboratories(self.about.get(None, [])))
