"""Single files on disk: read with care, written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from pathlib import Path

from riskmodel.records.errors import InputError, Problem
from riskmodel.records.text import MAX_TABLE, too_large


def read_file(path: Path, name: str | None = None, limit: int = MAX_TABLE) -> bytes:
    """The bytes of a regular file of at most `limit` bytes.

    `name` is what messages call it (default: its path). Raises InputError for a file that is
    missing, too large (before it is read), a folder, a link, a device, or not to be opened.
    """
    name = str(path) if name is None else name
    try:
        state = os.lstat(path)
        if stat.S_ISLNK(state.st_mode):
            raise _refused(name, "a link to somewhere else", "the file itself")
        if stat.S_ISDIR(state.st_mode):
            raise _refused(name, "a folder", "a file")
        if not stat.S_ISREG(state.st_mode):
            raise _refused(name, "a device or pipe", "a file")
        if state.st_size > limit:
            raise InputError([too_large(name, state.st_size, limit)])
        with path.open("rb") as file:
            return file.read(limit + 1)  # one more, should it grow meanwhile
    except FileNotFoundError:
        raise _refused(name, "no such file", "the file") from None
    except (OSError, ValueError) as fault:  # ValueError: a name that no file can have
        reason = getattr(fault, "strerror", None) or str(fault)
        if isinstance(fault, InputError):
            raise
        raise _refused(
            name, f"a file that cannot be read ({reason.lower()})", "its contents"
        ) from None


def write_file(path: Path, data: bytes) -> None:
    """Replaces the file by `data` in one step: a reader sees the old or the new, never half.

    Raises InputError where it cannot be written.
    """
    temporary = path.with_name(f".{path.name}.{secrets.token_hex(8)}.new")
    try:
        with temporary.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as fault:
        with contextlib.suppress(OSError):
            temporary.unlink()
        reason = (fault.strerror or str(fault)).lower()
        raise _refused(str(path), reason, "a place that can be written to") from None


def _refused(name: str, found: str, expected: str) -> InputError:
    return InputError([Problem(name, "", found, expected)])
