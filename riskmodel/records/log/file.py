"""The one file of a log: opened with care, written whole or not at all.

The journal is the rollback journal (`DELETE`), not a write-ahead log: after each commit
everything stands in the one file, which may then be copied, moved or kept on a network drive
as any other; a write-ahead log keeps the newest entries in a second file that is easily left
behind. `synchronous = EXTRA` waits until each commit is on the disk, the removal of its journal
included, so that neither a crash nor a power cut takes back what was reported as written. A
commit then takes some milliseconds, which is nothing beside the typing of an entry.
"""

from __future__ import annotations

import contextlib
import sqlite3
import stat
from collections.abc import Iterator
from pathlib import Path

from riskmodel.records.log.copies import copy_into, free_name, placed_new
from riskmodel.records.log.errors import MovedError, RefusedError, one
from riskmodel.records.log.faults import damaged, told
from riskmodel.records.log.schema import (
    APPLICATION_ID,
    STEPS,
    VERSION,
    expected_tables,
    migrate,
    tables_of,
)

_A_LOG = "the file of a log"
WAIT_SECONDS = 10.0
"""How long one waits while somebody else writes (judgement)."""


def make_file(path: Path) -> None:
    """A new, empty log. Raises LogError, also where there is a file already."""
    with placed_new(path) as temporary:
        db = connect(temporary)
        try:
            with transaction(db, path):
                migrate(db, STEPS)
        finally:
            db.close()


def open_file(
    path: Path, wait: float = WAIT_SECONDS, *, keep_old: bool = True
) -> tuple[sqlite3.Connection, tuple[int, int]]:
    """A connection to the log's file, checked through and through, and what the file is
    (device and number).

    A file of an earlier version is brought up to this one, after a copy of it was kept beside
    it (`keep_old`). Raises RefusedError for anything that is no undamaged log of this or an
    earlier version, and leaves its bytes as they are.
    """
    identity = _looked_at(path)
    db = connect(path, wait)
    try:
        with told(path):
            db.execute("BEGIN")  # of one moment: another program may be bringing it up just now
            version = _ours(db, path)
            _check(db, path, version)
            db.execute("COMMIT")
        if version < VERSION:
            _bring_up(db, path, keep_old)
        same_file(path, identity)
    except BaseException:
        db.close()
        raise
    return db, identity


def connect(path: Path, wait: float = WAIT_SECONDS) -> sqlite3.Connection:
    """A connection that never makes a file, usable from several threads one after another."""
    uri = f"{path.absolute().as_uri()}?mode=rw"
    with told(path):
        db = sqlite3.connect(
            uri, uri=True, timeout=wait, isolation_level=None, check_same_thread=False
        )
        try:
            db.execute("PRAGMA synchronous = EXTRA")
            db.execute("PRAGMA foreign_keys = ON")
            db.execute("PRAGMA recursive_triggers = ON")
            db.execute("PRAGMA trusted_schema = OFF")
            db.execute("PRAGMA cell_size_check = ON")
        except BaseException:
            db.close()
            raise
    return db


def identity_of(path: Path) -> tuple[int, int] | None:
    """Device and number of the file at a path; None where there is none."""
    try:
        state = path.stat()
    except (OSError, ValueError):
        return None
    return state.st_dev, state.st_ino


def same_file(path: Path, identity: tuple[int, int]) -> None:
    """Raises MovedError where another file, or none, stands at the path by now."""
    now = identity_of(path)
    if now == identity:
        return
    found = "no file any more: it was moved, renamed or deleted"
    if now is not None:
        found = "another file than the one that was opened"
    expected = "the log where it was opened; nothing was written. Put it back or open it anew"
    raise MovedError(one(path, "", found, expected))


def _looked_at(path: Path) -> tuple[int, int]:
    """The identity of what may be a log: a regular file that is not empty.

    It is not opened here: when a file is closed, the system drops all locks that this process
    holds on it, those of a log that another thread has open too. Only the database opens it.
    """
    try:
        state = path.stat()
    except FileNotFoundError:
        raise RefusedError(one(path, "", "no such file", _A_LOG)) from None
    except (OSError, ValueError) as fault:
        reason = (getattr(fault, "strerror", None) or str(fault)).lower()
        found = f"a file that cannot be read ({reason})"
        raise RefusedError(one(path, "", found, _A_LOG)) from None
    if stat.S_ISDIR(state.st_mode):
        raise RefusedError(one(path, "", "a folder", _A_LOG))
    if not stat.S_ISREG(state.st_mode):
        raise RefusedError(one(path, "", "a device or pipe", _A_LOG))
    if state.st_size == 0:
        raise RefusedError(one(path, "", "an empty file", _A_LOG))
    return state.st_dev, state.st_ino


def _ours(db: sqlite3.Connection, path: Path) -> int:
    """The version of a log that this program knows. Raises RefusedError for anything else."""
    mark: int = db.execute("PRAGMA application_id").fetchone()[0]
    version: int = db.execute("PRAGMA user_version").fetchone()[0]
    if mark != APPLICATION_ID:
        raise RefusedError(one(path, "", "a database of another program", _A_LOG))
    if version > VERSION:
        found = f"a log of version {version}, written by a newer riskmodel"
        expected = f"version {VERSION} or earlier: install the newer riskmodel"
        raise RefusedError(one(path, "", found, f"{expected}. The file was left as it is"))
    if version < 1:
        raise RefusedError(one(path, "", f"a log of version {version}", f"1 to {VERSION}"))
    return version


def _check(db: sqlite3.Connection, path: Path, version: int) -> None:
    """The database's own check, and that it holds our tables and nothing else."""
    faults = [row[0] for row in db.execute("PRAGMA integrity_check(3)").fetchall()]
    if faults != ["ok"]:
        raise damaged(path, "; ".join(str(fault) for fault in faults))
    if tables_of(db) != expected_tables(version):
        found = "a log with tables that this tool did not make"
        raise RefusedError(one(path, "", found, f"the tables of version {version}"))
    if db.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise damaged(path, "an entry undoes one that is not there")


def _bring_up(db: sqlite3.Connection, path: Path, keep_old: bool) -> None:
    """Takes a file of an earlier version to this one; a copy of the old one stays beside it."""
    version: int = db.execute("PRAGMA user_version").fetchone()[0]
    if keep_old:
        copy_into(db, free_name(path, f"version-{version}"))
    with transaction(db, path):
        version = db.execute("PRAGMA user_version").fetchone()[0]  # another may have been first
        migrate(db, STEPS[version:])
    with told(path):
        _check(db, path, VERSION)


@contextlib.contextmanager
def transaction(db: sqlite3.Connection, path: Path) -> Iterator[None]:
    """One transaction that is written whole or not at all; nobody else writes meanwhile.

    Raises LogError in plain words where it could not be.
    """
    with told(path):
        db.execute("BEGIN IMMEDIATE")
        try:
            yield
            db.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                if db.in_transaction:
                    db.execute("ROLLBACK")
            raise
