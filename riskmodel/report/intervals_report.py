"""The study of oil intervals, for a terminal and as JSON."""

from __future__ import annotations

from typing import Any

import pandas as pd
from rich import box
from rich.table import Table
from rich.text import Text

from riskmodel.decision.intervals import IntervalRow, IntervalStudy, Outcome
from riskmodel.decision.pf_rule import ACCEPTED
from riskmodel.decision.results import Interval
from riskmodel.records.case import Case
from riskmodel.report.terminal import console, section
from riskmodel.report.terminal_layout import put, wrapped
from riskmodel.words import cautions, example_banner, formats, stop_heading, stop_text
from riskmodel.words import intervals as words

Json = dict[str, Any]

HEADING_WIDTH = 9


def intervals_json(case: Case, study: IntervalStudy | None) -> Json:
    """The object that `riskmodel intervals --json` prints; without a study (symptoms) `rows` is
    empty and `stop` says what to do. Costs are per year, alarms per engine."""
    told = {
        "unit": case.machine.unit,
        "currency": case.cost.currency,
        "example": example_banner(case),
        "stop": stop_text(case) if case.machine.symptoms else None,
        "interval": case.interval,
        "life_gamma": case.oil.life_gamma,
        "keep": case.keep,
    }
    if study is None:
        return {**told, "rows": [], "warning": None, "cautions": cautions(case)}
    short, middle, long = study.net
    warning = {
        "net": {"low": short, "median": middle, "high": long},
        "accepted_miss": ACCEPTED,
        "samples_needed": _finite(study.needed),
    }
    return {
        **told,
        "rows": [_row(row) for row in study.rows],
        "warning": None if study.needed is None else warning,
        "notes": [words.note(study), words.MAKER],
        "cautions": cautions(case),
    }


def print_intervals(case: Case, study: IntervalStudy | None) -> None:
    """What it comes to, the table of each effect, the rule of thumb, the cautions."""
    out = console()
    banner = example_banner(case)
    if banner:
        out.print(Text(banner, style="bold"))
        out.print()
    out.print(Text(f"{case.machine.name}: {case.part.name}", style="underline"))
    out.print()
    if study is None:
        out.print(Text(stop_heading(case), style="bold"))
        for line in stop_text(case):
            out.print(wrapped(out, line))
        section(out, "Cautions", cautions(case))
        return
    section(out, words.HEADING, words.summary(study))
    currency = case.cost.currency
    out.print()
    put(out, _table(words.SOONER, words.table(study, currency=""), currency))
    out.print(wrapped(out, words.note(study)))
    if study.gamma > 0:
        out.print()
        put(out, _table(words.LONGER, words.table(study, True, ""), currency))
        out.print(wrapped(out, words.longer_note(study)))
    told = words.warning_sentences(study)
    if told:
        section(out, words.WARNING, told)
        out.print()
        put(out, _table(words.FIGURES, words.warning_table(study)))
    section(out, "Cautions", cautions(case))


def _table(title: str, frame: pd.DataFrame, currency: str = "") -> Table:
    """Each figure over its range and what the oil takes left out, to keep to eighty columns."""
    frame = frame.drop(columns=words.OIL, errors="ignore").rename(
        columns={words.PLAN: words.PLAN_IN}
    )
    table = Table(
        box=box.SIMPLE_HEAD,
        title=title,
        title_justify="left",
        title_style="",
        padding=(0, 0, 0, 1),
        pad_edge=False,
    )
    for place, heading in enumerate(frame.columns):
        told = _broken(str(heading), currency)
        table.add_column(told, justify="right" if place else "left", no_wrap=True)
    for values in frame.itertuples(index=False, name=None):
        table.add_row(*(_short(str(value)) for value in values))
    return table


def _broken(heading: str, currency: str) -> str:
    """A heading in lines of a few letters; a cost with its currency."""
    unit = f" [{currency}]" if currency and heading.startswith("Cost") else ""
    lines = [""]
    for word in f"{heading}{unit}".split():
        if len(lines[-1]) + len(word) < HEADING_WIDTH:
            lines[-1] = f"{lines[-1]} {word}".strip()
        else:
            lines.append(word)
    return "\n".join(line for line in lines if line)


def _short(cell: str) -> str:
    value, bracket, rest = cell.partition("(")
    if formats.MINUS not in rest:
        rest = rest.replace(f"{formats.NBSP}to{formats.NBSP}", "\u2013")
    return (
        f"{value.strip()}\n({rest.strip()}"
        if bracket
        else cell.removesuffix(" only").removeprefix("In ")
    )


def _row(row: IntervalRow) -> Json:
    return {
        "every": row.every,
        "as_now": row.now,
        "life_factor": row.life_factor,
        "sooner": _outcome(row.sooner),
        "longer_life": None if row.longer is None else _outcome(row.longer),
        "warning": None
        if row.warned is None
        else {
            "samples_short": row.warned.short,
            "samples_median": row.warned.middle,
            "samples_long": row.warned.long,
            "one_sample_sees": row.warned.sees,
            "missed_by_rule": row.warned.missed,
            "caught": {
                "share": row.warned.caught.caught.mean,
                "low": row.warned.caught.caught.low,
                "high": row.warned.caught.caught.high,
            },
        },
    }


def _outcome(found: Outcome) -> Json:
    return {
        "replace_at": found.at,
        "cost_per_year": _ends(found.cost),
        "oil_per_year": found.oil,
        "dearer_than_now": _ends(found.dearer),
        "failure_probability": _ends(found.failure),
        "urgent_replacements": _ends(found.urgent),
        "other_alarms": _ends(found.other_alarms),
    }


def _ends(interval: Interval) -> Json:
    return {"value": interval.value, "low": interval.low, "high": interval.high}


def _finite(value: float | None) -> float | None:
    return None if value is None or value == float("inf") else value
