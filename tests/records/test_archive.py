"""A case as one zip file: what is refused, and that it is always the same."""

from __future__ import annotations

import io
import stat
import zipfile

import pytest

from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files
from riskmodel.records.template import template

Files = list[tuple[str | zipfile.ZipInfo, bytes]]
FILES = template("km")
CASE = case_from_files(FILES)


def packed(files: Files) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files:
            archive.writestr(name, content)
    return data.getvalue()


def below(folder: str) -> Files:
    return [(folder + name, content) for name, content in FILES.items()]


def link(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    return entry


def test_same_case_same_bytes() -> None:
    assert case_to_zip(CASE) == case_to_zip(case_from_files(FILES))
    with zipfile.ZipFile(io.BytesIO(case_to_zip(CASE))) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["case.toml", "records.csv"]
        assert {entry.date_time[0] for entry in archive.infolist()} == {1980}


@pytest.mark.parametrize(
    "files",
    [
        below(""),
        below("my boat/"),
        [("my boat/", b""), *below("my boat/")],
        [*below("my boat/"), ("__MACOSX/my boat/._case.toml", b"x"), ("my boat/.DS_Store", b"x")],
        [*below(""), ("photo of the shell.jpg", b"\xff\xd8")],
    ],
    ids=["top", "one folder", "folder entry", "left by a system", "other files"],
)
def test_reads(files: Files) -> None:
    assert case_from_zip(packed(files)) == CASE


REFUSED: dict[str, tuple[Files, str]] = {
    "climbs out": (
        [*below(""), ("../case.toml", b"")],
        "case.zip, ../case.toml: found a path that leads elsewhere; expected a plain file name",
    ),
    "absolute": (
        [*below(""), ("/etc/records.csv", b"")],
        "case.zip, /etc/records.csv: found a path that leads elsewhere",
    ),
    "climbs within": (
        [("a/../case.toml", b"")],
        "case.zip, a/../case.toml: found a path that leads elsewhere",
    ),
    "backslash": (
        [*below(""), ("..\\case.csv", b"")],
        "found a path of another system; expected a plain file name",
    ),
    "drive": ([*below(""), ("C:case.csv", b"")], "found a path of another system"),
    "deep": (
        below("a/b/"),
        "case.zip, a/b/case.toml: found a folder in a folder; expected files at the top",
    ),
    "two folders": (
        [*below("a/"), ("b/notes.txt", b"")],
        "case.zip: found files in 2 places; expected all files at the top or in one folder",
    ),
    "same name in other case": (
        [*below(""), ("Case.TOML", b"")],
        "case.zip, Case.TOML: found the same name once more; expected each file once",
    ),
    "link": (
        [*below(""), (link("oil.csv"), b"/etc/hostname")],
        "case.zip, oil.csv: found a link to somewhere else; expected the file itself",
    ),
    "many files": (
        [*below(""), *((f"{n}.txt", b"") for n in range(60))],
        "case.zip: found 62 entries; expected at most 50",
    ),
    "bomb in one file": (
        [*below(""), ("oil.csv", bytes(42_000_000))],
        r"case.zip: found 42\.\d+ MB once unpacked; expected at most 41 MB",
    ),
    "bomb in many files": (
        [*below(""), *((f"{n}.csv", bytes(5_000_000)) for n in range(9))],
        r"case.zip: found 45\.\d+ MB once unpacked; expected at most 41 MB",
    ),
    "no case": ([("notes.txt", b"")], "case.zip: found no case.toml"),
    "broken case": ([("case.toml", b"a = 1")], "case.toml, line 1, a: found an unknown section"),
}


@pytest.mark.parametrize("title", REFUSED)
def test_refuses(title: str) -> None:
    files, message = REFUSED[title]
    with pytest.raises(InputError, match=message):
        case_from_zip(packed(files))


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_refuses_the_same_name_twice() -> None:
    with pytest.raises(InputError, match=r"case\.toml: found the same name once more"):
        case_from_zip(packed([*below(""), ("case.toml", b"")]))


def test_refuses_encrypted_files() -> None:
    data = bytearray(case_to_zip(CASE))
    directory = data.index(b"PK\x01\x02")
    data[directory + 8] |= 1  # the flag of encryption, in the directory
    with pytest.raises(InputError, match="found an encrypted file; expected a file without a"):
        case_from_zip(bytes(data))


def test_a_file_that_lies_about_its_size_is_not_unpacked() -> None:
    """The directory declares 5 bytes, the data hold a bomb: at most what is declared is read."""
    data = bytearray(packed([*below(""), ("oil.csv", bytes(60_000_000))]))
    entry = data.rindex(b"PK\x01\x02")
    data[entry + 24 : entry + 28] = (5).to_bytes(4, "little")
    with pytest.raises(InputError, match="found a broken zip file"):
        case_from_zip(bytes(data))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "case.zip: found no zip file; expected a case saved as a zip file"),
        (b"hello", "case.zip: found no zip file"),
        (case_to_zip(CASE)[:300], "case.zip: found a broken zip file"),
        (bytes(42_000_000), "case.zip: found a file of 42 MB; expected at most 41 MB"),
    ],
    ids=["empty", "text", "cut short", "too large"],
)
def test_refuses_what_is_no_zip(data: bytes, message: str) -> None:
    with pytest.raises(InputError, match=message):
        case_from_zip(data)
