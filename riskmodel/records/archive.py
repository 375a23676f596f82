"""A case as one zip file, for saving from the page and opening there again."""

from __future__ import annotations

import io
import stat
import struct
import zipfile
import zlib
from pathlib import PurePosixPath

from riskmodel.records.case import Case
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.files import case_from_files, case_to_files
from riskmodel.records.text import MAX_CASE_FILE, MAX_TABLE, megabytes, too_large

MAX_FILES = 50
MAX_UNPACKED = MAX_CASE_FILE + 2 * MAX_TABLE
_LEFT_BY_SYSTEMS = ("__MACOSX/", ".DS_Store", "Thumbs.db")
_FAULTS = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    IndexError,
    NotImplementedError,  # another kind of compression
    OSError,
    RuntimeError,
    ValueError,
)


def case_to_zip(case: Case) -> bytes:
    """The files of a case in one zip file; the same case gives the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(case_to_files(case).items()):
            entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3  # Unix, whatever system this runs on
            entry.external_attr = (stat.S_IFREG | 0o644) << 16
            archive.writestr(entry, data)
    return packed.getvalue()


def case_from_zip(data: bytes, name: str = "case.zip") -> Case:
    """The case in a zip file, its files at the top or all in one folder.

    Nothing is unpacked to disk. Raises InputError for a file that is no zip, is encrypted or
    broken, holds too much, too many files, the same name twice, a path that leads elsewhere or
    further folders; and with every problem of the case, as `read_case`.
    """
    if len(data) > MAX_UNPACKED:
        raise InputError([too_large(name, len(data), MAX_UNPACKED)])
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = [entry for entry in archive.infolist() if not _left_by_system(entry)]
            problems = _problems(entries, name)
            files = {} if problems else _unpacked(archive, entries, name)
    except InputError:
        raise
    except _FAULTS as fault:
        found = "no zip file" if not data.startswith(b"PK") else f"a broken zip file ({fault})"
        raise InputError([Problem(name, "", found, "a case saved as a zip file")]) from None
    if problems:
        raise InputError(problems)
    return case_from_files(files, name)


def _left_by_system(entry: zipfile.ZipInfo) -> bool:
    name = entry.filename
    return name.startswith(_LEFT_BY_SYSTEMS[0]) or name.endswith(_LEFT_BY_SYSTEMS[1:])


def _problems(entries: list[zipfile.ZipInfo], name: str) -> list[Problem]:
    problems = []

    def note(entry: zipfile.ZipInfo, found: str, expected: str) -> None:
        problems.append(Problem(name, entry.filename[:60], found, expected))

    files = [entry for entry in entries if not entry.is_dir()]
    if len(entries) > MAX_FILES:
        return [Problem(name, "", f"{len(entries)} entries", f"at most {MAX_FILES}")]
    total = sum(entry.file_size for entry in files)
    if total > MAX_UNPACKED:
        found = f"{megabytes(total)} once unpacked"
        return [Problem(name, "", found, f"at most {megabytes(MAX_UNPACKED)}")]
    seen: set[str] = set()
    tops = set()
    for entry in files:
        path = PurePosixPath(entry.filename)
        if entry.flag_bits & 1:
            note(entry, "an encrypted file", "a file without a password")
        if "\\" in entry.orig_filename or ":" in entry.filename or "\0" in entry.orig_filename:
            note(entry, "a path of another system", "a plain file name")
        elif path.is_absolute() or ".." in path.parts:
            note(entry, "a path that leads elsewhere", "a plain file name")
        elif len(path.parts) > 2:
            note(entry, "a folder in a folder", "files at the top or in one folder")
        if stat.S_ISLNK(entry.external_attr >> 16):
            note(entry, "a link to somewhere else", "the file itself")
        if path.name.lower() in seen:
            note(entry, "the same name once more", "each file once")
        seen.add(path.name.lower())
        tops.add(path.parts[0] if len(path.parts) > 1 else "")
    if len(tops) > 1 and not problems:
        found = f"files in {len(tops)} places"
        problems.append(Problem(name, "", found, "all files at the top or in one folder"))
    return problems


def _unpacked(
    archive: zipfile.ZipFile, entries: list[zipfile.ZipInfo], name: str
) -> dict[str, bytes]:
    """The files by plain name, none with more bytes than it declares (their sum was checked)."""
    files = {}
    for entry in entries:
        if entry.is_dir():
            continue
        with archive.open(entry) as file:
            data = file.read(entry.file_size + 1)
        if len(data) > entry.file_size:
            found = "more bytes than the zip file declares"
            raise InputError([Problem(name, entry.filename, found, "an unaltered zip file")])
        files[PurePosixPath(entry.filename).name] = data
    return files
