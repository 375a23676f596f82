"""Every reader as a function of bytes, for the fuzzer: it gives a value or raises InputError."""

from __future__ import annotations

import contextlib
import datetime
import io
import itertools
import json
import random
import shutil
import stat
import tempfile
import warnings
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from riskmodel.cli import main
from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.files import case_from_files, case_to_files
from riskmodel.records.fleet_table import read_fleet, write_fleet
from riskmodel.records.life_table import read_records, write_records
from riskmodel.records.log.assemble import assembled
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.entries import KINDS
from riskmodel.records.log.folder import import_log
from riskmodel.records.log.json_text import from_json, to_json
from riskmodel.records.log.laboratory import read_laboratory
from riskmodel.records.log.log import Log
from riskmodel.records.log.schema import COLUMNS, seal_of
from riskmodel.records.log.state import LogState
from riskmodel.records.loose_cells import guessed_decimal
from riskmodel.records.loose_guess import distinct, guessed_columns, guessed_unit, guessed_word
from riskmodel.records.loose_table import OF_USAGE, OF_WORDS, Choices, imported
from riskmodel.records.loose_text import read_loose
from riskmodel.records.oil_table import read_samples, write_samples

DATA = Path(__file__).parents[2] / "data"
DAY = datetime.date(2026, 11, 27)
MEMORY = Path("/dev/shm") if Path("/dev/shm").is_dir() else None
EXAMPLE = {
    path.name: path.read_bytes() for path in sorted((DATA / "road-car").iterdir()) if path.is_file()
}
PLACE = Path(tempfile.mkdtemp(prefix="fuzz-", dir=MEMORY))


@dataclass(frozen=True)
class Reader:
    """`read` takes bytes; `seeds` are good ones to begin from, `words` worth putting in."""

    read: Callable[[bytes], object]
    seeds: tuple[bytes, ...]
    words: tuple[bytes, ...] = ()


class WrongError(AssertionError):
    """What was read is not read back the same, or a command ended as it must not."""


def _same(one: object, other: object) -> None:
    if one != other:
        raise WrongError(f"{one!r:.500} is read back as {other!r:.500}")


def case(data: bytes) -> object:
    found = case_from_files({**EXAMPLE, **_shorter(), "case.toml": data})
    _same(case_from_files(case_to_files(found)), found)
    return found


def life(data: bytes) -> object:
    found = read_records(data)
    _same(read_records(write_records(found)), found)
    return found


def oil(data: bytes) -> object:
    found = read_samples(data)
    _same(read_samples(write_samples(found)), found)
    return found


def fleet(data: bytes) -> object:
    found = read_fleet(data)
    _same(read_fleet(write_fleet(found)), found)
    return found


def loose(data: bytes) -> object:
    """A table with any headings, taken as the page first guesses it."""
    table = read_loose(data, "table.csv")
    columns = guessed_columns(table.headings)
    used = [table.column(h) for field, h in columns.items() if field in OF_USAGE]
    words = {
        name: {
            word: guessed_word(name, word, columns[name]) or "failed"
            for word in itertools.islice(distinct(table.column(columns[name])), 30)
        }
        for name in OF_WORDS
        if name in columns
    }
    traits = tuple(h for h in table.headings if h not in columns.values())[:3]
    unit = guessed_unit(columns.get("age", "")) or "km"
    decimal = guessed_decimal(cell for column in used for cell in column)
    choices = Choices(columns, unit, decimal, {}, words, traits)
    return imported(table, choices, "h" if unit == "h" else "km")


def packed(data: bytes) -> object:
    """A zip file: as it is, or made of the bytes so that its contents are reached."""
    if data[:1] != b"B":
        return case_from_zip(data[1:])
    odd = random.Random(data[:9])
    parts = data[9:].split(b"\xfe\xfe")
    names = [
        *EXAMPLE,
        "a/case.toml",
        "../case.toml",
        "/case.toml",
        "C:\\case.toml",
        "CON",
        "case.toml",
    ]
    held = io.BytesIO()
    with (
        warnings.catch_warnings(action="ignore"),  # the same name twice
        zipfile.ZipFile(held, "w") as archive,
        contextlib.suppress(ValueError),
    ):
        for part in parts:
            name = odd.choice(names) if odd.random() < 0.8 else part[:20].decode("latin-1")
            entry = zipfile.ZipInfo(name or "x")
            kind = odd.choice((stat.S_IFREG, stat.S_IFREG, stat.S_IFLNK, stat.S_IFDIR))
            entry.external_attr = (kind | 0o644) << 16
            entry.compress_type = odd.choice((zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED))
            archive.writestr(entry, part)
    made = bytearray(held.getvalue())
    for _ in range(odd.choice((0, 0, 1, 3))):
        made[odd.randrange(len(made))] = odd.randrange(256)
    return case_from_zip(bytes(made))


