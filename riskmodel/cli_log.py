"""The verb `riskmodel log`: a workshop's log from the command line, an entry a line."""

from __future__ import annotations

import argparse
import getpass
import os
from pathlib import Path
from typing import Any

from riskmodel.cli_help import explained

EXAMPLES = {
    "start": "riskmodel log start --log workshop.sqlite",
    "import": "riskmodel log import my-boat --as boat-1",
    "reading": "riskmodel log reading car-1 151400",
    "sample": "riskmodel log sample car-1 --at 151400 --oil-age 7600 --bottle 17",
    "sent": "riskmodel log sent car-1 --lab 'laboratory A'",
    "back": "riskmodel log back car-1 Pb=4 'Cu=<1' Fe=31",
    "told": "riskmodel log told car-1",
    "oil": "riskmodel log oil car-1 151400",
    "lab": "riskmodel log lab results.csv --laboratory 'laboratory A' --column reading=Odometer",
    "quote": "riskmodel log quote car-1 planned=2200..2600 sample=35 --by 'a workshop'",
    "decide": "riskmodel log decide car-1 --chosen now",
    "job": "riskmodel log job car-1 152000 --found 'rod 1, upper=worn' --found 'rod 2=unworn'",
    "set": "riskmodel log set car-1 machine.usage_per_year=14000",
    "retire": "riskmodel log retire car-1 152100",
    "undo": "riskmodel log undo 17 --reason 'not sold after all'",
    "list": "riskmodel log list",
    "history": "riskmodel log history car-1",
    "said": "riskmodel log said",
    "export": "riskmodel log export car-1 car-1-case",
    "csv": "riskmodel log csv log-as-text",
    "backup": "riskmodel log backup copy.sqlite",
    "restore": "riskmodel log restore copy.sqlite",
}
"""In the order in which a workshop meets them: each can be run after those before it."""
_ABOUT = {
    "start": "start a log: one new file",
    "import": "take a case folder in as a new machine",
    "reading": "add a meter reading",
    "sample": "add a sample, with its results where they are known",
    "sent": "a sample went to the laboratory",
    "back": "the results of a sample came back",
    "told": "the owner was told what a sample showed",
    "oil": "add an oil change",
    "lab": "read a laboratory's table of many machines' samples, all of it or nothing",
    "quote": "add prices that somebody offered",
    "decide": "add what was decided, with the advice and the chances of that day",
    "job": "add a job on the part and what was found, shell by shell",
    "set": "change inputs of a machine, by their keys in case.toml",
    "retire": "a machine was sold, scrapped or given up, its part whole",
    "undo": "take an entry back (nothing is erased; undoing an undo restores)",
    "list": "machines and samples, overdue samples first",
    "history": "every entry with its number, undone ones too",
    "said": "chances told with past decisions against what was seen since",
    "export": "write a machine's case into a new folder, with all the log knows",
    "csv": "write everything as text: CSV files, and all entries to make the log again",
    "backup": "copy the log into a new file, checked entry by entry",
    "restore": "put a backup in the log's place; what was there is kept beside it",
}


