"""Backups of the one file, and what is put back from them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from riskmodel.records.log.errors import LogError, MovedError, RefusedError
from riskmodel.records.log.log import Log, restore
from tests.log.file_made import cut, letter, write


def test_backup_and_restore(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "backup.sqlite"
    with Log.open(path) as log:
        assert log.backup(target) == target
        entries = log.history()
        with pytest.raises(LogError, match="found a file of this name"):
            log.backup(target)
        write(log)
        later = log.history()
        kept = restore(target, path)
        assert kept == path.with_name(f"{path.name}.before-restore")
        with pytest.raises(MovedError, match="another file"):
            write(log)
    with Log.open(path) as restored:
        assert restored.history() == entries
        write(restored)
    with Log.open(kept) as before:
        assert before.history() == later
    assert restore(target, path) == path.with_name(f"{path.name}.before-restore-2")
    assert restore(target, tmp_path / "fresh.sqlite") is None
    with Log.open(tmp_path / "fresh.sqlite") as fresh:
        assert fresh.history() == entries


def test_a_damaged_file_is_replaced_by_its_backup_and_kept(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "backup.sqlite"
    with Log.open(path) as log:
        log.backup(target)
        entries = log.history()
    cut(path)
    damaged = path.read_bytes()
    kept = restore(target, path)
    assert kept is not None
    assert kept.read_bytes() == damaged
    with Log.open(path) as log:
        assert log.history() == entries


def test_a_damaged_backup_is_not_restored(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "backup.sqlite"
    with Log.open(path) as log:
        log.backup(target)
    letter(target)
    before = path.read_bytes()
    with pytest.raises(RefusedError, match="does not agree with its seal"):
        restore(target, path)
    with pytest.raises(LogError, match="no such file"):
        restore(tmp_path / "none.sqlite", path)
    assert path.read_bytes() == before
    assert [file.name for file in path.parent.iterdir()] == [path.name]


def test_an_unfinished_journal_does_not_spoil_what_is_restored(path: Path, tmp_path: Path) -> None:
    """A writer was killed half-way: its journal belongs to the file it was writing."""
    target = tmp_path / "backup.sqlite"
    with Log.open(path) as log:
        log.backup(target)
        write(log)
    before = path.read_bytes()
    killed = (
        "import os, sqlite3, sys\n"
        "db = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "db.execute('PRAGMA cache_size = 1')\n"
        "db.execute('BEGIN IMMEDIATE')\n"
        "db.execute('DROP TRIGGER entries_never_change')\n"
        "db.execute('UPDATE entries SET author = author || hex(randomblob(3000))')\n"
        "os.kill(os.getpid(), 9)\n"
    )
    subprocess.run([sys.executable, "-c", killed, path], check=False)
    assert path.with_name(f"{path.name}-journal").stat().st_size > 0
    assert path.read_bytes() != before
    kept = restore(target, path)
    assert kept is not None
    with Log.open(target) as good, Log.open(path) as restored, Log.open(kept) as old:
        assert restored.history() == good.history()
        assert len(old.history()) == len(good.history()) + 1  # rolled back by its own journal
