"""The cases that come with the program."""

from __future__ import annotations

from pathlib import Path

from riskmodel.records.case import Case
from riskmodel.records.files import read_case
from riskmodel.words import screen

EXAMPLES = {"road-car": screen.ROAD_CAR, "work-boat": screen.WORK_BOAT}
"""Folder of each example, and what the page calls it; the first is opened at the start."""

_PACKAGE = Path(__file__).resolve().parent.parent
_HOMES = (_PACKAGE / "examples", _PACKAGE.parent / "data")  # installed, or in the source tree


def example(folder: str) -> Case:
    """One of `EXAMPLES`. Raises InputError where its files are not there or not right."""
    home = next((home for home in _HOMES if (home / folder).is_dir()), _HOMES[-1])
    return read_case(home / folder)
