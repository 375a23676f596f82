"""The command `riskmodel`: reads what was typed, calls the package, prints what it says.

Exit status: 0 done, 2 what was given cannot be used (the message is on standard error),
1 a fault of this program.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from riskmodel import cli_log, cli_rank, cli_report
from riskmodel.cli_help import explained, lines_of
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.quantity import Quantity
from riskmodel.threads import one_thread

WHAT_FOR = """\
When to replace a part that wears out without much warning: the chance of
failure against the cost of replacing it in time.

Each verb has --help and an example."""

CAUTION = (
    "This estimates; it inspects nothing. Stop at once if oil pressure drops or it knocks. "
    "The maker's procedures, local rules and a qualified mechanic come first."
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one verb; returns the exit status."""
    parser = _parser()
    if not (sys.argv[1:] if arguments is None else arguments):
        parser.print_help(sys.stderr)
        return 2
    asked = parser.parse_args(arguments)
    one_thread()
    try:
        status = asked.run(asked)
    except InputError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 2
    except CannotAnswer as error:
        print(error, file=sys.stderr)
        return 2
    except BrokenPipeError:
        # The reader of a pipe went away; there is nobody left to tell.
        sys.stderr.close()
        return 0
    return status or 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="riskmodel",
        description=WHAT_FOR,
        epilog=lines_of("riskmodel new my-car", "riskmodel weigh my-car", after=CAUTION),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    verbs = parser.add_subparsers(title="verbs", metavar="VERB", required=True)

    new = _verb(
        verbs, "new", _new, "write a commented case to fill in", "riskmodel new my-boat --unit h"
    )
    new.add_argument("folder", type=Path, metavar="FOLDER", help="folder to make")
    new.add_argument(
        "--unit", choices=("km", "mi", "h"), default="km", help="what the meter counts (default km)"
    )
    check = _verb(
        verbs, "check", _check, "read a case and tell every fault", "riskmodel check my-car"
    )
    _takes_case(check)

    weigh = _verb(
        verbs,
        "weigh",
        _weigh,
        "the verdict: replace now, later or never, and what each plan costs",
        "riskmodel weigh my-car",
    )
    _takes_case(weigh)
    weigh.add_argument(
        "--detail",
        choices=("short", "full"),
        help="full adds, in some seconds, what the records say and the verdict under other "
        "assumptions about them; short without --json, full with it, where not stated",
    )

    report = _verb(
        verbs,
        "report",
        cli_report.run,
        "write the owner's report, and sheets to print, as PDF or as one HTML file",
        "riskmodel report my-car -o my-car.pdf --sheets",
    )
    _takes_case(report)
    cli_report.add(report)

    oil = _verb(verbs, "oil", _oil, "what the oil samples of a case say", "riskmodel oil my-car")
    _takes_case(oil)

    intervals = _verb(
        verbs,
        "intervals",
        _intervals,
        "what other oil intervals would cost and catch",
        "riskmodel intervals my-car --every 5000 --every 7500",
    )
    _takes_case(intervals)
    intervals.add_argument(
        "--every",
        type=float,
        action="append",
        default=[],
        metavar="USAGE",
        help="usage between oil changes, as often as wanted; left out: half, three quarters, and "
        "one and a half times that of now, which is always shown",
    )
    intervals.add_argument(
        "--life-gamma",
        type=float,
        metavar="POWER",
        help="claim that life grows as (interval now / interval) to this power, in place of what "
        "the case states (0 claims nothing)",
    )

    life = _verb(
        verbs,
        "life",
        _life,
        "the life curve that a table of life records gives",
        "riskmodel life my-car/records.csv --unit km --at 150000 --ahead 8000",
    )
    life.add_argument("records", type=Path, metavar="RECORDS.csv", help="table of life records")
    life.add_argument("--unit", default="", help="unit of the ages, for the text")
    pairs: dict[str, Any] = {"type": float, "action": "append", "default": []}
    life.add_argument("--at", metavar="AGE", help="age survived to", **pairs)
    life.add_argument("--ahead", metavar="USAGE", help="usage beyond it, one for each AGE", **pairs)
    life.add_argument(
        "--visible-lead",
        nargs=2,
        type=float,
        metavar=("LOW", "HIGH"),
        help="usage before failure in which a look shows distress, nine times in ten; without it "
        "parts that came out worn or unworn count as removed",
    )
    life.add_argument(
        "--finding-error",
        type=float,
        default=0.1,
        metavar="SHARE",
        help="share of looks that are wrong (default 0.1)",
    )
    life.add_argument(
        "--reporting-ratio",
        type=float,
        default=1.0,
        metavar="TIMES",
        help="failures are reported so many times as readily as survivors (default 1)",
    )
    life.add_argument(
        "--shape",
        type=float,
        metavar="B",
        help="bound the scale at this Weibull shape, taken as known: of use with few failures or "
        "none",
    )
    life.add_argument(
        "--unknown-cause",
        choices=("wear", "other"),
        default="wear",
        help="what a failure of unknown cause counts as (default wear)",
    )

    rank = _verb(
        verbs,
        "rank",
        cli_rank.run,
        "many machines in the order in which they want attention",
        "riskmodel rank . --within 2026-12",
    )
    cli_rank.add(rank)
    log = verbs.add_parser(
        "log",
        **explained(
            "a workshop's log: many machines, kept for years",
            "riskmodel log start",
            "riskmodel log import my-car --as car-1",
            "riskmodel log list",
            more="The page keeps the same log. Entries are added and undone, never erased. "
            "Each of these has --help and an example.",
        ),
    )
    cli_log.add(log)
    return parser


