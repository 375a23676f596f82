"""Folders and files on disk that are no case, or not one to be trusted."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from riskmodel.records.errors import InputError
from riskmodel.records.files import read_case, write_case, write_files
from riskmodel.records.template import new_case, template
from tests.broken.made import VALID


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_files({name: text.encode() for name, text in VALID.items()}, tmp_path / "van")
    return tmp_path / "van"


def refusal(folder: Path) -> str:
    with pytest.raises(InputError) as refused:
        read_case(folder)
    return str(refused.value)


def test_the_folder_they_start_from_is_valid(folder: Path) -> None:
    assert read_case(folder).machine.name == "Van"


def test_no_folder(tmp_path: Path) -> None:
    expected = "found no such folder; expected the folder of a case, with case.toml"
    assert refusal(tmp_path / "nowhere") == f"{tmp_path / 'nowhere'}: {expected}"
    assert "found no such folder" in refusal(Path("nul\0byte"))
    assert "found no such folder" in refusal(Path("x" * 5000))


def test_file_instead_of_a_folder(folder: Path) -> None:
    expected = "found a file; expected the folder of a case, with case.toml"
    assert refusal(folder / "case.toml") == f"{folder / 'case.toml'}: {expected}"


def test_folder_that_is_no_case(tmp_path: Path) -> None:
    expected = "found no case.toml; expected the folder of a case, with case.toml"
    assert refusal(tmp_path) == f"{tmp_path}: {expected}"
    (tmp_path / "Case.tml").touch()
    assert refusal(tmp_path) == f"{tmp_path}: {expected} (did you mean Case.tml?)"


def test_missing_table(folder: Path) -> None:
    (folder / "oil.csv").rename(folder / "oils.csv")
    expected = "found no such file; expected a file beside case.toml (did you mean oils.csv?)"
    assert refusal(folder) == f"oil.csv: {expected}"


def test_folder_instead_of_a_table(folder: Path) -> None:
    (folder / "oil.csv").unlink()
    (folder / "oil.csv").mkdir()
    assert refusal(folder) == "oil.csv: found a folder; expected a file"


def test_link_instead_of_a_table(folder: Path) -> None:
    (folder / "oil.csv").rename(folder.parent / "elsewhere.csv")
    (folder / "oil.csv").symlink_to(folder.parent / "elsewhere.csv")
    message = "oil.csv: found a link to somewhere else; expected the file itself"
    assert refusal(folder) == message
    (folder / "oil.csv").unlink()
    (folder / "oil.csv").symlink_to(folder.parent / "gone.csv")
    assert refusal(folder) == message


def test_pipe_instead_of_a_table(folder: Path) -> None:
    (folder / "oil.csv").unlink()
    os.mkfifo(folder / "oil.csv")
    assert refusal(folder) == "oil.csv: found a device or pipe; expected a file"


@pytest.mark.parametrize(
    ("size", "message"),
    [
        (200_000_000, "oil.csv: found a file of 200 MB; expected at most 20 MB"),
        (20_000_001, "oil.csv: found a file of 20.000001 MB; expected at most 20 MB"),
    ],
)
def test_table_too_large(
    folder: Path, size: int, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.truncate(folder / "oil.csv", size)  # sparse: it takes no room on the disk
    opened: list[Path] = []
    reading = Path.open

    def noted(self: Path, *args: Any) -> Any:
        opened.append(self)
        return reading(self, *args)

    monkeypatch.setattr(Path, "open", noted)
    assert refusal(folder) == message
    assert folder / "oil.csv" not in opened  # refused by its size, not after reading it


def test_case_file_too_large(folder: Path) -> None:
    os.truncate(folder / "case.toml", 2_000_000)
    assert refusal(folder) == "case.toml: found a file of 2 MB; expected at most 1 MB"


def test_table_that_may_not_be_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    reading = Path.open

    def refused(self: Path, *args: Any) -> Any:
        if self.name == "oil.csv":
            raise PermissionError(13, "Permission denied")
        return reading(self, *args)

    # The rights themselves would not stop a test that runs as root.
    monkeypatch.setattr(Path, "open", refused)
    message = "oil.csv: found a file that cannot be read (permission denied); expected its contents"
    assert refusal(folder) == message


def test_problems_of_all_files_are_told_together(folder: Path) -> None:
    (folder / "oil.csv").unlink()
    (folder / "records.csv").write_text("age,outcome\n-5,failed\n")
    text = (folder / "case.toml").read_text().replace("9000", "-9000")
    (folder / "case.toml").write_text(text)
    assert [line.split(":")[0] for line in refusal(folder).splitlines()] == [
        "case.toml, line 33, cost.failure",
        "records.csv, line 2, column age",
        "oil.csv",
    ]


def test_new_case_refuses_a_folder_in_use(folder: Path, tmp_path: Path) -> None:
    before = (folder / "case.toml").read_bytes()
    with pytest.raises(InputError, match="found a folder with files; expected an empty folder"):
        new_case(folder)
    assert (folder / "case.toml").read_bytes() == before
    (tmp_path / "note").touch()
    with pytest.raises(InputError, match="found a file; expected a new or empty folder"):
        new_case(tmp_path / "note")
    with pytest.raises(InputError, match="expected a folder to write into"):
        new_case(tmp_path / "note" / "below")


def test_write_that_fails_leaves_the_old_file(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = read_case(folder)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="found no space left on device; expected a place"):
        write_case(case, folder)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_template_is_no_unit_of_ours() -> None:
    with pytest.raises(ValueError, match="one of km, mi, h"):
        template("furlong")  # type: ignore[arg-type]
