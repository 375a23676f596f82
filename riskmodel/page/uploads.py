"""Files that were offered to the page, read as one case."""

from __future__ import annotations

from dataclasses import dataclass

from riskmodel.records.archive import case_from_zip
from riskmodel.records.case import Case
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.files import CASE_FILE, case_from_files
from riskmodel.words import screen


@dataclass(frozen=True, slots=True)
class Upload:
    name: str
    data: bytes


def meant(before: list[Upload], new: list[Upload]) -> list[Upload]:
    """The files to be read where some lay in the box `before` and others came anew: a zip that is
    new stands for itself, and a table is looked at with what lay there, the newest of a name."""
    if any(_is_zip(upload) for upload in new):
        return new
    held = {upload.name: upload for upload in before if not (new and _is_zip(upload))}
    again = {upload.name for upload in new}
    return [*(upload for name, upload in held.items() if name not in again), *new]


def _is_zip(upload: Upload) -> bool:
    return upload.name.lower().endswith(".zip")


def read_uploads(uploads: list[Upload]) -> Case:
    """The case in one zip, or in case.toml and its tables offered together.

    Raises InputError.
    """
    zips = [upload for upload in uploads if _is_zip(upload)]
    if len(zips) == 1 and len(uploads) == 1:
        return case_from_zip(zips[0].data, zips[0].name)
    names = [upload.name for upload in uploads]
    if zips or CASE_FILE not in names or len(set(names)) < len(names):
        found = screen.found_files(names)
        alone = all(name.lower().endswith(".csv") for name in names)
        expected = screen.UPLOAD_EXPECTED + (screen.TABLES_ALONE if alone else "")
        raise InputError([Problem(screen.THE_FILES, "", found, expected)])
    return case_from_files({upload.name: upload.data for upload in uploads})
