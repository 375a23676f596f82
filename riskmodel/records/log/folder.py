"""A whole log as a folder of plain text files, and back.

`entries.jsonl` holds every entry, undone ones too, one on each line: from it an equal log is
made again. `log.json` says how many there are and seals them. The CSV files beside them are for
reading on (a spreadsheet, another program) and are not read back; those named `life-records`
have no names in them.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from riskmodel.records.disk import read_file, write_file
from riskmodel.records.errors import InputError, Problem, shown
from riskmodel.records.log.copies import placed_new
from riskmodel.records.log.errors import RefusedError, one
from riskmodel.records.log.file import connect, transaction
from riskmodel.records.log.log import Log
from riskmodel.records.log.rows import entry_of
from riskmodel.records.log.schema import COLUMNS, STEPS, migrate, seal_of
from riskmodel.records.log.sheets import sheets

ENTRIES_FILE = "entries.jsonl"
ABOUT_FILE = "log.json"
FORMAT = 1
MAX_ENTRIES_FILE = 1_000_000_000


def export_log(log: Log, folder: Path) -> None:
    """Writes the log into a new or empty folder. Raises InputError."""
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        present = sorted(path.name for path in folder.iterdir())
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise InputError([Problem(str(folder), "", reason, "a folder to write into")]) from None
    if present:
        raise InputError([Problem(str(folder), "", f"a folder with {present[0]}", "an empty one")])
    state = log.state()
    rows = log.rows()[: state.last]  # of one moment, whoever writes meanwhile
    seal = rows[-1][-1] if rows else ""
    lines = [_line(row[:-1]) for row in rows]
    for name, data in sheets(state).items():
        write_file(folder / name, data)
    write_file(folder / ENTRIES_FILE, "".join(lines).encode("utf-8"))
    about = {"format": FORMAT, "entries": len(rows), "seal": seal}
    write_file(folder / ABOUT_FILE, (json.dumps(about, indent=1) + "\n").encode("ascii"))


def import_log(folder: Path, path: Path) -> None:
    """Makes a new log from an exported folder, with equal entries.

    Raises InputError where a file is missing, an entry was changed, or there is a file at
    `path`; no log is then made.
    """
    folder, path = Path(folder), Path(path)
    about = _about(folder)
    file = folder / ENTRIES_FILE
    text = read_file(file, ENTRIES_FILE, MAX_ENTRIES_FILE)
    rows = list(_rows(text))
    if len(rows) != about.get("entries"):
        found = f"{len(rows)} entries"
        raise _refused(ENTRIES_FILE, "", found, f"{shown(about.get('entries'))}, by {ABOUT_FILE}")
    seal, sealed = "", []
    for row in rows:
        seal = seal_of(seal, row)
        sealed.append((*row, seal))
    if seal != about.get("seal"):
        found = "entries that were changed since they were written"
        raise _refused(ENTRIES_FILE, "", found, f"those that {ABOUT_FILE} seals")
    with placed_new(path.resolve()) as temporary:
        db = connect(temporary)
        try:
            with transaction(db, path):
                migrate(db, STEPS)
                marks = ", ".join("?" * (len(COLUMNS) + 1))
                names = ", ".join((*COLUMNS, "seal"))
                db.executemany(f"INSERT INTO entries ({names}) VALUES ({marks})", sealed)
        finally:
            db.close()
        Log.open(temporary).close()  # reads every entry before it gets its name


def _line(row: tuple[object, ...]) -> str:
    held = dict(zip(COLUMNS, row, strict=True))
    held["payload"] = json.loads(str(held["payload"]))
    return json.dumps(held, ensure_ascii=False, separators=(",", ":")) + "\n"


def _about(folder: Path) -> dict[str, Any]:
    if not os.path.lexists(folder / ABOUT_FILE):
        found = f"no {ABOUT_FILE}"
        raise InputError([Problem(str(folder), "", found, "the folder of an exported log")])
    try:
        about = json.loads(read_file(folder / ABOUT_FILE, ABOUT_FILE))
    except ValueError as fault:
        if isinstance(fault, InputError):
            raise
        raise _refused(ABOUT_FILE, "", "no JSON", "what an exported log has there") from None
    if not isinstance(about, dict) or about.get("format") != FORMAT:
        found = shown(about.get("format")) if isinstance(about, dict) else "no table"
        raise _refused(ABOUT_FILE, "format", found, f"{FORMAT}, the format this version reads")
    return about


def _rows(data: bytes) -> Iterator[tuple[object, ...]]:
    """The entries of the file, each as its row in the database."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise _refused(ENTRIES_FILE, "", "bytes that are not UTF-8", "text in UTF-8") from None
    for number, line in enumerate(text.split("\n"), start=1):
        if not line:
            continue
        try:
            held = json.loads(line)
        except (ValueError, RecursionError):
            raise _refused(ENTRIES_FILE, f"line {number}", "no JSON", "one entry") from None
        if not isinstance(held, dict) or tuple(held) != COLUMNS:
            expected = f"one entry with {', '.join(COLUMNS)}"
            raise _refused(ENTRIES_FILE, f"line {number}", "something else", expected)
        held["payload"] = json.dumps(held["payload"], ensure_ascii=False, separators=(",", ":"))
        row = tuple(held.values())
        if not isinstance(held["seq"], int) or not isinstance(held["undoes"], int | None):
            raise _refused(ENTRIES_FILE, f"line {number}", "no number", "the number of an entry")
        entry_of(row, f"{ENTRIES_FILE}, line {number}")
        yield row


def _refused(file: str, where: str, found: str, expected: str) -> RefusedError:
    return RefusedError(one(file, where, found, expected))
