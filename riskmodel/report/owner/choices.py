"""Which of many plans the owner's report shows, and with which other figures."""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.decision.what_if_figures import FigureChange, with_and_without_limit
from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.words.report_plans import Choice, choice, finding_out
from riskmodel.words.report_sure import latest_plan, year_plan

Changes = tuple[tuple[FigureChange, ...], tuple[FigureChange, ...]]
"""The verdicts with other figures, kept to the owner's limit, and the same without it."""
MOST = 6
"""So many choices stand in the table, or one more where all of them are asked for."""


def shown(w: Weighing) -> list[int]:
    """Of the plans that can be had: the soonest, the verdict's, in a year, the latest within the
    owner's limit, never, selling where it is weighed, the cheapest, the next oil change, and others
    evenly."""
    first, last, everything = w.open_plans[0], len(w.plans) - 1, len(w.all_plans)
    had = range(first, everything)
    kept = {first, *range(last, everything)}
    asked = (w.recommended, w.chosen, year_plan(w), latest_plan(w))
    kept |= {i for i in asked if i is not None and i in had}
    most = MOST - len(finding_out(w))
    by_cost = sorted(had, key=lambda i: w.all_plans[i].cost.value)
    for i in [by_cost[0], *(i for i in had if w.all_plans[i].service == 1)]:
        if len(kept) < most:
            kept.add(i)
    while len(kept) < min(most, len(had)):
        # Into the widest gap, so that the shape of the whole is kept.
        ordered = sorted(kept)
        gap = max(range(len(ordered) - 1), key=lambda k: ordered[k + 1] - ordered[k])
        if ordered[gap + 1] - ordered[gap] < 2:
            break
        kept.add((ordered[gap] + ordered[gap + 1]) // 2)
    return sorted(kept)


def rows(w: Weighing) -> list[Choice]:
    """To find out more first where that is weighed, then the plans shown."""
    return [*finding_out(w), *(choice(w, i) for i in shown(w))]


def pictured(w: Weighing) -> list[Choice]:
    """The verdict's and never, side by side; where never is the verdict, or it is to sell, the
    soonest and never; never alone where nothing else can be had."""
    found, last = [each for each in finding_out(w) if each.verdict], len(w.plans) - 1
    if not found:
        one = w.recommended if w.recommended not in (None, last) and not w.sells else None
        one = w.open_plans[0] if one is None else one
        found = [choice(w, one)] if one != last else []
    return [*found, choice(w, last)]


def other_figures(case: Case, curves: Curves | None = None) -> Changes:
    """The verdict if a figure turns out otherwise, and without the owner's limit where one is
    stated (else none), so that what keeping to it costs is not hidden.

    Raises CannotAnswer as `what_if_figures` does.
    """
    return with_and_without_limit(case, curves)
