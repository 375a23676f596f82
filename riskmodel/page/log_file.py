"""The one log that the page works on: where it lies, and opened once for all visitors.

A log is not opened anew at each run of the page: every opening reads and checks all its
entries. The file is made when something is first kept in it.
"""

from __future__ import annotations

import os
import threading
from pathlib import Path

from riskmodel.records.log.errors import LogError, MovedError
from riskmodel.records.log.log import Log
from riskmodel.records.log.place import FILE, VARIABLE, place, start_log

__all__ = ["FILE", "VARIABLE", "close", "made", "opened", "place"]

_OPEN: dict[Path, Log] = {}
_LOCK = threading.Lock()


def opened() -> Log | None:
    """The log; None where there is none yet. Raises LogError where the file is refused."""
    path = place()
    with _LOCK:
        log = _OPEN.get(path)
        if log is not None:
            try:
                log.last()
            except MovedError:  # another file was put in its place, or it was moved away
                _OPEN.pop(path).close()
            else:
                return log
        if not os.path.lexists(path):
            return None
        _OPEN[path] = Log.open(path)
        return _OPEN[path]


def made() -> Log:
    """The log, made where there is none yet. Raises LogError."""
    log = opened()
    if log is not None:
        return log
    path = place()
    try:
        start_log(path).close()
    except LogError:  # another visitor or program was first
        if not os.path.lexists(path):
            raise
    log = opened()
    assert log is not None
    return log


def close() -> None:
    """Closes whatever is open; the next visitor opens it anew."""
    with _LOCK:
        while _OPEN:
            _OPEN.popitem()[1].close()