def payload(data: bytes) -> object:
    """An entry of the log as JSON; the first byte chooses its kind."""
    kinds = sorted(KINDS)
    kind = kinds[data[0] % len(kinds)] if data else ""
    found = from_json(kind, data[1:].decode("utf-8", "replace"))
    _same(from_json(kind, to_json(found)), found)
    return found


def laboratory(data: bytes) -> object:
    return read_laboratory(data, "laboratory.csv", _state(), "a laboratory", DAY)


def log(data: bytes) -> object:
    """The file of a log, opened as the page opens it."""
    path = PLACE / "log.sqlite"
    path.write_bytes(data)
    try:
        with Log.open(path) as opened:
            return _cases(opened.state())
    finally:
        for left in PLACE.glob("log.sqlite*"):
            left.unlink()


def _cases(state: LogState) -> LogState:
    """Every machine of a log as a case, or in words why not."""
    for name in state.machines:
        with contextlib.suppress(InputError, CannotAnswer):
            assembled(state, name).case()
    return state


def folder(data: bytes) -> object:
    """An exported log; entries that are in order are sealed anew, so that they are read."""
    place = PLACE / "folder"
    place.mkdir(exist_ok=True)
    seal, count = "", 0
    for line in data.decode("utf-8", "replace").split("\n"):
        with contextlib.suppress(ValueError, RecursionError, AttributeError):
            held = json.loads(line)
            if tuple(held) == COLUMNS:
                text = json.dumps(held["payload"], ensure_ascii=False, separators=(",", ":"))
                held["payload"] = text
                seal = seal_of(seal, held.values())
        count += bool(line)
    (place / "entries.jsonl").write_bytes(data)
    (place / "log.json").write_text(json.dumps({"format": 1, "entries": count, "seal": seal}))
    made = PLACE / "made.sqlite"
    try:
        import_log(place, made)
        with Log.open(made) as opened:
            return _cases(opened.state())
    finally:
        made.unlink(missing_ok=True)


def arguments(data: bytes) -> object:
    """What may be typed behind `riskmodel life` and `riskmodel check`."""
    typed = [part for part in data.decode("utf-8", "replace").split("\n") if "\x00" not in part][
        :12
    ]
    verb = ["life", str(PLACE / "few.csv")] if data[:1] != b"c" else ["check"]
    silent = io.StringIO()
    with contextlib.redirect_stdout(silent), contextlib.redirect_stderr(silent):
        try:
            status = main([*verb, *typed])
        except SystemExit as ended:
            status = int(ended.code or 0)
    if status not in (0, 2):
        raise WrongError(f"ended with {status}")
    return status


def _state(held: list[object] = []):  # type: ignore[no-untyped-def]  # noqa: B006
    if not held:
        with Log.create(PLACE / "state.sqlite") as made:
            import_case(made, case_from_files(EXAMPLE), author="Ann", machine="car")
            import_case(made, case_from_files(EXAMPLE), author="Ann", machine="van")
            held.append(made.state())
    return held[0]


def _a_log() -> tuple[bytes, bytes, tuple[bytes, ...]]:
    """A log's file, the same as lines of text, and its payloads with their kinds' bytes."""
    path = PLACE / "seed.sqlite"
    with Log.create(path) as made:
        import_case(made, case_from_files({**EXAMPLE, **_shorter()}), author="Ann", machine="car")
        lines, payloads = [], []
        for row in made.rows():
            row = row[:-1]
            held = dict(zip(COLUMNS, row, strict=True))
            kind = sorted(KINDS).index(str(held["kind"]))
            payloads.append(bytes([kind]) + str(held["payload"]).encode())
            held["payload"] = json.loads(str(held["payload"]))
            lines.append(json.dumps(held, ensure_ascii=False, separators=(",", ":")))
    data = path.read_bytes()
    path.unlink()
    return data, "\n".join(lines).encode() + b"\n", tuple(payloads)


