"""The log as files: what each copy holds, and what putting one back does."""

from __future__ import annotations

TITLE = "Copies and backups of the log"
TEXTS = "The whole log as text files"
TEXTS_HELP = (
    "A zip of every entry and of tables for a spreadsheet: machines, readings, samples, work, "
    "findings, quotes, decisions. It can be made into a log again."
)
RECORDS = "Life records without names"
RECORDS_HELP = "What became of parts, for others to learn from: no machine and no owner is named."
BACKUP = "Backup of the log"
BACKUP_HELP = "One file, checked entry by entry. Keep it on another disk."
RESTORE = "Put a backup back"
RESTORE_ABOUT = (
    "A backup takes the place of the log, for all who use it. The log of now is kept beside it "
    "under another name, so nothing is lost."
)
RESTORE_DO = "Put this backup in the log's place"
NOT_RESTORED = "This could not be put back. The log is as it was."


def where(path: str, there: bool) -> str:
    if not there:
        return f"Nothing is kept yet. The log will be one file on this computer: {path}"
    return f"Everything kept here is one file on this computer: {path}"


def restored(kept: str | None) -> str:
    """What was done, and where the log from before lies."""
    if kept is None:
        return "The backup was put in place."
    return f"The backup was put in place. The log from before is kept as {kept}"
