"""The verb `riskmodel report`: the owner's report and the sheets, written to a file."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

SHEETS = ("bad-report", "ask-the-workshop", "parts-and-jobs", "until-then")
"""As in `riskmodel.report.owner`, which is read only when it is needed."""


def add(verb: argparse.ArgumentParser) -> None:
    """The arguments of the verb, besides the case."""
    verb.add_argument(
        "-o", "--output", type=Path, required=True, metavar="FILE", help="FILE.pdf or FILE.html"
    )
    which = verb.add_mutually_exclusive_group()
    which.add_argument("--sheets", action="store_true", help="append the four sheets to print")
    which.add_argument("--sheet", choices=SHEETS, help="this sheet alone, without the report")
    verb.add_argument(
        "--date",
        metavar="DAY",
        help="day of the report, such as 2026-11-01; left out: that of the case, else today",
    )


def run(asked: argparse.Namespace) -> None:
    """Weighs the case, writes the file, tells what was written."""
    from riskmodel.records.files import read_case
    from riskmodel.report.owner.write import write_report

    case = read_case(asked.case)
    written = write_report(
        case, asked.output, sheet=asked.sheet, sheets=asked.sheets, date=asked.date
    )
    if asked.json:
        told = json.dumps(written, ensure_ascii=False, indent=2)
    else:
        told = f"Wrote {written['file']}: {', '.join(written['contents'])} ({written['date']})."
    sys.stdout.write(f"{told}\n")
