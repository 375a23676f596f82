"""The ranking of many machines for a terminal and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rich import box
from rich.table import Table
from rich.text import Text

from riskmodel.decision.rank_standings import Ranking, Standing
from riskmodel.report.terminal import console, section
from riskmodel.report.terminal_layout import put
from riskmodel.words import formats
from riskmodel.words import rank as words

WHY_SHOWN = 5
"""Machines whose reasons are told beside the table."""


def rank_json(
    ranking: Ranking, shown: Sequence[Standing], booked: Sequence[Standing] | None
) -> dict[str, Any]:
    """One object: `machines` in order, `to_book` (null unless asked for), `unread`."""
    return {
        "machines": [_standing(s) for s in shown],
        "to_book": None if booked is None else [_standing(s) for s in booked],
        "unread": [{"name": u.name, "why": list(u.why)} for u in ranking.unread],
        "meaning": words.MEANING,
        "cautions": [words.QUICK, words.CAUTION],
    }


def _standing(s: Standing) -> dict[str, Any]:
    return {
        **asdict(s),
        "symptoms": list(s.symptoms),
        "unweighed": list(s.unweighed),
        "plan": words.plan(s),
        "advice": words.advice(s),
        "why": words.why(s),
    }


def print_ranking(
    ranking: Ranking,
    shown: Sequence[Standing],
    booked: Sequence[Standing] | None,
    month: str | None,
    rows: int,
    group: str | None = None,
) -> None:
    """The table of the first `rows` machines, why the first stand there, what to book; of a `group`
    alone where one was asked for."""
    out = console()
    if any(s.invented for s in shown):
        out.print(Text("EXAMPLE: there are invented machines among these.", style="bold"))
        out.print()
    if ranking.standings and not shown and group is not None:
        out.print(Text(words.NONE_WITH_CODE.format(code=group)))
    else:
        for text in words.summary(ranking, shown):
            out.print(text)
    if shown:
        put(out, _table(shown[:rows]))
        if len(shown) > rows:
            out.print(f"{len(shown) - rows:,} more are not shown; --rows shows more, --json all.")
    section(out, "Why", [f"{words.called(s, shown)}: {words.why(s)}" for s in shown[:WHY_SHOWN]])
    if booked is not None and month is not None:
        section(out, f"To book by the end of {words.month(month)}", words.booking(booked, month))
    section(out, "Cautions", [words.MEANING, words.QUICK, words.CAUTION])


def _table(shown: Sequence[Standing]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 0, 0, 1), pad_edge=False)
    table.add_column("", justify="right", no_wrap=True)
    table.add_column("Machine", overflow="fold")
    table.add_column("Waiting\ncosts", justify="right", no_wrap=True)
    table.add_column("Fails before\nnext change,\nof 100", justify="right", no_wrap=True)
    table.add_column("Oil\nfactor", justify="right", no_wrap=True)
    table.add_column(words.ADVICE, overflow="fold")
    table.add_column("Do first", overflow="fold")
    for place, s in enumerate(shown, start=1):
        table.add_row(
            f"{place}{'*' if s.full else ''}",
            s.machine if s.machine == s.name else f"{s.machine} ({s.name})",
            "" if s.waiting is None else formats.money(s.waiting, s.currency),
            "" if s.chance is None else formats.chance_short(s.chance),
            "" if s.oil_factor is None else _factor(s.oil_factor),
            words.advice(s),
            _first(s),
        )
    return table


def _factor(factor: float) -> str:
    """To as many figures as the reasons beside the table have it."""
    return formats.significant(factor, 1 if factor < 1 else 2)


def _first(s: Standing) -> str:
    if s.symptoms:
        return "symptoms"
    return f"sample {s.overdue_days} days late" if s.overdue_days else ""
