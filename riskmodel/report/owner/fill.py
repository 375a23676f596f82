"""The owner's report of a weighing, as a document."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel import charts, words
from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import FigureChange
from riskmodel.report.owner import choices
from riskmodel.report.owner.document import (
    Block,
    Box,
    Columns,
    Heading,
    Items,
    Paragraph,
    Part,
    Picture,
    Table,
    Terms,
    Together,
)
from riskmodel.report.owner.pictures import drawn
from riskmodel.report.owner.side_by_side import side_by_side
from riskmodel.words import (
    captions,
    formats,
    near_ties,
    report,
    report_chance,
    report_entered,
    report_first,
    report_options,
    report_plans,
    report_sure,
    report_what_if,
    screen,
    spent,
)
from riskmodel.words.cautions import dangers

MOST_PAGES = 2
_AHEAD, _ICONS = (300, 190), (150, 150)
_WIDE, _NARROW = (2.75, 1.5, 0.8, 1.3, 1.8, 1.7), (2.6, 2.3, 0.8, 1.3, 1.8)
"""Shares of the columns of the verdicts with other figures, with and without that of a limit."""


def report_part(
    w: Weighing,
    changes: Sequence[FigureChange],
    free: Sequence[FigureChange],
    date: str | None,
    shortened: bool,
) -> Part:
    """The report of `w`; `changes` are the verdicts with other figures, `free` the same without the
    owner's limit, `date` is the day of it.

    With symptoms it says stop, and nothing else.
    """
    if w.stop:
        return Part(_stop(w, date), MOST_PAGES, True)
    first = (*_head(w), *_verdict(w), *_chance(w), *_plans(w), _wait(w))
    columns = side_by_side(
        (*_sure(w), *_money(w), *_assumed(w)), (*_next(w), *_watch(w), *_not_checked(w))
    )
    last = (*_change(w, changes, free), columns, *_entered(w, shortened))
    return Part((*first, *_living(w), *last), MOST_PAGES)


def _stop(w: Weighing, date: str | None) -> tuple[Block, ...]:
    told = [screen.machine_line(w.case), report.dated(w.case, date)]
    return (
        *_banner(w),
        Heading(words.stop_heading(w.case), 1),
        *_paragraphs([text for text in told if text]),
        Items(tuple(words.stop_text(w.case))),
    )


def _head(w: Weighing) -> tuple[Block, ...]:
    return (
        *_banner(w),
        Heading(report.title(w.case), 1),
        Paragraph(f"{report.machine(w.case)}. {report.at_stake(w)}"),
    )


def _banner(w: Weighing) -> list[Block]:
    banner = words.example_banner(w.case)
    return [Paragraph(banner, "strong")] if banner else []


def _verdict(w: Weighing) -> list[Block]:
    said, tie = Terms(tuple(report.verdict(w)), flush=True), near_ties.verdict_tie(w)
    tie = f". {tie}" if tie else ""
    found: list[Block] = [
        Heading(report.VERDICT),
        Box((Paragraph(f"{words.headline(w)}{tie}", "strong"), said)),
        Paragraph(" ".join(dangers(w.case))),
    ]
    first = report_first.sentences(w)
    if not first or w.first_step is None:
        return found
    return [*found, Paragraph(report_first.LEAD[w.first_step], "strong"), Items(tuple(first))]


def _chance(w: Weighing) -> list[Block]:
    chart = drawn(charts.ahead(w), *_AHEAD, fewer=("x", 3), title=report_chance.CHART)
    picture = Picture(chart, captions.ahead(w))
    table = Table(
        report_chance.COLUMNS,
        tuple(report_chance.rows(w)),
        (2.9, 1.1, 1.5),
        right=frozenset({1, 2}),
    )
    shaded = Paragraph(report_chance.SHADED, "small")
    told, assumed = report_chance.sentences(w), report_chance.assumption(w)
    said = " ".join(text for text in told if text != assumed)
    beside = (table, Paragraph(said), Paragraph(assumed))
    return [Heading(report.CHANCE), Columns(((0.27, (picture, shaded)), (0.73, beside)))]


def _plans(w: Weighing) -> list[Block]:
    rows, shown = choices.rows(w), len(choices.shown(w))
    marked = next((i for i, row in enumerate(rows) if row.verdict), None)
    return [
        Heading(report.plans_heading(w)),
        Table(
            report_plans.columns(w),
            tuple(report_plans.cells(row, w.case.plan.most_risk) for row in rows),
            (3.2, 2.1, 2.5, 1.7, 1.5),
            right=frozenset(range(2, 5)),
            marked=marked,
        ),
        Paragraph(report_plans.note(w, rows, shown), "small"),
    ]


def _icons(w: Weighing, each: report_plans.Choice) -> Picture:
    until = words.keep_phrase(w.case)
    return Picture(
        drawn(charts.engines(each.failure, ""), *_ICONS),
        f"{each.name}: a failure within {until}, {formats.chance(each.failure)}. "
        f"{captions.engines(each.failure, f'within {until}')}",
        each.short,
        report_plans.counted(each, w.case.plan.most_risk),
    )


def _wait(w: Weighing) -> Block:
    """What waiting costs, beside the pictures of two choices."""
    told = [
        text for text in (report_sure.wager(w), " ".join(report_sure.waiting_a_year(w))) if text
    ]
    pictures = Columns(tuple((0.5, (_icons(w, each),)) for each in choices.pictured(w)))
    waiting = (Heading(report.YEAR), *_paragraphs(told)) if told else ()
    lead = Paragraph(report_plans.ICONS_LEAD, "small")
    return Columns(((0.29, (pictures,)), (0.71, (*waiting, lead))))


def _living(w: Weighing) -> list[Block]:
    rows = tuple(report_options.rows(w))
    return [
        Heading(report.LIVING),
        Table(report_options.COLUMNS, rows, (1.1, 2.1, 2.3, 2.1), small=True),
    ]


def _change(
    w: Weighing, changes: Sequence[FigureChange], free: Sequence[FigureChange]
) -> list[Block]:
    tips: list[Block] = [Heading(report.CHANGE), Items(tuple(report_what_if.tips(w)))]
    if not changes:
        return tips
    columns = report_what_if.columns(changes, free)
    table = Table(
        columns,
        tuple(report_what_if.rows(w, changes, free)),
        _WIDE if len(columns) > len(report_what_if.COLUMNS) else _NARROW,
        report_what_if.title(w),
        right=frozenset({2, 3}),
    )
    return [*tips, Together((table, Paragraph(report_what_if.note(w, changes, free), "small")))]


def _money(w: Weighing) -> list[Block]:
    """What now, the verdict's plan and never cost is made of, where that is known."""
    shown = report_plans.compared(w)
    if not shown:
        return []
    rows = tuple(spent.rows(w, shown))
    table = Table(
        report_plans.spent_columns(w, shown),
        rows,
        (3.0, *(2.9 / max(3, len(shown) + 1),) * len(shown)),
        right=frozenset(range(1, 1 + len(shown))),
        marked=len(rows) - 1,
        small=True,
    )
    return [Together((Heading(spent.HEADING), table, Paragraph(spent.LEAD, "small")))]


