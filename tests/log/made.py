"""Small invented cases and logs for the tests."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.log import Log

AUTHOR = "Ann"
DATA = Path(__file__).parents[2] / "data"
LEAD = {"symbol": "Pb", "typical": [0.2, 0.9], "from_part": True}
TRAITS = b"age,outcome,use\n90000,failed,town\n120000,running,mixed\n150000,removed_worn,town\n"


def raw_case(**sections: dict[str, Any]) -> dict[str, Any]:
    """The contents of a case of an invented car at 100,000 km, some sections changed."""
    raw: dict[str, dict[str, Any]] = {
        "machine": {
            "name": "Invented car",
            "unit": "km",
            "reading": 100_000,
            "date": "2026-01-10",
            "usage_per_year": 12_000,
            "invented": True,
        },
        "part": {"code": "EX-1", "lining": "lead-tin", "entered_at": 40_000},
        "life": {"b50_prior": [100_000, 400_000]},
        "oil": {"interval": 10_000, "next_change_in": 4_000, "element": [LEAD]},
        "cost": {"planned": [2000, 3000], "failure": [9000, 15_000]},
        "plan": {"keep_years": 4},
    }
    for name, changes in sections.items():
        raw.setdefault(name, {}).update(changes)
    return {"format": 1, **raw}


def made_case(records: bytes | None = None, **sections: dict[str, Any]) -> Case:
    raw = raw_case(**sections)
    files = {}
    if records is not None:
        raw["life"]["records"] = "records.csv"
        files["records.csv"] = records
    return case_from_files({"case.toml": tomli_w.dumps(raw).encode(), **files})


OPEN: list[Log] = []
"""Logs that a test left open, to be closed behind it."""


def new_log(folder: Path, name: str = "workshop.sqlite", **more: Any) -> Log:
    """A new log that doesn't wait for the disk: what a power cut leaves is not tested by these."""
    log = Log.create(folder / name, **more)
    log._db.execute("PRAGMA synchronous = OFF")
    OPEN.append(log)
    return log


def log_with(folder: Path, *cases: Case) -> tuple[Log, list[str]]:
    """A log with these machines, and their ids."""
    log = new_log(folder)
    return log, [import_case(log, case, author=AUTHOR).machine for case in cases]


def ticking(start: datetime = datetime(2026, 5, 1, 8, tzinfo=UTC)) -> Callable[[], datetime]:
    """A clock that goes on by a minute each time it is looked at."""
    now = [start]

    def clock() -> datetime:
        now[0] += timedelta(minutes=1)
        return now[0]

    return clock