def _shorter() -> dict[str, bytes]:
    """The example with few rows: a small file is changed to more effect."""
    return {
        name: b"\n".join(EXAMPLE[name].split(b"\n")[:rows]) + b"\n"
        for name, rows in (("oil.csv", 3), ("records.csv", 12))
    }


def clean() -> None:
    shutil.rmtree(PLACE, ignore_errors=True)


def _words(text: str, *more: bytes) -> tuple[bytes, ...]:
    return (*text.encode().split(), *more)


TOML = _words(
    """[machine] [[oil.element]] [[cost.while_open]] unit reading [1,2] nan inf 1e400 true "km"
    {a=1} 2026-02-29 07:32:00Z 0x1F a.b.c.d.e""",
    b'"""',
)
CELLS = _words(
    """age outcome failed running removed_worn age_from entered_at count cause why reading oil_age
    top_up lab date engine ; " <1 nan 1e400 1,5 1.234 =1+1 2026-02-29""",
    b"\xef\xbb\xbf", b"\xff\xfe", b"\t", b"\r", "\u2028".encode(),
)  # fmt: skip
LOOSE = _words(
    """Mileage Fate Status seized 1.234,5 1'234 Notes Hours n/a yes no censored 1/2 %""",
    b"still running", b"12 000 km", b"Mileage (km)", "\u00a0".encode(), "\u0660".encode(),
)  # fmt: skip
LAB = _words("Machine car van Meter Pb Sampled 01.02.2026 <1 Bottle", b"Oil hours", b"Fe ppm")
SQLITE = _words("ATTACH entries machine null 0", b"CREATE TRIGGER", b"CREATE VIEW")
ARGUMENTS = _words(
    """--at --ahead --shape --visible-lead --finding-error --reporting-ratio --json --unit
    --unknown-cause km nan inf -1 1e400 [1,2] 1,2 1e9 0 --help"""
)
ANY_TABLE = b"Mileage (km);Fate\n120.000;seized\n1,5;still running\n"
A_REPORT = b"""Machine,Meter,Oil hours,Sampled,Fe ppm,Pb
car,150000,8000,01.02.2026,12,<1
van,1,2,,3,4
"""


def readers() -> Iterator[tuple[str, Reader]]:
    table = EXAMPLE["records.csv"].split(b"\n")
    few = b"\n".join(table[:6]) + b"\n"
    (PLACE / "few.csv").write_bytes(b"age,outcome\n90000,failed\n110000,failed\n120000,running\n")
    samples = EXAMPLE["oil.csv"].split(b"\n")
    two = b"\n".join(samples[:4]) + b"\n"
    engines = b"\n".join(
        (b"engine," + row if i == 0 else b"one," + row) for i, row in enumerate(samples[:4])
    )
    whole, lines, payloads = _a_log()
    yield "case", Reader(case, (EXAMPLE["case.toml"],), TOML)
    yield "life", Reader(life, (few, b"age;outcome\n5;failed\n"), CELLS)
    yield "oil", Reader(oil, (two,), CELLS)
    yield "fleet", Reader(fleet, (engines + b"\n",), CELLS)
    rough = (few, ANY_TABLE, b"Hours,Status\n12,yes\n")
    yield "loose", Reader(loose, rough, CELLS + LOOSE)
    yield "laboratory", Reader(laboratory, (A_REPORT,), CELLS + LAB)
    built = b"B" + bytes(8) + b"\xfe\xfe".join({**EXAMPLE, **_shorter()}.values())
    yield "zip", Reader(packed, (b"R" + case_to_zip(case_from_files(EXAMPLE)), built), TOML)
    yield "payload", Reader(payload, payloads, TOML)
    yield "log", Reader(log, (whole,), SQLITE)
    yield "folder", Reader(folder, (lines,), TOML)
    yield "arguments", Reader(arguments, (b"--at\n90000\n--ahead\n5000", b"c/nowhere"), ARGUMENTS)
