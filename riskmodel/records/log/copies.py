"""Copies of a log: a backup while it is in use, and a restore that overwrites nothing."""

from __future__ import annotations

import contextlib
import os
import secrets
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from riskmodel.records.log.errors import LogError, NotWrittenError, one
from riskmodel.records.log.faults import told


@contextlib.contextmanager
def placed_new(path: Path) -> Iterator[Path]:
    """An empty file beside `path` to fill; at the end it gets that name, in one step.

    A file of that name, there before or made meanwhile, is never overwritten. Raises LogError.
    """
    if os.path.lexists(path):
        raise _there(path)
    temporary = temporary_beside(path)
    try:
        temporary.open("xb").close()
    except (OSError, ValueError) as fault:
        raise _unwritable(path, fault) from None
    try:
        yield temporary
        _synced(temporary)
        _named(temporary, path)
    except OSError as fault:
        raise _unwritable(path, fault) from None
    finally:
        removed(temporary)


def temporary_beside(path: Path) -> Path:
    """A name in the same folder that nothing has."""
    return path.with_name(f".{path.name[:80]}.{secrets.token_hex(8)}.new")


def removed(path: Path) -> None:
    """Takes a file of ours away, if it is there, with its journal."""
    for leftover in (path, _journal(path)):
        with contextlib.suppress(OSError):
            leftover.unlink()


def _named(temporary: Path, path: Path) -> None:
    """Gives a finished file its name, if that is free."""
    try:
        os.link(temporary, path)  # unlike a rename it fails where the name is taken
    except FileExistsError:
        raise _there(path) from None
    except OSError:  # a disk without hard links
        if os.path.lexists(path):
            raise _there(path) from None
        temporary.rename(path)
    _synced(path.parent)


def _synced(path: Path) -> None:
    """Waits until a file or folder is on the disk (a folder: where the system can)."""
    try:
        number = os.open(path, os.O_RDONLY)
    except OSError:
        return
    try:
        with contextlib.suppress(OSError):
            os.fsync(number)
    finally:
        os.close(number)


def _journal(path: Path) -> Path:
    return path.with_name(path.name + "-journal")


def _there(path: Path) -> LogError:
    return LogError(one(path, "", "a file of this name", "a name that is free; it was left alone"))


def _unwritable(path: Path, fault: Exception) -> NotWrittenError:
    reason = (getattr(fault, "strerror", None) or str(fault)).lower()
    return NotWrittenError(one(path, "", reason, "a place that can be written to"))


def free_name(path: Path, what: str) -> Path:
    """A name beside `path` that is free: log.sqlite.version-1, log.sqlite.version-1-2, ..."""
    for number in range(1, 10_000):
        ending = f"{what}-{number}" if number > 1 else what
        name = path.with_name(f"{path.name}.{ending}")
        if not os.path.lexists(name) and not os.path.lexists(_journal(name)):
            return name
    raise LogError(one(path, "", f"10,000 copies named {what}", "fewer: take some away"))


def copy_into(db: sqlite3.Connection, target: Path) -> None:
    """A copy of an open log as a new file; others may write meanwhile, it is of one moment."""
    with placed_new(target) as temporary, told(target):
        copy = sqlite3.connect(temporary, isolation_level=None)
        try:
            copy.execute("PRAGMA synchronous = EXTRA")
            db.backup(copy)
        finally:
            copy.close()


def put_in_place(source: Path, target: Path, wait: float) -> Path | None:
    """Puts a checked file in the place of another, which is kept under a name of its own.

    Returns the path of what was kept, or None where the place was free. Whoever is writing there
    is waited for, at most `wait` seconds; who has it open is told at the next entry that it was
    moved. Raises LogError.
    """
    if not os.path.lexists(target):
        _named(source, target)
        return None
    kept = free_name(target, "before-restore")
    with _held(target, wait):
        try:
            _linked(target, kept)
            # An unfinished journal belongs to the file that is kept: it would spoil the new one.
            if os.path.lexists(_journal(target)):
                _journal(target).rename(_journal(kept))
            source.replace(target)
        except OSError as fault:
            raise _unwritable(target, fault) from None
    _synced(target.parent)
    return kept


def _linked(target: Path, kept: Path) -> None:
    """Gives a file a second name. (To copy it would be to open it, and to close it again drops
    the locks of whoever has it open in this process.)"""
    try:
        os.link(target, kept)
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links: for a moment nothing stands in its place
        target.rename(kept)


@contextlib.contextmanager
def _held(path: Path, wait: float) -> Iterator[None]:
    """Nobody else reads or writes a log meanwhile, and what a killed writer left unfinished is
    taken back; a file that is no undamaged database is left as it is."""
    db = None
    try:
        uri = f"{path.absolute().as_uri()}?mode=rw"
        db = sqlite3.connect(uri, uri=True, timeout=wait, isolation_level=None)
        db.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as fault:
        if db is not None:
            db.close()
            db = None
        if getattr(fault, "sqlite_errorname", "").startswith("SQLITE_BUSY"):
            with told(path):
                raise
    try:
        yield
    finally:
        if db is not None:
            with contextlib.suppress(sqlite3.Error):
                db.execute("ROLLBACK")
            db.close()
