"""A log: one file that holds what was stated about any number of machines, for years.

    with Log.create(path) as log:                        # or Log.open(path)
        name = import_case(log, case, author="Ann")      # riskmodel.records.log.bridge
        log.add(MeterReading(125_000, "2026-12-01"), machine=name, author="Ann")
        log.state().machines[name].reading               # what it says at present
        case = export_case(log, name)                    # to be weighed

Entries are only ever added. `seq` numbers them without gaps and gives their order, whatever
the computer's clock says. Several programs, or several threads, may have one log open: each
writes in its turn, and whoever states what his entry was `based_on` is told when somebody else
wrote about that machine meanwhile.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from riskmodel import __version__
from riskmodel.records.errors import InputError, Problem, shown
from riskmodel.records.log.book import Book
from riskmodel.records.log.copies import copy_into, put_in_place, removed, temporary_beside
from riskmodel.records.log.entries import Entry, Payload, Undone
from riskmodel.records.log.errors import ClashError, LogError, one
from riskmodel.records.log.faults import NO_SENSE, damaged, told
from riskmodel.records.log.file import (
    WAIT_SECONDS,
    connect,
    make_file,
    open_file,
    same_file,
    transaction,
)
from riskmodel.records.log.json_text import to_json
from riskmodel.records.log.rows import New, Written, as_read, entry_of, new_uuid, row_of
from riskmodel.records.log.rules import affected, check_cases, check_entry, double_counted
from riskmodel.records.log.schema import COLUMNS, seal_of
from riskmodel.records.log.state import LogState, MachineState
from riskmodel.records.scalars import text_fault

MOST_TOLD = 5
"""Entries that a message of a clash spells out; the rest are counted."""


class Log:
    """An open log. Make one by `Log.create` or `Log.open`; close it, or use it with `with`.

    Every method raises LogError where the file, its disk or another writer stands in the way,
    and InputError where what is to be written cannot be; nothing is then written.
    """

    def __init__(
        self,
        path: Path,
        db: sqlite3.Connection,
        identity: tuple[int, int],
        clock: Callable[[], datetime],
        program: str,
    ) -> None:
        self.path = path
        self._db = db
        self._identity = identity
        self._clock = clock
        self._program = program
        self._lock = threading.RLock()
        self._book = Book()
        self._seal = ""

    @classmethod
    def create(
        cls,
        path: Path,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
        program: str = __version__,
        wait: float = WAIT_SECONDS,
    ) -> Log:
        """A new, empty log. Never touches a file that is there already."""
        path = _whole(path)
        make_file(path)
        return cls.open(path, clock=clock, program=program, wait=wait)

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
        program: str = __version__,
        wait: float = WAIT_SECONDS,
    ) -> Log:
        """The log in a file, every entry of it checked.

        `clock` tells the time to record, `program` the version that writes, `wait` how many
        seconds to wait for another writer. Raises RefusedError for anything but an undamaged
        log of this or an earlier version; the file is then left as it is.
        """
        return cls._opened(_whole(path), clock, program, wait, keep_old=True)

    @classmethod
    def _opened(
        cls,
        path: Path,
        clock: Callable[[], datetime],
        program: str,
        wait: float,
        keep_old: bool,
    ) -> Log:
        db, identity = open_file(path, wait, keep_old=keep_old)
        log = cls(path, db, identity, clock, program)
        try:
            log._refresh()
            log._make_sense()
        except BaseException:
            log.close()
            raise
        return log

    def _make_sense(self) -> None:
        """Refuses a file whose entries, each of them a good one, together make no machines: it was
        put together by hand or by another program."""
        try:
            self._book.state()
        except NO_SENSE as fault:
            if isinstance(fault, InputError):
                raise
            why = f"entries that make no machine: {type(fault).__name__} {fault}"
            raise damaged(self.path, why) from None

    def close(self) -> None:
        self._db.close()

    def __enter__(self) -> Log:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    # --- reading -----------------------------------------------------------------------

    def state(self) -> LogState:
        """Everything that the log says at present, entries of others included."""
        with self._lock:
            self._refresh()
            return self._book.state()

    def machine(self, machine: str) -> MachineState:
        """One machine at present. Raises InputError where the log has none of that name."""
        with self._lock:
            self._refresh()
            state = self._book.machine(machine)
        if state is None:
            found = f"the unknown machine {shown(machine)}"
            raise InputError([Problem(str(self.path), "", found, "one that the log has")])
        return state

    def history(self, machine: str | None = None) -> tuple[Entry, ...]:
        """Every entry in order, undone ones and undos too; those about one machine if named."""
        with self._lock:
            self._refresh()
            entries = self._book.entries if machine is None else self._book.about.get(machine, [])
            return tuple(entries)

    def last(self, machine: str | None = None) -> int:
        """The seq of the newest entry about a machine (None: about groups); 0 without any."""
        with self._lock:
            self._refresh()
            return self._book.last_about(machine)

    def undone_by(self, seq: int) -> Entry | None:
        """The undo that takes an entry back; None where it holds."""
        with self._lock:
            self._refresh()
            undo = self._book.undone_by.get(seq)
            return None if undo is None or self.undone_by(undo.seq) is not None else undo

    # --- writing -----------------------------------------------------------------------

    def add(
        self,
        payload: Payload,
        *,
        author: str,
        machine: str | None = None,
        based_on: int | None = None,
        uuid: str | None = None,
    ) -> Written:
        """Adds one entry about a machine (None: about a group, `RecordsSet` only).

        `based_on` is the `MachineState.last` that the author saw: where the log has a newer
        entry about that machine, ClashError tells what it is and whose, and nothing is written.
        None: whatever has come meanwhile. The same `uuid` once more adds nothing and returns
        what is there.
        """
        new = New(payload, machine, uuid or new_uuid())
        return self.add_all([new], author=author, based_on=_of(machine, based_on))

    def add_all(
        self,
        new: Sequence[New],
        *,
        author: str,
        based_on: Mapping[str | None, int] | None = None,
    ) -> Written:
        """Adds several entries at once: all of them or, where one cannot be, none.

        `based_on` gives by machine the last entry that the author saw.
        """
        fault = "a name" if not author.strip() else text_fault(author)
        if fault is not None:
            raise InputError([Problem("entry", "author", shown(author), fault)])
        texts = [to_json(item.payload) for item in new]
        new = [as_read(item, text) for item, text in zip(new, texts, strict=True)]
        with self._lock:
            pushed = 0
            try:
                same_file(self.path, self._identity)
                with transaction(self._db, self.path):
                    self._refresh()
                    self._clashes(new, based_on or {})
                    warnings = [*self._clock_warnings(), *self._remarks(new)]
                    written, rows, seal = [], [], self._seal
                    for item, text in zip(new, texts, strict=True):
                        known = self._known(item)
                        if known is not None:
                            written.append(known)
                            continue
                        entry = self._checked(item, author)
                        self._book.push(entry)
                        pushed += 1
                        row = row_of(entry, text)
                        seal = seal_of(seal, row)
                        rows.append((*row, seal))
                        written.append(entry)
                    self._check_cases(self._book.entries[len(self._book.entries) - pushed :])
                    marks = ", ".join("?" * (len(COLUMNS) + 1))
                    names = ", ".join((*COLUMNS, "seal"))
                    self._db.executemany(f"INSERT INTO entries ({names}) VALUES ({marks})", rows)
                    same_file(self.path, self._identity)
            except BaseException:
                for _ in range(pushed):
                    self._book.pop()
                raise
            self._seal = seal
            return Written(tuple(written), tuple(warnings) if rows else ())

    def undo(
        self, seq: int, *, author: str, reason: str = "", based_on: int | None = None
    ) -> Written:
        """Adds a counter-entry: entry `seq` no longer holds. Undoing an undo restores."""
        with self._lock:
            self._refresh()
            machine = self._to_undo(seq).machine
            new = New(Undone(reason), machine, undoes=seq)
            return self.add_all([new], author=author, based_on=_of(machine, based_on))

    def _checked(self, item: New, author: str) -> Entry:
        """The entry to add, held against what the log says by now."""
        entry = Entry(
            seq=self._book.last + 1,
            uuid=item.uuid,
            recorded=self._now(),
            author=author,
            machine=item.machine,
            payload=item.payload,
            program=self._program,
            undoes=item.undoes,
        )
        if item.undoes is None:
            name = item.machine
            state = None if name is None else self._book.machine(name)
            check_entry(item.payload, state, name, name in self._book.about)
            return entry
        earlier = self._book.undone_by.get(item.undoes)
        if earlier is not None:
            found = f"entry {item.undoes}, undone already by {earlier}"
            expected = f"an entry that holds (undo entry {earlier.seq} to restore it)"
            raise InputError([Problem(str(self.path), "", found, expected)])
        if self._to_undo(item.undoes).machine != item.machine:
            raise InputError([Problem("undo", "machine", shown(item.machine), "that of the entry")])
        return entry

    def _to_undo(self, seq: int) -> Entry:
        if not 1 <= seq <= self._book.last:
            found, last = f"entry {seq}", self._book.last
            expected = f"an entry from 1 to {last}" if last else "an entry: there is none yet"
            raise InputError([Problem(str(self.path), "", found, expected)])
        return self._book.entries[seq - 1]

    def _check_cases(self, entries: Sequence[Entry]) -> None:
        if entries:
            state = self._book.state()
            check_cases(state, affected(state, entries), entries[-1].payload.title)

    def _known(self, item: New) -> Entry | None:
        """The entry of this uuid where it was written before, by a first try."""
        known = self._book.by_uuid.get(item.uuid)
        if known is None:
            return None
        if (known.payload, known.machine, known.undoes) == (
            item.payload,
            item.machine,
            item.undoes,
        ):
            return known
        found = f"the uuid of {known}"
        raise InputError([Problem("entry", "uuid", found, "one of its own")])

    def _clashes(self, new: Sequence[New], based_on: Mapping[str | None, int]) -> None:
        if all(item.uuid in self._book.by_uuid for item in new):
            return  # a second try of what was written: no clash with itself
        unseen: list[Entry] = []
        for machine, seen in based_on.items():
            unseen += [e for e in self._book.about.get(machine, []) if e.seq > seen]
        if not unseen:
            return
        unseen.sort(key=lambda entry: entry.seq)
        told = ", ".join(_with_gist(entry) for entry in unseen[-MOST_TOLD:])
        more = f" and {len(unseen) - MOST_TOLD} before" if len(unseen) > MOST_TOLD else ""
        expected = "an entry based on these; nothing was written. Look at them and enter it again"
        raise ClashError(one(self.path, "", f"{told}{more} since", expected), tuple(unseen))

    def _now(self) -> str:
        return self._clock().astimezone(UTC).isoformat(timespec="microseconds")

    def _clock_warnings(self) -> list[str]:
        if not self._book.entries:
            return []
        before, now = self._book.entries[-1], self._now()
        if now >= before.recorded:
            return []
        return [
            f"The clock of this computer says {now[:16].replace('T', ' ')} UTC, which is before "
            f"{before}. The order of the entries is kept by their numbers; look at the clock."
        ]

    def _remarks(self, new: Sequence[New]) -> list[str]:
        state = self._book.state()
        return [text for item in new if (text := double_counted(state, item.payload)) is not None]

    # --- the file ----------------------------------------------------------------------

    def _refresh(self) -> None:
        """Takes in what others have written, each entry checked against its seal."""
        same_file(self.path, self._identity)
        for *row, seal in self._rows_after(self._book.last):
            entry = entry_of(row, self.path)
            if entry.seq != self._book.last + 1 or seal_of(self._seal, row) != seal:
                raise damaged(self.path, f"entry {entry.seq} does not agree with its seal")
            self._book.push(entry)
            self._seal = seal

    @property
    def seal(self) -> str:
        """The seal of the newest entry: equal in two logs only where all entries are equal."""
        with self._lock:
            self._refresh()
            return self._seal

    def backup(self, target: Path) -> Path:
        """A copy of the log as a new file, checked entry by entry against this one.

        The log may be in use meanwhile. Never overwrites. Returns the path.
        """
        target = _whole(target)
        with self._lock:
            seal = self.seal
            copy_into(self._db, target)
            try:
                with Log.open(target) as copy:
                    agrees = seal == "" or seal in {row[-1] for row in copy.rows()}
            except BaseException:
                removed(target)
                raise
        if not agrees:
            removed(target)
            raise damaged(target, "the copy differs from the log")
        return target

    def rows(self) -> list[tuple[object, ...]]:
        """Every entry as it stands in the file: `schema.COLUMNS`, and its seal."""
        with self._lock:
            self._refresh()
            return self._rows_after(0)[: self._book.last]

    def _rows_after(self, seq: int) -> list[tuple[object, ...]]:
        names = ", ".join((*COLUMNS, "seal"))
        with told(self.path):
            return self._db.execute(
                f"SELECT {names} FROM entries WHERE seq > ? ORDER BY seq", (seq,)
            ).fetchall()


def restore(backup: Path, target: Path, *, wait: float = WAIT_SECONDS) -> Path | None:
    """Puts a backup, checked entry by entry, where a log is wanted.

    A file that is there already is kept beside it, under the name that is returned (None where
    there was none). The backup itself is left as it is. Raises LogError.
    """
    backup, target = _whole(backup), _whole(target)
    temporary = temporary_beside(target)
    try:
        db = connect(backup) if backup.is_file() else None
        if db is None:
            raise LogError(one(backup, "", "no such file", "a backup"))
        try:
            copy_into(db, temporary)
        finally:
            db.close()
        Log._opened(
            temporary, lambda: datetime.now(UTC), __version__, WAIT_SECONDS, keep_old=False
        ).close()
        return put_in_place(temporary, target, wait)
    finally:
        removed(temporary)


def _with_gist(entry: Entry) -> str:
    gist = shown(entry.payload.gist).strip('"')
    return f"{entry}: {gist}" if gist else str(entry)


def _of(machine: str | None, based_on: int | None) -> dict[str | None, int]:
    return {} if based_on is None else {machine: based_on}


def _whole(path: Path) -> Path:
    """The path with links resolved: a journal stands beside the file itself."""
    try:
        return Path(path).resolve()
    except (OSError, RuntimeError, ValueError):
        return Path(path)
