"""The verb `riskmodel rank`: many machines, out of a folder of cases or a log."""

from __future__ import annotations

import argparse
import datetime
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskmodel.records.errors import CannotAnswer

if TYPE_CHECKING:
    from riskmodel.decision.rank import Ranking

ROWS = 30


def add(verb: argparse.ArgumentParser) -> None:
    """The arguments of the verb."""
    verb.add_argument(
        "machines",
        type=Path,
        nargs="?",
        metavar="FOLDER",
        help="folder of case folders, or the file of a log; left out: your own log",
    )
    verb.add_argument("--group", metavar="CODE", help="only machines whose part has this code")
    verb.add_argument(
        "--within", metavar="MONTH", help="also what is to be booked by the end of it: 2026-12"
    )
    verb.add_argument(
        "--rows", type=int, default=ROWS, metavar="N", help=f"machines shown (default {ROWS})"
    )
    verb.add_argument(
        "--full",
        type=int,
        default=0,
        metavar="N",
        help="weigh so many at the top fully as well, a second or two each; a look or a second "
        "sample first may then be advised (default 0)",
    )
    verb.add_argument(
        "--workers", type=int, default=2, metavar="N", help="processes to use (default 2)"
    )
    verb.add_argument(
        "--today", metavar="DATE", help="the day that due dates count from (default: today)"
    )
    verb.set_defaults(run=run)


def run(asked: argparse.Namespace) -> int:
    """Ranks and prints; 2 where a machine could not be read, after the others were told."""
    if asked.within is not None and not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", asked.within):
        raise CannotAnswer(f"--within: found {asked.within}, expected a month such as 2026-12")
    for option in ("rows", "full", "workers"):
        if getattr(asked, option) < (1 if option == "workers" else 0):
            raise CannotAnswer(f"--{option}: found {getattr(asked, option)}, expected a count")
    today = day_of(asked.today)

    from riskmodel.decision.rank import of_group, to_book
    from riskmodel.report.rank_report import print_ranking, rank_json

    ranking = _ranking(asked, today)
    shown = ranking.standings if asked.group is None else of_group(ranking.standings, asked.group)
    booked = None if asked.within is None else to_book(shown, asked.within)
    if asked.json:
        from riskmodel.report.terminal_log import print_json

        print_json(rank_json(ranking, shown, booked))
    else:
        print_ranking(ranking, shown, booked, asked.within, asked.rows, asked.group)
    for unread in ranking.unread:
        for why in unread.why:
            sys.stderr.write(f"{unread.name}: {why}\n")
    return 2 if ranking.unread else 0


def day_of(told: str | None) -> datetime.date:
    """The day that a text states; today where it is left out. Raises CannotAnswer."""
    from riskmodel.records.scalars import UnreadableError, read_date

    if told is None:
        return datetime.date.today()
    try:
        return read_date(told)
    except UnreadableError as fault:
        raise CannotAnswer(f"date: found {told}, expected {fault}") from None


def _ranking(asked: argparse.Namespace, today: datetime.date) -> Ranking:
    from riskmodel.decision.rank import Source, case_folders, rank

    more: dict[str, Any] = {}
    sources: list[Source] = []
    if asked.machines is not None and not asked.machines.is_file():
        sources += case_folders(asked.machines)
    else:
        from riskmodel.records.log.many import begin, many
        from riskmodel.records.log.place import open_log, place

        with open_log(place(asked.machines)) as log:
            found = many(log.state(), today.isoformat())
        sources += found.machines
        more["begin"] = (begin, (dict(found.groups),))
    return rank(
        sources,
        today=today,
        full=asked.full,
        workers=asked.workers,
        progress=_progress if len(sources) > 1 else None,
        **more,
    )


def _progress(done: int, total: int) -> None:
    end = "\n" if done >= total or not sys.stderr.isatty() else "\r"
    sys.stderr.write(f"{done:,} of {total:,} machines done{end}")
    sys.stderr.flush()
