"""The file of a log written to by a test, or spoilt by one."""

from __future__ import annotations

from pathlib import Path

from riskmodel.records.log.entries import Entry, MeterReading
from riskmodel.records.log.log import Log
from tests.log.made import AUTHOR


def write(log: Log, reading: float = 120_000) -> Entry:
    [car] = log.state().machines
    return log.add(MeterReading(reading, "2026-03-01"), machine=car, author=AUTHOR).entry


def cut(path: Path) -> None:
    """Half of the file is lost."""
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def letter(path: Path) -> None:
    """One letter of an entry's text: no broken page, but not what was written."""
    data = path.read_bytes()
    place = data.index(b'{"reading":100020.0')
    path.write_bytes(data[: place + 11] + b"9" + data[place + 12 :])
