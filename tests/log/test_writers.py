"""Several writers at once, and one that is killed: nothing committed is lost, nothing half-read."""

from __future__ import annotations

import pickle
import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from riskmodel.records.errors import InputError
from riskmodel.records.log.entries import (
    Group,
    InputsChanged,
    MeterReading,
    RecordsSet,
    SampleTaken,
)
from riskmodel.records.log.errors import BusyError, ClashError
from riskmodel.records.log.log import Log
from riskmodel.records.log.rows import New, new_uuid
from tests.log.made import AUTHOR, log_with, made_case, new_log

ROOT = Path(__file__).parents[2]

WRITER = """
import sys
from pathlib import Path
from riskmodel.records.log.entries import MeterReading, OilChange
from riskmodel.records.log.log import Log
from riskmodel.records.log.rows import New

path, author, count, pairs = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), sys.argv[4] == "2"
with Log.open(path) as log:
    [car] = log.state().machines
    print("open", flush=True)
    for number in range(count):
        note = f"{author} {number}"
        new = [New(MeterReading(100_000, "2026-02-01", note), car)]
        if pairs:
            new.append(New(OilChange(100_000, "2026-02-01", note), car))
        written = log.add_all(new, author=author)
        print(note, flush=True)
"""


def start(path: Path, author: str, count: int, pairs: int = 1) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), author, str(count), str(pairs)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )


def notes(log: Log) -> list[str]:
    return [e.payload.note for e in log.history() if isinstance(e.payload, MeterReading)]


@pytest.mark.parametrize("seed", range(4))
def test_a_writer_killed_in_the_middle_of_a_thousand_writes(seed: int, tmp_path: Path) -> None:
    """Each write is two entries. What the writer reported as written is there; of what it was
    at when it was killed there are both entries or neither."""
    log, _ = log_with(tmp_path, made_case())
    log.close()
    writer = start(log.path, "W", 1000, pairs=2)
    assert writer.stdout is not None
    assert writer.stdout.readline() == "open\n"
    chance = random.Random(seed)
    for _ in range(chance.randrange(5, 60)):
        writer.stdout.readline()
    time.sleep(chance.uniform(0, 0.02))  # at any point of a write
    writer.send_signal(signal.SIGKILL)
    rest, _ = writer.communicate()
    assert writer.returncode == -signal.SIGKILL
    with Log.open(log.path) as again:
        found = notes(again)
        kinds = [entry.kind for entry in again.history()[1:]]
        assert kinds == ["reading", "oil_change"] * len(found)
        assert found == [f"W {number}" for number in range(len(found))]
        reported = rest.splitlines()
        if reported and reported[-1] not in found:  # half a line may be left in the pipe
            reported = reported[:-1]
        assert set(reported) <= set(found)
        assert len(found) < 1000
        again.add(MeterReading(101_000, "2026-03-01"), machine="invented-car", author=AUTHOR)


