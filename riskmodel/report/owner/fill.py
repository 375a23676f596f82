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

MOST_PAGES = 2
_AHEAD, _ICONS = (345, 190), (150, 150)


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
    first = (*_head(w, date), *_verdict(w), *_chance(w), *_plans(w), *_year(w))
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


def _head(w: Weighing, date: str | None) -> tuple[Block, ...]:
    told = [report.machine(w.case), report.dated(w.case, date), report.out_of_date(w)]
    return (
        *_banner(w),
        Heading(report.title(w.case), 1),
        Paragraph(f"{'. '.join(text for text in told if text)}. {report.at_stake(w)}"),
    )


def _banner(w: Weighing) -> list[Block]:
    banner = words.example_banner(w.case)
    return [Paragraph(banner, "strong")] if banner else []


def _verdict(w: Weighing) -> list[Block]:
    said, tie = _paragraphs(report.verdict(w)), near_ties.verdict_tie(w)
    tie = f". {tie}" if tie else ""
    found: list[Block] = [
        Heading(report.VERDICT),
        Box((Paragraph(f"{words.headline(w)}{tie}", "strong"), *said)),
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
    beside = (table, *_paragraphs(report_chance.sentences(w)))
    return [Heading(report.CHANCE), Columns(((0.33, (picture, shaded)), (0.67, beside)))]


def _plans(w: Weighing) -> list[Block]:
    rows, shown = choices.rows(w), len(choices.shown(w))
    marked = next((i for i, row in enumerate(rows) if row.verdict), None)
    return [
        Heading(report.PLANS),
        Columns(tuple((0.25, (_icons(w, each),)) for each in choices.pictured(w))),
        Paragraph(report_plans.ICONS_LEAD, "small"),
        Table(
            report_plans.COLUMNS,
            tuple(report_plans.cells(row) for row in rows),
            (3.2, 2.0, 2.3, 1.3, 1.4, 1.0),
            report_plans.title(w),
            frozenset(range(2, 6)),
            marked,
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
        report_plans.counted(each),
        0.3,
    )


def _year(w: Weighing) -> list[Block]:
    told = report_sure.waiting_a_year(w)
    return [Heading(report.YEAR), Paragraph(" ".join(told))] if told else []


def _living(w: Weighing) -> list[Block]:
    rows = tuple(report_options.rows(w))
    return [
        Heading(report.LIVING),
        Table(report_options.COLUMNS, rows, (0.9, 2.1, 2.3, 2.1), small=True),
    ]


def _change(
    w: Weighing, changes: Sequence[FigureChange], free: Sequence[FigureChange]
) -> list[Block]:
    tips: list[Block] = [Heading(report.CHANGE), Items(tuple(report_what_if.tips(w)))]
    if not changes:
        return tips
    table = Table(
        report_what_if.COLUMNS,
        tuple(report_what_if.rows(w, changes, free)),
        (2.3, 2.7, 1.0, 1.7),
        report_what_if.title(w),
        right=frozenset({2}),
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
        (2.9, *(0.9,) * len(shown)),
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
    cautions = words.cautions(w.case)
    steps = tuple(text for text in words.next_steps(w) if text not in cautions)
    then = report.decide_then(w)
    lead = [Paragraph(then)] if then else []
    return [Heading(report.NEXT), *lead, Items(steps, numbered=True)]


def _watch(w: Weighing) -> list[Block]:
    return [Heading(report.WATCH), Items(tuple(words.cautions(w.case)))]


def _assumed(w: Weighing) -> list[Block]:
    judged, other = report_entered.assumed(w.case)
    said = [report.ASSUMED_LEAD, report_sure.assumed_of_samples(w)]
    filled = [f"{report.FILLED_IN} {'; '.join(judged)}."] if judged else []
    filled += [f"{report.OF_PRACTICE} {'; '.join(other)}."] if other else []
    said.append(" ".join(filled) or report.NOTHING_FILLED_IN)
    return [Heading(report.ASSUMED), Paragraph(" ".join(text for text in said if text), "small")]


def _entered(w: Weighing, shortened: bool) -> list[Block]:
    found: list[Block] = [
        Heading(report.ENTERED),
        Paragraph(f"{report.ENTERED_LEAD} {report.WHO}", "small"),
        Terms(tuple(report_entered.entered(w.case)), small=True),
    ]
    return [*found, Paragraph(report.SHORTENED, "small")] if shortened else found


def _paragraphs(texts: Sequence[str]) -> list[Block]:
    return [Paragraph(text) for text in texts]
