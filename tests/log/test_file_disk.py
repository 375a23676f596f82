"""Faults of the disk: what cannot be written is told, and nothing is lost."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskmodel.records.log.entries import Entry
from riskmodel.records.log.errors import NotWrittenError
from riskmodel.records.log.log import Log
from tests.log.file_made import write


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
