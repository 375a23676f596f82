"""The answer as text for a terminal; plain when piped."""

from __future__ import annotations

from collections.abc import Sequence

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from riskmodel import words
from riskmodel.decision.flips import WhatMoves
from riskmodel.decision.results import Weighing
from riskmodel.decision.sensitivity import WhatIf
from riskmodel.decision.use_study import UseStudy
from riskmodel.life.summary import LifeResult
from riskmodel.report.terminal_layout import put, wrapped
from riskmodel.risk.learned import Learned
from riskmodel.words import (
    formats,
    information,
    life,
    long_run,
    near_ties,
    oil,
    retest,
    swings,
    use,
    use_habits,
    what_if,
)

WIDTH = 100


def console() -> Console:
    """Standard output, no wider than is comfortable to read."""
    wide = Console(highlight=False, markup=False, emoji=False)
    return Console(
        highlight=False, markup=False, emoji=False, width=min(wide.width, WIDTH), soft_wrap=False
    )


def print_weighing(
    weighing: Weighing,
    learned: Learned | None = None,
    tried: Sequence[WhatIf] | None = None,
    moves: WhatMoves | None = None,
    driven: UseStudy | None = None,
) -> None:
    """Verdict first, then the chances, the plans, why, what would change it, how it was driven,
    what the records say (`learned`), the verdict under other assumptions (`tried`), the cautions;
    `driven` compares habits and tells where the interval of the chance comes from."""
    out, case = console(), weighing.case
    banner = words.example_banner(case)
    if banner:
        out.print(Text(banner, style="bold"))
        out.print()
    _heading(out, f"{case.machine.name}: {case.part.name}")
    if weighing.stop:
        out.print(Text(words.stop_heading(case), style="bold"))
        _paragraphs(out, words.stop_text(case))
        section(out, "Cautions", words.cautions(case))
        return
    out.print(wrapped(out, words.verdict(weighing), "bold"))
    tie = near_ties.verdict_tie(weighing)
    _paragraphs(out, [*([tie] if tie else []), *words.ceiling_sentences(weighing)])
    out.print()
    _paragraphs(out, words.chance_sentences(weighing))
    out.print()
    put(out, _plan_table(weighing), _plan_table(weighing, beneath=True))
    _paragraphs(out, [text for text in (words.booking_note(weighing),) if text])
    out.print(wrapped(out, words.plans_assumption(weighing)))
    if weighing.recommended is not None and case.sampled:
        alarm = oil.plan_alarm_sentence(weighing, weighing.recommended)
        _paragraphs(out, [alarm] if alarm else [])
    section(out, information.HEADING, information.information_sentences(weighing))
    section(out, retest.HEADING, retest.retest_sentences(weighing))
    section(out, "What the oil says", oil.factor_sentences(weighing))
    section(out, "Why", words.reasons(weighing))
    section(out, "What would change it", words.what_would_change(weighing))
    section(out, long_run.HEADING, [*long_run.lead(weighing), *long_run.details(weighing)[:1]])
    _print_use(out, weighing, driven)
    if moves is not None:
        told = [
            *swings.swing_sentences(weighing, moves.swings),
            *swings.flip_sentences(weighing, moves.flips),
        ]
        section(out, swings.HEADING, told)
    if tried is not None:
        section(out, what_if.HEADING, [what_if.summary(weighing, tried)])
    if learned is not None:
        _print_learned(out, weighing, learned)
    else:
        out.print()
        out.print(what_if.MORE)
    section(out, "To bear in mind", words.notes(weighing))
    section(out, "Next", words.next_steps(weighing))
    section(out, "Cautions", words.cautions(case))


def _print_use(out: Console, weighing: Weighing, driven: UseStudy | None) -> None:
    case = weighing.case
    if driven is None:
        section(out, use.HEADING, use.lead(weighing))
        return
    told = [*use.lead(weighing), *use.stretches(weighing), *use.details(weighing)]
    section(out, use.HEADING, [*told, *use.learned_sentences(driven.learned)])
    section(out, use_habits.HEADING, use_habits.sentences(case, driven.habits))
    section(out, use_habits.PARTS_HEADING, [use_habits.parts_sentence(case, driven.parts)])


