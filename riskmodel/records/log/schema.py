"""The tables of a log's file, as the steps that lead from an empty file to today's.

A step is never changed once it was in use: a new version adds one, and a file of any earlier
version goes through those it lacks. A file made new goes through all of them, so that both
end with the very same tables.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable
from functools import lru_cache

APPLICATION_ID = 0x524D4C47
"""What marks a database as a log of this tool ("RMLG")."""

_FORBID_CHANGE = """
CREATE TRIGGER entries_never_change BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'an entry of the log never changes'); END
"""


def _first(db: sqlite3.Connection) -> None:
    """Version 1: the entries, in order, never changed nor taken out."""
    db.execute(
        """
        CREATE TABLE entries (
            seq INTEGER PRIMARY KEY,
            uuid TEXT NOT NULL UNIQUE,
            recorded TEXT NOT NULL,
            author TEXT NOT NULL,
            kind TEXT NOT NULL,
            machine TEXT,
            payload TEXT NOT NULL,
            program TEXT NOT NULL,
            undoes INTEGER UNIQUE REFERENCES entries (seq)
        ) STRICT
        """
    )
    db.execute(_FORBID_CHANGE)
    db.execute(
        """
        CREATE TRIGGER entries_never_go BEFORE DELETE ON entries
        BEGIN SELECT RAISE(ABORT, 'an entry of the log is never taken out'); END
        """
    )
    # REPLACE takes rows out without asking the trigger above.
    db.execute(
        """
        CREATE TRIGGER entries_in_order BEFORE INSERT ON entries
        WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entries)
            OR EXISTS (SELECT 1 FROM entries WHERE uuid = NEW.uuid)
            OR EXISTS (SELECT 1 FROM entries WHERE undoes = NEW.undoes)
            OR NEW.undoes >= NEW.seq
        BEGIN SELECT RAISE(ABORT, 'an entry of the log is added behind the last one'); END
        """
    )


def _second(db: sqlite3.Connection) -> None:
    """Version 2: each entry seals itself and all before it, so that damage inside a text shows.

    (The database's own check sees broken pages only.)
    """
    db.execute("ALTER TABLE entries ADD COLUMN seal TEXT NOT NULL DEFAULT ''")
    db.execute("DROP TRIGGER entries_never_change")
    before = ""
    for row in db.execute(f"SELECT {', '.join(COLUMNS)} FROM entries ORDER BY seq").fetchall():
        before = seal_of(before, row)
        db.execute("UPDATE entries SET seal = ? WHERE seq = ?", (before, row[0]))
    db.execute(_FORBID_CHANGE)


def _third(db: sqlite3.Connection) -> None:
    """Version 3: entries may tell a laboratory's columns, and decisions the chance of distress.

    The tables stay as they are; the number keeps programs out that do not know these entries.
    """


STEPS: tuple[Callable[[sqlite3.Connection], None], ...] = (_first, _second, _third)
VERSION = len(STEPS)
COLUMNS = (
    "seq",
    "uuid",
    "recorded",
    "author",
    "kind",
    "machine",
    "payload",
    "program",
    "undoes",
)
"""The columns of an entry, as it is exported; the seal comes behind them."""


def seal_of(before: str, row: Iterable[object]) -> str:
    """The seal of an entry (its values in the order of `COLUMNS`) behind the seal before it."""
    text = json.dumps([before, *row], ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def migrate(db: sqlite3.Connection, steps: Iterable[Callable[[sqlite3.Connection], None]]) -> None:
    """Takes a database through steps, within the transaction at hand, and counts them."""
    version: int = db.execute("PRAGMA user_version").fetchone()[0]
    for step in steps:
        step(db)
        version += 1
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {version:d}")


def tables_of(db: sqlite3.Connection) -> frozenset[tuple[str, str, str | None]]:
    """Every table, index and trigger with its text."""
    return frozenset(db.execute("SELECT type, name, sql FROM sqlite_master").fetchall())


@lru_cache(maxsize=VERSION)
def expected_tables(version: int) -> frozenset[tuple[str, str, str | None]]:
    """What a file of a version holds: anything else is none of ours (a trigger could do harm)."""
    db = sqlite3.connect(":memory:")
    try:
        migrate(db, STEPS[:version])
        return tables_of(db)
    finally:
        db.close()
