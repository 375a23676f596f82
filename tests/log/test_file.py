"""The one file: refused where it cannot be trusted, never written where that cannot last."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from riskmodel.records.files import read_case
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.entries import Entry, MeterReading
from riskmodel.records.log.errors import LogError, MovedError, NotWrittenError, RefusedError
from riskmodel.records.log.log import Log, restore
from riskmodel.records.log.rows import New
from riskmodel.records.log.schema import APPLICATION_ID, STEPS, VERSION, expected_tables, tables_of
from tests.log.made import AUTHOR, DATA, log_with, made_case, new_log, ticking

# Made by the first step of the schema alone, as the first version left its files; kept as it is.
KEPT = Path(__file__).parent / "kept" / "version-1.sqlite"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of one machine and fifty readings."""
    log, [car] = log_with(tmp_path_factory.mktemp("made"), made_case())
    readings = [MeterReading(100_000 + number, "2026-02-01") for number in range(50)]
    log.add_all([New(reading, car) for reading in readings], author=AUTHOR)
    log.close()
    return log.path


@pytest.fixture
def path(made: Path, tmp_path: Path) -> Path:
    """The same in a folder of its own."""
    folder = tmp_path / "here"
    folder.mkdir()
    return Path(shutil.copyfile(made, folder / made.name))


def write(log: Log, reading: float = 120_000) -> Entry:
    [car] = log.state().machines
    return log.add(MeterReading(reading, "2026-03-01"), machine=car, author=AUTHOR).entry


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


# --- files that are refused, and left as they are -------------------------------------------


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


def _cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def _page(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[4096:4196] = bytes(100)
    path.write_bytes(data)


def _letter(path: Path) -> None:
    """One letter of an entry's text: no broken page, but not what was written."""
    data = path.read_bytes()
    place = data.index(b'{"reading":100020.0')
    path.write_bytes(data[: place + 11] + b"9" + data[place + 12 :])


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
        (_cut, "found a damaged file"),
        (_page, "found a damaged file"),
        (_letter, r"found a damaged file \(entry 22 does not agree with its seal\)"),
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


# --- faults of the disk ---------------------------------------------------------------------


def test_a_full_disk_is_told_and_loses_nothing(path: Path) -> None:
    """The database's own limit on pages reports what a full disk does."""
    reported: list[Entry] = []

    def fill(log: Log) -> None:
        for _ in range(100):
            reported.append(write(log))

    with Log.open(path) as log:
        before = log.history()
        pages = log._db.execute("PRAGMA page_count").fetchone()[0]
        log._db.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(NotWrittenError, match=r"found a full disk; .*nothing was written"):
            fill(log)
        before = (*before, *reported)
        assert log.history() == before
        log._db.execute("PRAGMA max_page_count = 1000000")
        write(log)
        assert len(log.history()) == len(before) + 1
    with Log.open(path) as again:
        assert again.history()[:-1] == before


SMALL_DISK = """
import sys
from pathlib import Path
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.entries import MeterReading
from riskmodel.records.log.errors import NotWrittenError
from riskmodel.records.log.log import Log
from tests.log.made import made_case

folder = Path(sys.argv[1])
log = Log.create(folder / "log.sqlite")
car = import_case(log, made_case(), author="Ann").machine
written = 0
try:
    for number in range(5000):
        reading = MeterReading(100_000 + number, "2026-02-01", "a note " * 100)
        log.add(reading, machine=car, author="Ann")
        written += 1
except NotWrittenError as fault:
    assert "a full disk" in str(fault) or "a disk that reports" in str(fault), fault
else:
    raise SystemExit("the disk was never full")
assert written > 20
assert len(log.machine(car).readings) == written
log.close()
with Log.open(folder / "log.sqlite") as again:
    assert len(again.machine(car).readings) == written
print("written", written)
"""


def _mounts() -> bool:
    if shutil.which("unshare") is None:
        return False
    trial = ["unshare", "-rm", "mount", "-t", "tmpfs", "-o", "size=64k", "none", "/mnt"]
    return subprocess.run(trial, capture_output=True, check=False).returncode == 0


def _python(code: str, *arguments: object, before: list[str] | None = None) -> str:
    """Runs a program of ours; returns what it printed."""
    command = [*(before or []), sys.executable, "-c", code, *map(str, arguments)]
    result = subprocess.run(
        command, capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2]
    )
    assert result.returncode == 0, result.stderr
    return result.stdout


@pytest.mark.skipif(not _mounts(), reason="no file systems of one's own here")
def test_a_real_disk_that_is_full(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = 'mount -t tmpfs -o size=256k none "$0" && exec "$@"'
    out = _python(SMALL_DISK, disk, before=["unshare", "-rm", "sh", "-c", mount, str(disk)])
    assert out.startswith("written")


def test_a_file_that_may_not_grow(tmp_path: Path) -> None:
    """The system refuses to write beyond a limit: another kind of fault than a full disk."""
    limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (150_000, 150_000))\n"
    assert _python(limit + SMALL_DISK, tmp_path).startswith("written")


READ_ONLY = """
import os, sys
from pathlib import Path
from riskmodel.records.log.entries import MeterReading
from riskmodel.records.log.errors import NotWrittenError
from riskmodel.records.log.log import Log

path = Path(sys.argv[1])
if os.geteuid() == 0:
    os.setgid(65534)
    os.setuid(65534)  # whom the rights of files concern
with Log.open(path) as log:
    before = log.history()
    [car] = log.state().machines
    for attempt in range(2):
        try:
            log.add(MeterReading(120_000, "2026-03-01"), machine=car, author="Ann")
        except NotWrittenError as fault:
            assert "a file or folder that cannot be written to" in str(fault), fault
        else:
            raise SystemExit("it was written")
    assert log.history() == before
try:
    log = Log.create(path.with_name("new.sqlite"))
except NotWrittenError as fault:
    assert "permission denied" in str(fault), fault
else:
    raise SystemExit("it was made")
print("read", len(before))
"""


@pytest.fixture
def open_to_all() -> Iterator[Path]:
    """A folder that others may enter."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.parametrize(("folder", "file"), [(0o555, 0o666), (0o555, 0o444), (0o755, 0o444)])
def test_a_folder_or_file_that_is_read_only_can_still_be_read(
    folder: int, file: int, path: Path, open_to_all: Path
) -> None:
    copied = open_to_all / "log.sqlite"
    shutil.copyfile(path, copied)
    copied.chmod(file)
    if folder == 0o755 and os.geteuid() != 0:
        pytest.skip("one's own folder can be written to")
    open_to_all.chmod(folder)
    before = copied.read_bytes()
    assert _python(READ_ONLY, copied) == "read 51\n"
    assert copied.read_bytes() == before
    assert [entry.name for entry in open_to_all.iterdir()] == ["log.sqlite"]


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


# --- versions -------------------------------------------------------------------------------


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


# --- copies ---------------------------------------------------------------------------------


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
    _cut(path)
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
    _letter(target)
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


def test_the_examples_make_no_large_file(tmp_path: Path) -> None:
    log, _ = log_with(tmp_path, *(read_case(DATA / name) for name in ("road-car", "work-boat")))
    assert log.path.stat().st_size < 100_000