def _print_learned(out: Console, weighing: Weighing, learned: Learned) -> None:
    case = weighing.case
    section(out, "What the records say", words.learned.source_sentences(case, learned))
    if case.records is None:
        return
    section(out, "Which curve", [words.learned.choice_sentence(case, learned)])
    section(out, "What sets engines apart", words.learned.effect_sentences(case, learned))
    remarks = words.learned.remark_items(learned) or [words.learned.NO_REMARKS]
    section(out, "The records looked over", remarks)


def print_life(result: LifeResult, unit: str) -> None:
    """The fitted curve, chances asked for, other distributions, warnings."""
    out = console()
    _paragraphs(out, life.summary(result, unit))
    if any(other.loglik is not None for other in result.comparison):
        table = Table(
            box=box.SIMPLE_HEAD, title=life.COMPARISON, title_justify="left", title_style=""
        )
        table.add_column("Distribution")
        table.add_column("log-likelihood", justify="right")
        table.add_column("AIC", justify="right")
        for name, loglik, aic in life.comparison_rows(result):
            table.add_row(name, loglik, aic)
        out.print()
        put(out, table)
    section(out, "What sets the parts apart", life.covariate_sentences(result))
    section(out, "Warnings", list(result.warnings))
    section(out, "The records looked over", [remark.sentence for remark in result.remarks])
    section(out, "Cautions", life.CAUTIONS)


def _plan_table(weighing: Weighing, beneath: bool = False) -> Table:
    """What each plan costs, the range beside the figure or `beneath` it."""
    case = weighing.case
    between = "\n" if beneath else " "
    money = f" [{case.cost.currency}]" if case.cost.currency else ""
    table = Table(
        box=box.SIMPLE_HEAD,
        title=f"Plans over {words.keep_phrase(case)} ({_marks(weighing)})",
        title_justify="left",
        title_style="",
        padding=(0, 0, 0, 1),
        pad_edge=False,
    )
    table.add_column("Replace", no_wrap=True)
    table.add_column(f"In\n[{case.machine.unit}]", justify="right", no_wrap=True)
    table.add_column(f"Average cost{money}\n(9 times in 10)", justify="right", no_wrap=True)
    table.add_column("A failure\nof 100", justify="right", no_wrap=True)
    table.add_column("Bad case\n1 in 20", justify="right", no_wrap=True)
    table.add_column("Cheapest\nof 100", justify="right", no_wrap=True)
    for i, plan in enumerate(weighing.all_plans):
        low, high = plan.cost.low, plan.cost.high
        table.add_row(
            ("*" if i == weighing.chosen else " ")
            + ("+" if near_ties.over_limit(weighing, plan.failure) else " ")
            + words.plan_short(weighing, i).removesuffix(" only").replace("oil change", "change"),
            "" if plan.at is None else f"{plan.at:,.0f}",
            f"{formats.money(plan.cost.value, '')}{between}"
            + _dashed(f"({formats.money_range(low, high, '')})"),
            _dashed(formats.chance_short(plan.failure, case.plan.most_risk)),
            formats.money(plan.bad_case, ""),
            formats.count(plan.chance_cheapest).replace("fewer than", "under"),
            style="bold" if i == weighing.chosen else "",
        )
    return table


def _marks(weighing: Weighing) -> str:
    """What the marks before the plans mean."""
    told = "* the one named above"
    if any(near_ties.over_limit(weighing, plan.failure) for plan in weighing.all_plans):
        told += f", + {near_ties.OVER_LIMIT}"
    return told


def _dashed(text: str) -> str:
    """A range where there is little room: "4 (2–7)"."""
    return text.replace(f"{formats.NBSP}to{formats.NBSP}", "–").replace(" to ", "–")


def _heading(out: Console, text: str) -> None:
    out.print(Text(text, style="underline"))
    out.print()


def section(out: Console, title: str, lines: list[str]) -> None:
    """A heading and its lines as a list; nothing where there are none."""
    if not lines:
        return
    out.print()
    out.print(Text(title, style="bold"))
    for line in lines:
        out.print(wrapped(out, f"- {line}"))


def _paragraphs(out: Console, lines: list[str]) -> None:
    for line in lines:
        out.print(wrapped(out, line))
