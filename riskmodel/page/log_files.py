"""The whole log as files: text to read on, a backup, and a backup put back."""

from __future__ import annotations

import io
import tempfile
import zipfile
from dataclasses import replace
from pathlib import Path

import streamlit as st

from riskmodel.page import kept, log_file, markup, problems, state
from riskmodel.records.errors import InputError
from riskmodel.records.log.folder import export_log
from riskmodel.records.log.log import Log, restore
from riskmodel.records.log.sheets import sheets
from riskmodel.words import log_page as words
from riskmodel.words import log_page_files as file_words

_RESTORED = "log.restored"


def section() -> None:
    """Folded away: where the log lies, its copies, and how one is put back."""
    try:
        log = log_file.opened()
    except InputError:
        log = None
    folded = st.expander(file_words.TITLE, key="log.files", on_change="rerun")
    if not folded.open:
        return
    with folded:
        st.html(markup.paragraph(file_words.where(str(log_file.place()), log is not None)))
        if log is not None:
            _copies(log)
        _restore()


def _copies(log: Log) -> None:
    """Made when asked for: each takes a moment of a large log."""
    day = kept.today()
    st.download_button(
        file_words.TEXTS,
        lambda: _as_texts(log),
        file_name=f"log-{day}.zip",
        mime="application/zip",
        help=file_words.TEXTS_HELP,
        on_click="ignore",
    )
    records = [name for name in sheets(log.state()) if name.startswith("life-records")]
    if records:
        st.download_button(
            file_words.RECORDS,
            lambda: _records(log),
            file_name=f"life-records-{day}.zip",
            mime="application/zip",
            help=file_words.RECORDS_HELP,
            on_click="ignore",
        )
    st.download_button(
        file_words.BACKUP,
        lambda: _backup(log),
        file_name=f"log-{day}.sqlite",
        mime="application/vnd.sqlite3",
        help=file_words.BACKUP_HELP,
        on_click="ignore",
    )


def _as_texts(log: Log) -> bytes:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "log"
        export_log(log, folder)
        return _zipped({path.name: path.read_bytes() for path in sorted(folder.iterdir())})


def _records(log: Log) -> bytes:
    found = sheets(log.state())
    return _zipped({n: data for n, data in found.items() if n.startswith("life-records")})


def _backup(log: Log) -> bytes:
    with tempfile.TemporaryDirectory() as place:
        return log.backup(Path(place) / log_file.FILE).read_bytes()


def _zipped(files: dict[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return held.getvalue()


def _restore() -> None:
    st.html(markup.paragraph(file_words.RESTORE_ABOUT))
    offered = st.file_uploader(file_words.RESTORE, type=["sqlite"], key="log.restore")
    if offered is not None:
        st.button(
            file_words.RESTORE_DO,
            on_click=_put_back,
            args=(offered.getvalue(), offered.name),
            key="log.put",
        )
    told = st.session_state.pop(_RESTORED, None)
    if isinstance(told, InputError):
        problems.files(told.problems, file_words.NOT_RESTORED)


def _put_back(data: bytes, name: str) -> None:
    """Puts the backup, a file of that name, in the log's place; the log of now is kept beside
    it."""
    target = log_file.place()
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / log_file.FILE
        copy.write_bytes(data)
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            before = restore(copy, target)
        except InputError as fault:
            st.session_state[_RESTORED] = InputError(
                [
                    replace(each, file=name) if each.file == str(copy) else each
                    for each in fault.problems
                ]
            )
            return
    state.tell(file_words.restored(None if before is None else str(before)))
    machine = state.machine()
    if machine is not None:
        log = log_file.opened()
        if log is not None and machine in log.state().machines:
            state.open_machine(machine)
        else:
            state.tell(words.GONE)
            state.close_machine()
