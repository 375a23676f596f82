"""What can stand in the way of reading or writing a log, in plain words.

Each is an `InputError`, so that whoever shows the faults of a case shows these too. None of
them leaves anything half-written.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from riskmodel.records.errors import InputError, Problem

if TYPE_CHECKING:
    from riskmodel.records.log.entries import Entry


class LogError(InputError):
    """Something about the log itself: its file, its disk, or who else writes in it."""


class RefusedError(LogError):
    """The file is no log, damaged, or from a newer version; it was left as it is."""


class NotWrittenError(LogError):
    """The entry could not be written: a full disk, a folder or file that is read-only."""


class MovedError(LogError):
    """The file is no longer where it was opened; nothing more is written into it."""


class BusyError(LogError):
    """Somebody else held the log for longer than one waits; nothing was written."""


class ClashError(LogError):
    """Somebody else has written about the same machine since; nothing was written.

    `entries` are those that the writer had not seen.
    """

    def __init__(self, problems: Iterable[Problem], entries: tuple[Entry, ...] = ()) -> None:
        super().__init__(problems)
        self.entries = entries
        self.args = (self.problems, entries)  # so that it survives pickling


def one(file: object, where: str, found: str, expected: str) -> list[Problem]:
    """The list of one problem, as errors take it."""
    return [Problem(str(file), where, found, expected)]