def test_two_programs_write_at_once(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    writers = [start(log.path, author, 60) for author in ("A", "B")]
    for number in range(20):  # and a third, here
        log.add(MeterReading(100_000, "2026-02-01", f"C {number}"), machine=car, author="C")
    for writer in writers:
        writer.communicate()
        assert writer.returncode == 0
    found = notes(log)
    assert len(found) == 140
    for author, count in (("A", 60), ("B", 60), ("C", 20)):
        own = [note for note in found if note.startswith(author)]
        assert own == [f"{author} {number}" for number in range(count)]
    assert [entry.seq for entry in log.history()] == list(range(1, 142))
    with Log.open(log.path) as again:
        assert again.history() == log.history()


def test_two_threads_share_one_open_log(tmp_path: Path) -> None:
    """As the sessions of a page do."""
    log, [car] = log_with(tmp_path, made_case())
    faults: list[BaseException] = []

    def work(author: str) -> None:
        try:
            for number in range(25):
                reading = MeterReading(100_000, "2026-02-01", f"{author} {number}")
                log.add(reading, machine=car, author=author)
                log.state()
        except BaseException as fault:  # noqa: BLE001 (told below)
            faults.append(fault)

    threads = [threading.Thread(target=work, args=(author,)) for author in "AB"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults
    assert sorted(notes(log)) == sorted(f"{a} {n}" for a in "AB" for n in range(25))


def test_the_second_of_two_who_saw_the_same_is_told(tmp_path: Path) -> None:
    log, [car, boat] = log_with(tmp_path, made_case(), made_case(machine={"name": "Other"}))
    other = Log.open(log.path)
    seen, seen_boat = log.machine(car).last, log.machine(boat).last
    assert other.machine(car).last == seen
    log.add(InputsChanged({"cost.planned": 2500}), machine=car, author="Ann", based_on=seen)
    change = InputsChanged({"cost.planned": 2800})
    with pytest.raises(ClashError) as clash:
        other.add(change, machine=car, author="Bob", based_on=seen)
    text = str(clash.value)
    assert "found entry 3 (changed inputs by Ann, " in text
    assert "UTC): cost.planned since; expected an entry based on these" in text
    assert "nothing was written. Look at them and enter it again" in text
    [entry] = clash.value.entries
    assert entry.payload == InputsChanged({"cost.planned": 2500})
    assert pickle.loads(pickle.dumps(clash.value)).entries == clash.value.entries
    assert len(other.history()) == 3

    # Having looked, or about another machine, or whatever was meanwhile: it is written.
    other.add(change, machine=car, author="Bob", based_on=clash.value.entries[-1].seq)
    other.add(change, machine=boat, author="Bob", based_on=seen_boat)
    other.add(change, machine=car, author="Bob")
    assert len(log.history()) == 6
    with pytest.raises(ClashError, match=r"entry 4 \(.* by Bob.*entry 6 \(.* by Bob"):
        log.undo(3, author="Ann", based_on=3)
    other.close()


def test_a_batch_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    good = New(MeterReading(101_000, "2026-02-01"), car)
    bad = New(MeterReading(90_000, "2026-03-01"), car)
    with pytest.raises(InputError, match="found 90000 on 2026-03-01; expected at least 101000"):
        log.add_all([good, bad], author=AUTHOR)
    assert len(log.history()) == 1
    assert log.machine(car).reading == 100_000
    log.add_all([good], author=AUTHOR)
    with Log.open(log.path) as again:
        assert again.history() == log.history()


def test_the_same_uuid_twice_is_written_once(tmp_path: Path) -> None:
    """A form that is sent twice, or a write whose answer was lost."""
    log, [car] = log_with(tmp_path, made_case())
    reading, uuid = MeterReading(101_000, "2026-02-01"), new_uuid()
    seen = log.machine(car).last
    first = log.add(reading, machine=car, author="Ann", uuid=uuid, based_on=seen)
    again = log.add(reading, machine=car, author="Ann", uuid=uuid, based_on=seen)
    assert again.entry == first.entry
    assert len(log.history()) == 2
    with pytest.raises(InputError, match=r"the uuid of entry 2 \(meter reading by Ann"):
        log.add(MeterReading(102_000, "2026-03-01"), machine=car, author="Ann", uuid=uuid)


def test_somebody_who_holds_the_log_is_waited_for(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    impatient = Log.open(log.path, wait=0.2)
    holder = sqlite3.connect(log.path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    reading = MeterReading(101_000, "2026-02-01")
    with pytest.raises(
        BusyError, match=r"somebody else is writing.*nothing was written. Try again"
    ):
        impatient.add(reading, machine=car, author=AUTHOR)
    assert len(impatient.history()) == 1  # reading goes on
    waiting = threading.Thread(target=lambda: log.add(reading, machine=car, author=AUTHOR))
    waiting.start()  # this one waits for ten seconds
    time.sleep(0.3)
    assert waiting.is_alive()
    holder.execute("ROLLBACK")
    holder.close()
    waiting.join()
    assert len(impatient.history()) == 2
    impatient.close()


def test_records_of_a_group_clash_too(tmp_path: Path) -> None:
    group = Group("EX-1", "lead-tin", "km", True)
    with new_log(tmp_path) as log:
        table = RecordsSet("age,outcome\n90000,failed\n", group)
        log.add(table, author="Ann", based_on=0)
        with pytest.raises(ClashError, match="life records by Ann"):
            log.add(table, author="Bob", based_on=0)


def test_what_others_wrote_is_seen_at_once(tmp_path: Path) -> None:
    log, [car] = log_with(tmp_path, made_case())
    with Log.open(log.path) as other:
        sample = SampleTaken(1_000, 101_000, date="2026-02-01")
        other.add(sample, machine=car, author="Bob")
        assert log.machine(car).samples[0].taken.what == sample
        assert log.state().last == 2


LOCKED = """
import sys
from pathlib import Path
from riskmodel.records.log.entries import MeterReading
from riskmodel.records.log.errors import BusyError
from riskmodel.records.log.log import Log, restore

path = Path(sys.argv[1])
try:
    if sys.argv[2] == "write":
        with Log.open(path, wait=0.2) as log:
            log.add(MeterReading(101_000, "2026-02-01"), machine="invented-car", author="B")
    else:
        restore(Path(sys.argv[2]), path, wait=0.2)
except BusyError:
    print("busy")
"""


def test_opening_a_log_does_not_drop_the_locks_of_another_session(tmp_path: Path) -> None:
    """A process that closes a file loses its locks on it, those of other threads too; so the
    file is opened by the database alone, which knows."""
    log, [car] = log_with(tmp_path, made_case())
    backup = log.backup(tmp_path / "backup.sqlite")
    log._db.execute("BEGIN IMMEDIATE")  # a session in the middle of a write
    Log.open(log.path).close()  # another one comes and goes
    for what in ("write", backup):
        out = subprocess.run(
            [sys.executable, "-c", LOCKED, log.path, what],
            capture_output=True, text=True, check=True, cwd=ROOT,
        )  # fmt: skip
        assert out.stdout == "busy\n"
    log._db.execute("ROLLBACK")
    log.add(MeterReading(101_000, "2026-02-01"), machine=car, author=AUTHOR)
    assert len(log.history()) == 2
