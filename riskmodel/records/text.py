"""From the bytes of a file to text, or to the problem that stands in the way."""

from __future__ import annotations

from riskmodel.records.errors import InputError, Problem

MAX_TABLE = 20_000_000
MAX_CASE_FILE = 1_000_000


def megabytes(size: int) -> str:
    """A size in MB as a message gives it."""
    return f"{size / 1e6:.8g} MB" if size >= 10_000 else f"{size} bytes"


def too_large(file: str, size: int, limit: int) -> Problem:
    return Problem(file, "", f"a file of {megabytes(size)}", f"at most {megabytes(limit)}")


def decoded(data: bytes, file: str, limit: int) -> str:
    """The text of a file in UTF-8, a byte order mark taken off.

    Raises InputError for more than `limit` bytes, an empty file, another encoding, NUL bytes.
    """
    if len(data) > limit:
        raise InputError([too_large(file, len(data), limit)])
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Problem(file, "", "text in UTF-16", "text in UTF-8")])
    if 0 in data:
        line = data.count(b"\n", 0, data.index(0)) + 1
        raise InputError([Problem(file, f"line {line}", "a NUL byte", "text in UTF-8")])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # The offset counts from after the byte order mark, where there is one.
        offset = error.start + (3 if data.startswith(b"\xef\xbb\xbf") else 0)
        line = data.count(b"\n", 0, offset) + 1
        found = f"the byte 0x{data[offset]:02x}, which is not UTF-8"
        raise InputError([Problem(file, f"line {line}", found, "text in UTF-8")]) from None
    if not text.strip():
        raise InputError([Problem(file, "", "an empty file", "a file with contents")])
    return text
