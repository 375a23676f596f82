"""A file of an earlier version: brought up, and the old one kept."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest

from riskmodel.records.log.log import Log
from riskmodel.records.log.schema import APPLICATION_ID, STEPS, VERSION, expected_tables, tables_of
from tests.log.file_made import write

# Made by the first step of the schema alone, as the first version left its files; kept as it is.
KEPT = Path(__file__).parent / "kept" / "version-1.sqlite"


def test_a_kept_file_of_the_first_version_is_brought_up(tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite"
    shutil.copyfile(KEPT, path)
    with Log.open(path) as log:
        entries = log.history()
        assert len(entries) == 6
        assert log.machine("invented-car").reading == 103_000
        assert log.undone_by(3) == entries[4]
        write(log, 130_000)
        assert tables_of(log._db) == expected_tables(VERSION)
    kept = tmp_path / "old.sqlite.version-1"
    assert sorted(file.name for file in tmp_path.iterdir()) == [path.name, kept.name]
    old, first = sqlite3.connect(kept), sqlite3.connect(KEPT)
    assert list(old.iterdump()) == list(first.iterdump())
    old.close()
    first.close()
    with Log.open(path) as again:
        assert again.history()[:-1] == entries


def test_a_file_made_new_and_one_brought_up_are_the_same(tmp_path: Path) -> None:
    shutil.copyfile(KEPT, tmp_path / "old.sqlite")
    with Log.open(tmp_path / "old.sqlite") as old, Log.create(tmp_path / "new.sqlite") as new:
        assert tables_of(old._db) == tables_of(new._db) == expected_tables(VERSION)
        for log in (old, new):
            assert log._db.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
            assert log._db.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
            assert log._db.execute("PRAGMA synchronous").fetchone() == (3,)  # EXTRA
            assert log._db.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_a_step_that_fails_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "old.sqlite"
    shutil.copyfile(KEPT, path)

    def broken(db: sqlite3.Connection) -> None:
        STEPS[1](db)
        raise RuntimeError("a fault half-way")

    monkeypatch.setattr("riskmodel.records.log.file.STEPS", (STEPS[0], broken))
    with pytest.raises(RuntimeError, match="half-way"):
        Log.open(path)
    assert path.read_bytes() == KEPT.read_bytes()
    monkeypatch.undo()
    with Log.open(path) as log:
        assert len(log.history()) == 6