def _sure(w: Weighing) -> list[Block]:
    return [Heading(report.SURE), Items(tuple(report_sure.sure(w)))]


def _not_checked(w: Weighing) -> list[Block]:
    told = (report.NOT_LOOKED_AT, report.NOT_VERIFIED, *words.notes(w))
    return [Heading(report.NOT_CHECKED), Items(told)]


def _next(w: Weighing) -> list[Block]:
    known = words.cautions(w.case)
    steps = tuple(text for text in words.next_steps(w) if text not in known)
    then = report.decide_then(w)
    lead = [Paragraph(then)] if then else []
    return [Heading(report.NEXT), *lead, Items(steps, numbered=True)]


def _watch(w: Weighing) -> list[Block]:
    """The cautions but those of the first page."""
    told, first = words.cautions(w.case), dangers(w.case)
    return [Heading(report.WATCH), Items(tuple(text for text in told if text not in first))]


def _assumed(w: Weighing) -> list[Block]:
    judged, other = report_entered.assumed(w.entered)
    said = [report.ASSUMED_LEAD, report_sure.assumed_of_samples(w)]
    filled = [f"{report.FILLED_IN} {'; '.join(judged)}."] if judged else []
    filled += [f"{report.OF_PRACTICE} {'; '.join(other)}."] if other else []
    said.append(" ".join(filled) or report.NOTHING_FILLED_IN)
    return [Heading(report.ASSUMED), Paragraph(" ".join(text for text in said if text), "small")]


def _entered(w: Weighing, shortened: bool) -> list[Block]:
    found: list[Block] = [
        Heading(report.ENTERED),
        Paragraph(f"{report.ENTERED_LEAD} {report.WHO}", "small"),
        Terms(tuple(report_entered.entered(w.entered)), small=True),
    ]
    return [*found, Paragraph(report.SHORTENED, "small")] if shortened else found


def _paragraphs(texts: Sequence[str]) -> list[Block]:
    return [Paragraph(text) for text in texts]
