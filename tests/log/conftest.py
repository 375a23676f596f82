"""What every test of the log shares."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskmodel.records.log.entries import MeterReading
from riskmodel.records.log.rows import New
from tests.log.made import AUTHOR, OPEN, log_with, made_case


@pytest.fixture(autouse=True)
def _closed() -> Iterator[None]:
    yield
    while OPEN:
        OPEN.pop().close()


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
    """A log of one machine and fifty readings, in a folder of its own."""
    folder = tmp_path / "here"
    folder.mkdir()
    return Path(shutil.copyfile(made, folder / made.name))
