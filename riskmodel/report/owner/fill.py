"""The owner's report of a weighing, as a document."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel import charts, words
from riskmodel.charts import tables
from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import FigureChange
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
)
from riskmodel.report.owner.pictures import drawn
from riskmodel.words import (
    captions,
    formats,
    information,
    oil,
    report,
    report_entered,
    report_options,
    report_what_if,
    retest,
    screen,
)

MOST_PAGES = 2
MOST_PLANS = 6
_AHEAD, _ICONS = (345, 230), (150, 150)


def report_part(
    w: Weighing, changes: Sequence[FigureChange], date: str | None, shortened: bool
) -> Part:
    """The report of `w`; `changes` are the verdicts with other figures, `date` the day of it.

    With symptoms it says stop, and nothing else.
    """
    if w.stop:
        return Part(_stop(w, date), MOST_PAGES, True)
    head = _head(w, date)
    first = (*head, *_choice(w), *_verdict(w), *_chance(w), *_plans(w))
    second = (*_sure(w), *_year(w), *_otherwise(w, changes), *_next(w), *_entered(w, shortened))
    return Part((*first, *second), MOST_PAGES)


def _stop(w: Weighing, date: str | None) -> tuple[Block, ...]:
    told = [screen.machine_line(w.case), report.dated(w.case, date)]
    return (
        *_banner(w),
        Heading(words.stop_heading(w.case), 1),
        *_paragraphs([text for text in told if text]),
        Items(tuple(words.stop_text(w.case))),
    )


def _head(w: Weighing, date: str | None) -> tuple[Block, ...]:
    days = [text for text in (report.dated(w.case, date), report.out_of_date(w)) if text]
    dated = f"{formats.sentence('; '.join(days))}."
    return (
        *_banner(w),
        Heading(report.title(w.case), 1),
        *_paragraphs([screen.machine_line(w.case), dated]),
    )


def _banner(w: Weighing) -> list[Block]:
    banner = words.example_banner(w.case)
    return [Box((Paragraph(banner, "strong"),))] if banner else []


def _verdict(w: Weighing) -> list[Block]:
    first = _first_step(w)
    said = first[0] if first else " ".join([words.cost_sentence(w), *words.ceiling_sentences(w)])
    found: list[Block] = [
        Heading(report.VERDICT),
        Box((Paragraph(words.headline(w), "strong"), Paragraph(said))),
    ]
    if first:
        found += [Heading(report.FIRST), Items(tuple(first[1:]))]
    return found


def _first_step(w: Weighing) -> list[str]:
    """What to find out before deciding, where the verdict says so: its cost, then the rest."""
    if w.first_step == "retest":
        return retest.retest_sentences(w)
    look = None if w.information is None else w.information.inspection
    if w.first_step != "inspection" or look is None:
        return []
    return information.inspection_sentences(w, look)


def _choice(w: Weighing) -> list[Block]:
    return [Paragraph(" ".join(report.at_stake(w)))]


def _chance(w: Weighing) -> list[Block]:
    said = words.chance_sentences(w)
    picture = Picture(drawn(charts.ahead(w), *_AHEAD, fewer=("x", 3)), captions.ahead(w))
    return [
        Heading(report.CHANCE),
        Columns(((0.34, (picture,)), (0.66, tuple(_paragraphs(said))))),
    ]


def _plans(w: Weighing) -> list[Block]:
    shown = charts.shown_plans(w, MOST_PLANS)
    year = report.year_plan(w)
    if year is not None and year not in shown:
        shown = sorted([*shown, year])
    notes = [tables.plans_note(w), words.plans_assumption(w), words.booking_note(w)]
    notes.append(report.left_out(w, len(shown)))
    return [
        Heading(report.PLANS),
        Columns(tuple((0.25, (_icons(w, i),)) for i in _pictured(w, year))),
        Paragraph(report.ICONS_LEAD, "small"),
        Table(
            report.PLAN_COLUMNS,
            tuple(report.plan_row(w, i) for i in shown),
            (4.9, 2.2, 1.25, 1.35, 1.0, 0.95),
            report.plan_title(w),
            frozenset(range(1, 6)),
            None if w.chosen is None else shown.index(w.chosen),
        ),
        Paragraph(" ".join(text for text in notes if text), "small"),
        Heading(report.LIVING),
        Table(report_options.COLUMNS, tuple(report_options.rows(w)), (1.1, 2.1, 2.3, 2.0)),
    ]


def _pictured(w: Weighing, year: int | None) -> list[int]:
    """The four plans that an owner thinks of first: the soonest, the verdict's, in a year, never;
    others of the table where some of these are one."""
    wanted = {w.open_plans[0], len(w.plans) - 1}
    wanted |= {i for i in (w.recommended, year) if i is not None}
    others = [i for i in charts.shown_plans(w) if i not in wanted and i in w.open_plans]
    while len(wanted) < 4 and others:
        wanted.add(others.pop(len(others) // 2))
    return sorted(wanted)


def _icons(w: Weighing, i: int) -> Picture:
    failure = w.plans[i].failure
    return Picture(
        drawn(charts.engines(failure, ""), *_ICONS),
        f"{captions.engines_of_plan(w, i)}, {formats.chance(failure)}. "
        f"{captions.engines(failure, f'within {words.keep_phrase(w.case)}')}",
        words.plan_short(w, i),
        f"{formats.chance_short(failure)} of 100",
        0.64,
    )


def _sure(w: Weighing) -> list[Block]:
    why = words.reasons(w)[:-1]
    if w.first_step:  # the owner's limit was not told of the verdict: it is of the plan without
        why[1:1] = words.ceiling_sentences(w)
    said = [*why, *_samples(w)]
    return [
        Heading(report.SURE),
        Items(tuple(said)),
    ]


def _samples(w: Weighing) -> list[str]:
    """What the samples say and cannot say: of all that is told of them, the least that must be."""
    told = oil.factor_sentences(w)
    if w.oil is None or len(told) < 5:
        return told
    return [f"{report.SAMPLES_COUNTED} {told[-4]}", told[-1]]


def _year(w: Weighing) -> list[Block]:
    told = report.waiting_a_year(w)
    return [Heading(report.YEAR), Paragraph(" ".join(told))] if told else []


def _otherwise(w: Weighing, changes: Sequence[FigureChange]) -> list[Block]:
    found: list[Block] = [
        Heading(report.CHANGE),
        Items(tuple(words.what_would_change(w)[:-1])),
    ]
    if not changes:
        return found
    return [
        *found,
        Table(
            report_what_if.COLUMNS,
            tuple(report_what_if.rows(w, changes)),
            (2.6, 1.9, 1.1, 2.1),
            report.OTHERWISE,
            right=frozenset({2}),
        ),
        Paragraph(report_what_if.note(w), "small"),
    ]


def _next(w: Weighing) -> list[Block]:
    cautions = words.cautions(w.case)
    steps = [text for text in words.next_steps(w) if text not in cautions]
    return [
        Heading(report.NEXT),
        Items(tuple(steps), numbered=True),
        Heading(report.WATCH),
        Items(tuple(cautions)),
        Heading(report.NOT_CHECKED),
        Items((report.NOT_LOOKED_AT, report.NOT_VERIFIED, *words.notes(w))),
    ]


def _entered(w: Weighing, shortened: bool) -> list[Block]:
    assumed = report_entered.assumed(w.case)
    said = f"{report.ASSUMED_LEAD} " + (
        f"{report.FILLED_IN} {'; '.join(assumed)}." if assumed else report.NOTHING_FILLED_IN
    )
    found: list[Block] = [
        Heading(report.ENTERED),
        Paragraph(f"{report.WHO} {report.ENTERED_LEAD}", "small"),
        Terms(
            tuple((f"{name}:", f"{text}.") for name, text in report_entered.entered(w.case)),
            small=True,
        ),
        Heading(report.ASSUMED),
        Paragraph(said, "small"),
    ]
    return [*found, Paragraph(report.SHORTENED, "small")] if shortened else found


def _paragraphs(texts: Sequence[str]) -> list[Block]:
    return [Paragraph(text) for text in texts]
