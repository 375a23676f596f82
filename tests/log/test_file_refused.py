"""Files that are no log or were changed by other hands: refused, and left as they are."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from riskmodel.records.log.errors import RefusedError
from riskmodel.records.log.log import Log
from riskmodel.records.log.schema import VERSION
from tests.log.file_made import cut, letter
from tests.log.made import log_with, made_case


def _newer(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute(f"PRAGMA user_version = {VERSION + 1}")
    db.execute("CREATE TABLE later (a)")
    db.commit()
    db.close()


def _other_program(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("PRAGMA application_id = 1")
    db.close()


def _own_trigger(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("CREATE TRIGGER extra AFTER INSERT ON entries BEGIN SELECT 1; END")
    db.close()


def _page(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[4096:4196] = bytes(100)
    path.write_bytes(data)


def _rewritten(path: Path) -> None:
    """Somebody took the guards away, changed an entry and put them back."""
    db = sqlite3.connect(path)
    [text] = db.execute(
        "SELECT sql FROM sqlite_master WHERE name = 'entries_never_change'"
    ).fetchone()
    db.execute("DROP TRIGGER entries_never_change")
    db.execute("UPDATE entries SET author = 'Bob' WHERE seq = 7")
    db.execute(text)
    db.commit()
    db.close()


def _text(path: Path) -> None:
    path.write_text("reading,date\n" * 50)


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:50])


@pytest.mark.parametrize(
    ("spoil", "message"),
    [
        (_newer, f"a log of version {VERSION + 1}, written by a newer riskmodel; expected version"),
        (_other_program, "found a database of another program"),
        (_own_trigger, "found a log with tables that this tool did not make"),
        (cut, "found a damaged file"),
        (_page, "found a damaged file"),
        (letter, r"found a damaged file \(entry 22 does not agree with its seal\)"),
        (_rewritten, r"found a damaged file \(entry 7 does not agree with its seal\)"),
        (_text, "found no database"),
        (_empty, "found an empty file"),
        (_short, "found a damaged file"),
    ],
)
def test_what_is_no_log_is_refused_and_left_as_it_is(
    spoil: Callable[[Path], None], message: str, path: Path
) -> None:
    spoil(path)
    before = path.read_bytes()
    with pytest.raises(RefusedError, match=message):
        Log.open(path)
    assert path.read_bytes() == before
    assert [file.name for file in path.parent.iterdir()] == [path.name]


def test_a_folder_a_pipe_or_nothing_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for name, message in {
        ".": "a folder",
        "pipe": "a device or pipe",
        "none": "no such file",
    }.items():
        with pytest.raises(RefusedError, match=f"found {message}"):
            Log.open(tmp_path / name)
    assert not (tmp_path / "none").exists()


def test_every_single_changed_byte_of_the_entries_is_noticed(tmp_path: Path) -> None:
    """A log of some entries, one byte changed at a time, all over the file: either the log is
    refused, or it still says the very same."""
    log, _ = log_with(tmp_path, made_case())
    entries = log.history()
    log.close()
    data = log.path.read_bytes()
    spoilt = tmp_path / "spoilt.sqlite"
    refused = 0
    for place in range(0, len(data), 97):
        spoilt.write_bytes(data[:place] + bytes([data[place] ^ 0x15]) + data[place + 1 :])
        try:
            with Log.open(spoilt) as again:
                assert again.history() == entries
        except RefusedError:
            refused += 1
    assert refused > 5


# --- history is only added to ---------------------------------------------------------------


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET author = 'Bob'",
        "DELETE FROM entries",
        "DELETE FROM entries WHERE seq = (SELECT max(seq) FROM entries)",
        "REPLACE INTO entries SELECT * FROM entries WHERE seq = 1",
        "INSERT OR REPLACE INTO entries SELECT seq + 1000, uuid, recorded, author, kind, machine,"
        " payload, program, undoes, seal FROM entries WHERE seq = 1",
        "INSERT INTO entries SELECT seq + 1000, 'x', recorded, author, kind, machine, payload,"
        " program, undoes, seal FROM entries WHERE seq = 1",
        "INSERT INTO entries SELECT 0, 'x', recorded, author, kind, machine, payload, program,"
        " undoes, seal FROM entries WHERE seq = 1",
        "INSERT INTO entries SELECT NULL, 'x', recorded, author, kind, machine, payload, program,"
        " undoes, seal FROM entries WHERE seq = 1",
        "INSERT INTO entries SELECT max(seq) + 1, 'x', recorded, author, kind, machine, payload,"
        " program, max(seq) + 1, seal FROM entries",
    ],
)
def test_the_database_itself_forbids_to_change_history(statement: str, path: Path) -> None:
    db = sqlite3.connect(path)
    before = db.execute("SELECT * FROM entries").fetchall()
    with pytest.raises(sqlite3.IntegrityError, match="an entry of the log"):
        db.execute(statement)
    db.rollback()
    assert db.execute("SELECT * FROM entries").fetchall() == before
    db.close()
