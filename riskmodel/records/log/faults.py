"""What the database reports, in words that a person can act on."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from riskmodel.records.log.errors import (
    BusyError,
    LogError,
    MovedError,
    NotWrittenError,
    RefusedError,
    one,
)

NO_SENSE = (ArithmeticError, AssertionError, AttributeError, LookupError, TypeError, ValueError)
"""What comes of working with contents that are not what this program writes."""


def damaged(path: object, why: str) -> RefusedError:
    """What is raised for a log that cannot be trusted."""
    why = " ".join(why.split())[:300]
    expected = "an undamaged log; the file was left as it is. Restore a backup under another name"
    return RefusedError(one(path, "", f"a damaged file ({why})", expected))


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """Turns what the database reports into what a person can act on."""
    try:
        yield
    except sqlite3.Error as fault:
        raise _in_words(fault, path) from None
    except UnicodeDecodeError:  # what it reports of a damaged table may quote any bytes
        raise damaged(path, "tables whose text is not UTF-8") from None


def _in_words(fault: sqlite3.Error, path: Path) -> LogError:
    name = getattr(fault, "sqlite_errorname", "") or ""
    kind = "_".join(name.split("_")[:2])
    if name == "SQLITE_READONLY_DBMOVED":
        found = "no longer the file that was opened"
        return MovedError(one(path, "", found, "the log where it was; nothing was written"))
    if kind in ("SQLITE_BUSY", "SQLITE_LOCKED"):
        expected = "a turn to write; nothing was written. Try again"
        return BusyError(one(path, "", "a log in which somebody else is writing", expected))
    if kind == "SQLITE_FULL":
        expected = "room for the entry; nothing was written, what was there is kept"
        return NotWrittenError(one(path, "", "a full disk", expected))
    if kind in ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH"):
        found = "a file or folder that cannot be written to"
        expected = "a place that can be written to; nothing was written"
        if not os.path.lexists(path):
            found = "no such file"
        return NotWrittenError(one(path, "", found, expected))
    if kind == "SQLITE_IOERR":
        found = f"a disk that reports an error ({name})"
        return NotWrittenError(one(path, "", found, "a disk that works; nothing was written"))
    if kind == "SQLITE_NOTADB":
        found = "no database, or one whose beginning is damaged"
        return RefusedError(one(path, "", found, "the file of a log; it was left as it is"))
    if kind == "SQLITE_CORRUPT" or isinstance(fault, sqlite3.DataError):
        return damaged(path, str(fault))
    return LogError(one(path, "", f"a fault of the database ({fault})", "a log that can be used"))
