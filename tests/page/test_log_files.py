"""The file of the page's log: where it lies, what is no log, copies, and a backup put back."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from riskmodel.page import kept, log_file, log_files
from riskmodel.records.archive import case_to_zip
from riskmodel.records.log.bridge import export_case
from riskmodel.records.log.folder import import_log
from riskmodel.records.log.log import Log
from riskmodel.words import log_page, log_page_files
from tests.page.conftest import Page
from tests.page.log_made import TODAY, exact_case, log_of, press, said


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: TODAY.isoformat())


@pytest.mark.parametrize(
    ("system", "names", "where"),
    [
        ("linux", {"XDG_DATA_HOME": "/d"}, "/d/riskmodel/log.sqlite"),
        ("linux", {"HOME": "/h"}, "/h/.local/share/riskmodel/log.sqlite"),
        ("darwin", {"HOME": "/h"}, "/h/Library/Application Support/riskmodel/log.sqlite"),
        ("win32", {"LOCALAPPDATA": "/a"}, "/a/riskmodel/log.sqlite"),
        ("linux", {"HOME": "/h", "RISKMODEL_LOG": "~/mine.sqlite"}, "/h/mine.sqlite"),
    ],
)
def test_the_log_lies_where_the_system_keeps_what_users_enter(
    system: str, names: dict[str, str], where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The XDG base directory specification; the other two by the custom of their systems.
    monkeypatch.setattr("sys.platform", system)
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA", "RISKMODEL_LOG"):
        monkeypatch.delenv(name, raising=False)
    for name, value in names.items():
        monkeypatch.setenv(name, value)
    assert log_file.place().as_posix() == where


@pytest.mark.parametrize("broken", [b"", b"no log at all" * 100])
def test_a_file_that_is_no_log_is_refused_untouched_and_the_page_works_on(
    own_log: Path, broken: bytes
) -> None:
    own_log.parent.mkdir()
    own_log.write_bytes(broken)
    page = Page()
    assert log_page.NO_LOG in said(page)
    page.offer(("mine.zip", case_to_zip(exact_case())))
    assert "My car" in page.text
    assert log_page.NOT_TAKEN_IN in said(page)
    assert page.part("verdict")
    assert own_log.read_bytes() == broken


def test_a_file_that_is_no_backup_is_named_and_the_log_stays() -> None:
    log, [name] = log_of(exact_case())
    seal = log.seal
    page = Page(machine=name)
    page.app.session_state["log.files"] = True
    page.run()
    uploader = page.app.file_uploader(key="log.restore")
    uploader.set_value([("holiday.sqlite", b"\x89PNG\r\n" * 20, "application/octet-stream")])
    page.run()
    press(page, log_page_files.RESTORE_DO)
    assert log_page_files.NOT_RESTORED in [error.value for error in page.app.error]
    assert '<th scope="row">holiday.sqlite</th>' in page.text
    assert log_file.made().seal == seal


def test_copies_of_the_log_hold_everything_and_a_backup_is_put_back(tmp_path: Path) -> None:
    log, [name] = log_of(exact_case())
    folder = tmp_path / "texts"
    with zipfile.ZipFile(io.BytesIO(log_files._as_texts(log))) as archive:
        archive.extractall(folder)
    import_log(folder, tmp_path / "again.sqlite")
    with Log.open(tmp_path / "again.sqlite") as again:
        assert again.seal == log.seal
    backup = log_files._backup(log)
    page = Page(machine=name)
    page.type("Keep for, years", 6.0)
    page.app.session_state["log.files"] = True
    page.run()
    uploader = page.app.file_uploader(key="log.restore")
    uploader.set_value([("backup.sqlite", backup, "application/octet-stream")])
    page.run()
    press(page, log_page_files.RESTORE_DO)
    assert export_case(log_file.made(), name) == exact_case()
    assert "before-restore" in said(page)
    assert len(list(log_file.place().parent.glob("*before-restore*"))) == 1