def _verb(verbs: Any, name: str, run: Any, help_text: str, example: str) -> argparse.ArgumentParser:
    verb: argparse.ArgumentParser = verbs.add_parser(name, **explained(help_text, example))
    verb.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    verb.set_defaults(run=run)
    return verb


def _takes_case(verb: argparse.ArgumentParser) -> None:
    verb.add_argument(
        "case", type=Path, metavar="CASE", help="folder with case.toml and its tables"
    )


def _print_json(value: Any) -> None:
    json.dump(value, sys.stdout, ensure_ascii=False, allow_nan=False, indent=2)
    sys.stdout.write("\n")


def _weigh(asked: argparse.Namespace) -> None:
    from riskmodel.decision.weigh import weigh
    from riskmodel.records.files import read_case

    case = read_case(asked.case)
    weighing = weigh(case)
    found, tried, moves, driven = None, None, None, None
    full = asked.detail == "full" or (asked.json and asked.detail is None)
    if full and not weighing.stop:
        from riskmodel.decision.flips import what_moves
        from riskmodel.decision.sensitivity import life_sensitivity
        from riskmodel.decision.use_study import use_study
        from riskmodel.risk.learned import learned

        found, tried, moves = learned(case), life_sensitivity(case), what_moves(case)
        driven = use_study(case)
    if asked.json:
        from riskmodel.report.as_json import weighing_json

        _print_json(weighing_json(weighing, found, tried, moves, driven))
    else:
        from riskmodel.report.terminal import print_weighing

        print_weighing(weighing, found, tried, moves, driven)


def _life(asked: argparse.Namespace) -> None:
    from riskmodel.life.summary import summarise
    from riskmodel.records.disk import read_file
    from riskmodel.records.life_table import read_records

    records = read_records(read_file(asked.records), asked.records.name)
    result = summarise(
        records,
        _pairs(asked),
        asked.finding_error,
        _lead(asked.visible_lead),
        asked.reporting_ratio,
        unknown_as=asked.unknown_cause,
        unit=asked.unit if asked.unit in ("km", "mi", "h") else None,
        shape=asked.shape,
    )
    if asked.json:
        from riskmodel.report.life_json import life_json

        _print_json(life_json(result, asked.unit))
    else:
        from riskmodel.report.terminal import print_life

        print_life(result, asked.unit)


def _oil(asked: argparse.Namespace) -> None:
    from riskmodel.records.files import read_case
    from riskmodel.risk.oil_look import oil_look

    case = read_case(asked.case)
    look = oil_look(case)
    if asked.json:
        from riskmodel.report.oil_json import oil_json

        _print_json(oil_json(case, look))
    else:
        from riskmodel.report.terminal_oil import print_oil

        print_oil(case, look)


def _intervals(asked: argparse.Namespace) -> None:
    from dataclasses import replace

    from riskmodel.decision.intervals import interval_study
    from riskmodel.records.files import read_case
    from riskmodel.report.intervals_report import intervals_json, print_intervals

    case = read_case(asked.case)
    if asked.life_gamma is not None:
        _within("--life-gamma", asked.life_gamma, 0, 2)
        case = replace(case, oil=replace(case.oil, life_gamma=asked.life_gamma))
    study = None if case.machine.symptoms else interval_study(case, asked.every)
    if asked.json:
        _print_json(intervals_json(case, study))
    else:
        print_intervals(case, study)


def _pairs(asked: argparse.Namespace) -> list[tuple[float, float]]:
    """Each age to judge with the usage beyond it. Raises CannotAnswer."""
    if len(asked.at) != len(asked.ahead):
        raise CannotAnswer(
            "--at and --ahead go in pairs: "
            f"found {len(asked.at)} --at and {len(asked.ahead)} --ahead"
        )
    for option, values in (("--at", asked.at), ("--ahead", asked.ahead)):
        for value in values:
            _within(option, value, 0, 1e12)
    _within("--finding-error", asked.finding_error, 0, 0.5)
    _within("--reporting-ratio", asked.reporting_ratio, 1, 1000)
    if asked.shape is not None:
        _within("--shape", asked.shape, 0.05, 100)
    return list(zip(asked.at, asked.ahead, strict=True))


def _lead(ends: list[float] | None) -> Quantity | None:
    """The visible lead as stated. Raises CannotAnswer."""
    if ends is None:
        return None
    low, high = ends
    if not 0 < low <= high < float("inf"):
        raise CannotAnswer(
            f"--visible-lead: found {low:g} and {high:g}, expected two numbers above 0, the lower "
            "first"
        )
    return Quantity(low, high)


def _within(option: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise CannotAnswer(f"{option}: found {value:g}, expected a number from {low:g} to {high:g}")


def _check(asked: argparse.Namespace) -> None:
    from riskmodel.records.files import read_case

    case = read_case(asked.case)
    found = {
        "name": case.machine.name,
        "records": 0 if case.records is None else len(case.records),
        "samples": 0 if case.samples is None else len(case.samples),
        "problems": [],
    }
    if asked.json:
        _print_json(found)
    else:
        print(
            f"{asked.case}: no faults found in the files ({found['records']} life records, "
            f"{found['samples']} oil samples). This says nothing about the engine."
        )


def _new(asked: argparse.Namespace) -> None:
    from riskmodel.records.template import new_case

    new_case(asked.folder, asked.unit)
    if asked.json:
        _print_json({"folder": str(asked.folder), "unit": asked.unit})
    else:
        print(
            f"Wrote a case to fill in: {asked.folder / 'case.toml'}\n"
            f"Then: riskmodel check {asked.folder}, and riskmodel weigh {asked.folder}"
        )


if __name__ == "__main__":
    sys.exit(main())
