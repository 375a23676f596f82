"""The one file while it is open: everything is in it, and a move or a wrong clock is noticed."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from riskmodel.records.files import read_case
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.entries import MeterReading
from riskmodel.records.log.errors import LogError, MovedError, NotWrittenError
from riskmodel.records.log.log import Log
from tests.log.file_made import write
from tests.log.made import AUTHOR, DATA, log_with, made_case, new_log, ticking


def test_everything_stands_in_one_file(path: Path) -> None:
    with Log.open(path) as log:
        write(log)
        assert [file.name for file in path.parent.iterdir()] == [path.name]
        copied = path.with_name("copied.sqlite")
        shutil.copyfile(path, copied)  # as anybody copies a file, the log being open
        with Log.open(copied) as copy:
            assert copy.history() == log.history()


def test_an_existing_file_is_never_made_anew(path: Path, tmp_path: Path) -> None:
    before = path.read_bytes()
    with pytest.raises(LogError, match="found a file of this name"):
        Log.create(path)
    assert path.read_bytes() == before
    with pytest.raises(NotWrittenError, match="no such file or directory"):
        Log.create(tmp_path / "nowhere" / "log.sqlite")
    assert not (tmp_path / "nowhere").exists()


def test_the_examples_make_no_large_file(tmp_path: Path) -> None:
    log, _ = log_with(tmp_path, *(read_case(DATA / name) for name in ("road-car", "work-boat")))
    assert log.path.stat().st_size < 100_000


# --- a file that goes away under an open log ------------------------------------------------


def _moved(path: Path) -> None:
    path.rename(path.with_name("elsewhere.sqlite"))


def _deleted(path: Path) -> None:
    path.unlink()


def _swapped(path: Path) -> None:
    other = path.with_name("other.sqlite")
    shutil.copyfile(path, other)
    other.replace(path)


def _folder_moved(path: Path) -> None:
    path.parent.rename(path.parent.with_name(path.parent.name + "-moved"))


@pytest.mark.parametrize(
    ("move", "message"),
    [
        (_moved, "no file any more"),
        (_deleted, "no file any more"),
        (_swapped, "another file than the one that was opened"),
        (_folder_moved, "no file any more"),
    ],
)
def test_a_file_moved_away_is_noticed_before_anything_is_written(
    move: Callable[[Path], None], message: str, path: Path
) -> None:
    with Log.open(path) as log:
        before = log.history()
        move(path)
        with pytest.raises(MovedError, match=f"found {message}.*nothing was written"):
            log.add(MeterReading(120_000, "2026-03-01"), machine="invented-car", author=AUTHOR)
        with pytest.raises(MovedError):
            log.state()
        with pytest.raises(MovedError):
            log.backup(path.with_name("backup.sqlite"))
    for found in path.parent.parent.rglob("*.sqlite"):
        with Log.open(found) as again:
            assert again.history() == before


def test_a_file_put_back_goes_on(path: Path) -> None:
    away = path.with_name("away.sqlite")
    with Log.open(path) as log:
        path.rename(away)
        with pytest.raises(MovedError):
            write(log)
        away.rename(path)
        write(log)
        assert log.history()[-1].payload == MeterReading(120_000, "2026-03-01")


def test_a_link_leads_to_the_file_itself(path: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.sqlite"
    link.symlink_to(path)
    with Log.open(link) as log:
        assert log.path == path.resolve()
        write(log)


# --- the clock ------------------------------------------------------------------------------


def test_a_clock_set_back_is_told_and_the_order_kept(tmp_path: Path) -> None:
    with new_log(tmp_path, clock=ticking(datetime(2026, 5, 1, 8, tzinfo=UTC))) as log:
        car = import_case(log, made_case(), author=AUTHOR).machine
        assert (
            log.add(MeterReading(101_000, "2026-02-01"), machine=car, author=AUTHOR).warnings == ()
        )
    with Log.open(log.path, clock=ticking(datetime(2020, 1, 1, tzinfo=UTC))) as log:
        written = log.add(MeterReading(102_000, "2026-03-01"), machine=car, author=AUTHOR)
        [warning] = written.warnings
        assert "The clock of this computer says 2020-01-01 00:0" in warning
        assert "before entry 2 (meter reading by Ann, 2026-05-01 08:0" in warning
        log.add(MeterReading(103_000, "2026-04-01"), machine=car, author=AUTHOR)
        history = log.history()
        assert [entry.seq for entry in history] == [1, 2, 3, 4]
        assert [entry.recorded[:4] for entry in history] == ["2026", "2026", "2020", "2020"]
        assert log.machine(car).reading == 103_000
    with Log.open(log.path) as again:
        assert again.history() == history