def add(verb: argparse.ArgumentParser) -> None:
    """The sub-verbs and their arguments."""
    verbs = verb.add_subparsers(title="what to do", metavar="WHAT", required=True)
    made = {name: _one(verbs, name) for name in EXAMPLES}
    for name in ("export", "reading", "sample", "sent", "back", "told", "oil", "job", "quote",
                 "decide", "set", "retire"):  # fmt: skip
        made[name].add_argument("machine", metavar="MACHINE", help="its name in the log")
    for name in ("list", "history"):
        made[name].add_argument("machine", nargs="?", metavar="MACHINE", help="only of this one")
    made["import"].add_argument("case", type=Path, metavar="CASE", help="folder with case.toml")
    made["import"].add_argument("--as", dest="as_", metavar="NAME", help="its name in the log")
    made["export"].add_argument("folder", type=Path, metavar="FOLDER", help="a new folder")
    made["export"].add_argument(
        "--as-it-came",
        action="store_true",
        help="without the life records that the log itself knows",
    )
    for name in ("reading", "oil", "job", "retire"):
        made[name].add_argument("reading", type=float, metavar="READING", help="of the meter")
    sample = made["sample"]
    sample.add_argument("--at", type=float, metavar="READING", help="the meter (default: the last)")
    sample.add_argument("--oil-age", type=float, required=True, metavar="USAGE", help="on that oil")
    sample.add_argument("--top-up", type=float, default=0.0, metavar="LITRES", help="added since")
    sample.add_argument("--drained", action="store_true", help="the oil was changed with it")
    for name in ("sample", "sent", "back", "told"):
        made[name].add_argument("--bottle", default="", metavar="TEXT", help="what stands on it")
    for name in ("sample", "sent"):
        made[name].add_argument("--lab", default="", metavar="NAME", help="the laboratory")
    for name, count in (("sample", "*"), ("back", "+")):
        made[name].add_argument(
            "results", nargs=count, metavar="METAL=PPM", help="such as Pb=4, or 'Cu=<1' in quotes"
        )
    job = made["job"]
    job.add_argument("--failed", action="store_true", help="the part failed")
    job.add_argument("--not-replaced", action="store_true", help="no part was fitted")
    job.add_argument(
        "--found",
        action="append",
        default=[],
        metavar="SHELL=LOOK",
        help="worn, unworn, failed or not_seen, a shell at a time",
    )
    job.add_argument("--why", choices=("scheduled", "suspected"), default="scheduled",
                     help="what led to it (default scheduled)")  # fmt: skip
    job.add_argument("--cause", choices=("wear", "other", "unknown"), default="wear",
                     help="of a failure (default wear)")  # fmt: skip
    job.add_argument("--whole-at", type=float, metavar="READING", help="it was last known whole at")
    job.add_argument("--price", type=float, metavar="AMOUNT", help="what was paid")
    job.add_argument("--new-code", metavar="CODE", help="of the part fitted, where it differs")
    job.add_argument("--new-lining", metavar="WORDS", help="of the part fitted, where it differs")
    quote = made["quote"]
    quote.add_argument(
        "prices", nargs="+", metavar="PRICE=AMOUNT", help="planned=2400, or planned=2200..2600"
    )
    quote.add_argument("--by", default="", metavar="WHO", help="who offered them")
    quote.add_argument("--until", metavar="DATE", help="how long they hold")
    decide = made["decide"]
    decide.add_argument(
        "--chosen",
        default="",
        metavar="PLAN",
        help="what was decided: now, never, or the usage until then",
    )
    decide.add_argument("--declined", action="store_true", help="the advice was not taken")
    made["set"].add_argument(
        "changes", nargs="+", metavar="KEY=VALUE", help="a value as case.toml states it; KEY= none"
    )
    made["undo"].add_argument("number", type=int, metavar="NUMBER", help="of the entry")
    made["undo"].add_argument("--reason", default="", metavar="TEXT", help="why")
    made["backup"].add_argument("file", type=Path, metavar="FILE", help="a new file")
    made["restore"].add_argument("file", type=Path, metavar="BACKUP", help="a backup of a log")
    made["csv"].add_argument("folder", type=Path, metavar="FOLDER", help="a new or empty folder")
    _lab(made["lab"])
    made["said"].add_argument("--group", metavar="CODE", help="only parts with this code")
    for name in ("reading", "sample", "sent", "back", "told", "oil", "job", "quote", "decide",
                 "retire", "lab", "list"):  # fmt: skip
        made[name].add_argument("--date", metavar="DATE", help="the day (default: today)")
    for name in ("reading", "sample", "told", "oil", "job", "quote", "decide", "set", "retire"):
        made[name].add_argument("--note", default="", metavar="TEXT", help="anything to remember")
    for name in EXAMPLES:
        if name not in ("start", "list", "history", "export", "backup", "restore", "csv", "said"):
            made[name].add_argument(
                "--author", default=_author(), metavar="NAME", help="who says so (default: you)"
            )


def _lab(lab: argparse.ArgumentParser) -> None:
    lab.add_argument("file", type=Path, metavar="TABLE.csv", help="a row a sample")
    lab.add_argument("--laboratory", required=True, metavar="NAME", help="whose columns these are")
    lab.add_argument("--column", action="append", default=[], metavar="FIELD=HEADING",
                     help="machine, date, reading, age, oil_age, top_up or bottle")  # fmt: skip
    lab.add_argument("--element", action="append", default=[], metavar="METAL=HEADING",
                     help="the column of a metal")  # fmt: skip
    lab.add_argument("--machine", action="append", default=[], metavar="THEIRS=OURS",
                     help="what they call a machine, and its name in the log")  # fmt: skip
    lab.add_argument("--dates", choices=("ymd", "dmy", "mdy"), help="order of year, month, day")
    lab.add_argument("--decimal", choices=("point", "comma"), help="what stands before decimals")
    lab.add_argument("--leave-out-unknown", action="store_true",
                     help="bring the others in where the log lacks a machine")  # fmt: skip
    lab.add_argument("--try", dest="try_", action="store_true", help="tell, and write nothing")


def _one(verbs: Any, name: str) -> argparse.ArgumentParser:
    verb: argparse.ArgumentParser = verbs.add_parser(
        name, **explained(_ABOUT[name], EXAMPLES[name])
    )
    verb.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    verb.add_argument(
        "--log",
        type=Path,
        metavar="FILE",
        help="the log (default: RISKMODEL_LOG, else one in your own data folder)",
    )
    verb.set_defaults(run=_run, what=name)
    return verb


def _author() -> str:
    """The name of whoever is logged in."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return os.environ.get("USERNAME", "") or "somebody"


def _run(asked: argparse.Namespace) -> int:
    from riskmodel import cli_log_entries, cli_log_work
    from riskmodel.cli_log_typed import Answer

    name = f"do_{asked.what}"
    work = cli_log_entries if hasattr(cli_log_entries, name) else cli_log_work
    answer: Answer = getattr(work, name)(asked)
    if asked.json:
        from riskmodel.report.terminal_log import print_json

        print_json(answer.held)
    else:
        from riskmodel.report.terminal_log import print_answer

        print_answer(answer.lines, answer.tables)
    return answer.status
