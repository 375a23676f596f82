"""Where a person's log lies where nothing else was said."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from riskmodel.records.log.errors import NotWrittenError, RefusedError, one
from riskmodel.records.log.log import Log

VARIABLE = "RISKMODEL_LOG"
"""The variable of the environment that names another file."""
FILE = "log.sqlite"


def place(named: Path | None = None) -> Path:
    """The file of the log: the one named, else as the environment names it, else in the user's own
    data folder."""
    if named is not None:
        return Path(named).expanduser()
    told = os.environ.get(VARIABLE, "").strip()
    return Path(told).expanduser() if told else data_folder() / "riskmodel" / FILE


def data_folder() -> Path:
    """Where programs keep what a user entered, by the custom of each system."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")


def open_log(path: Path) -> Log:
    """The log in a file. Raises RefusedError, saying how to start one, where there is none."""
    if not os.path.lexists(path):
        expected = f"the file of a log; start one with: riskmodel log start --log {path}"
        raise RefusedError(one(path, "", "no such file", expected))
    return Log.open(path)


def start_log(path: Path) -> Log:
    """A new, empty log, its folder made where needed. Never touches a file that is there."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise NotWrittenError(one(path.parent, "", reason, "a folder that can be made")) from None
    return Log.create(path)
