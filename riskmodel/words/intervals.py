"""Changing and sampling the oil at other intervals, in words and as tables."""

from __future__ import annotations

import math

import pandas as pd

from riskmodel.decision.intervals import IntervalRow, IntervalStudy, Outcome
from riskmodel.decision.pf_rule import ACCEPTED
from riskmodel.decision.results import Interval
from riskmodel.records.case import Case
from riskmodel.words import formats

HEADING = "Changing and sampling the oil more often, or less"
ABOUT = (
    "What other oil intervals would cost and catch: the plans are weighed again at half the "
    "interval, three quarters, as now, and one and a half times. It takes some seconds."
)
ASK, STUDYING = "Try other oil intervals", "Trying other oil intervals…"
SOONER = "Trouble seen sooner, life as it is"
LONGER = "And with the longer life that is claimed for fresher oil"
WARNING = "Beside it: samples in the warning time"
FIGURES = "Samples in the warning time"
GAMMA = "How much fresher oil lengthens life (0: not at all; 1: half the interval, twice the life)"
COST_TITLE = "Cost a year"
OIL = "Oil and samples"
PLAN, PLAN_IN = "Best plan", "Replace in"
KEY = ["● life as it is; band: nine times in ten"]
KEY_LONGER = ["● life as it is  ◆ longer life as claimed", "band: nine times in ten"]
MAKER = (
    "No figure here makes a longer interval than the maker's a good one: what old oil does to the "
    "rest of the engine is not in it."
)


def every(case: Case, row: IntervalRow) -> str:
    """ "5,000 km", "10,000 km (as now)"."""
    told = formats.usage(row.every, case.machine.unit)
    return f"{told} (as now)" if row.now else told


def plan(case: Case, outcome: Outcome) -> str:
    """The best plan in a few words."""
    if outcome.at is None:
        return "On alarm only" if case.sampled else "Never"
    if outcome.at == 0:
        return "Now"
    return f"In {formats.usage(float(f'{outcome.at:.3g}'), case.machine.unit)}"


def table(study: IntervalStudy, longer: bool = False, currency: str | None = None) -> pd.DataFrame:
    """What each interval comes to; `longer` with the longer life claimed, in `currency` (left out:
    the case's)."""
    case = study.case
    currency = case.cost.currency if currency is None else currency
    rows = []
    for row in study.rows:
        found = row.longer if longer else row.sooner
        if found is None:
            continue
        told = {
            "Oil change every": _with_life(case, row) if longer else every(case, row),
            PLAN: plan(case, found),
            "Cost a year": _money(found.cost, currency),
            OIL: formats.money(found.oil, currency),
            "Against now": "" if row.now else _more(found.dearer, currency),
            "Failures of 100": formats.chance_short(found.failure),
            "Urgent jobs per 100": per_100(found.urgent),
            "Other alarms per 100": per_100(found.other_alarms),
        }
        if not case.sampled:
            told = {key: value for key, value in told.items() if "per 100" not in key}
        rows.append(told)
    return pd.DataFrame(rows)


def warning_table(study: IntervalStudy) -> pd.DataFrame:
    """The engineer's rule beside what the model says."""
    rows = [
        {
            "Sample every": every(study.case, row),
            "Samples in a short warning": _samples(row.warned.short),
            "In a middling one": _samples(row.warned.middle),
            "In a long one": _samples(row.warned.long),
            "One sees it, of 100": formats.count_short(row.warned.sees),
            "Caught, by the rule": formats.count_short(1 - row.warned.missed),
            "Caught, by the model": formats.chance_short(
                Interval(
                    row.warned.caught.caught.mean,
                    row.warned.caught.caught.low,
                    row.warned.caught.caught.high,
                )
            ),
        }
        for row in study.rows
        if row.warned is not None
    ]
    return pd.DataFrame(rows)


def summary(study: IntervalStudy) -> list[str]:
    """What the study comes to."""
    case = study.case
    rows = study.rows
    now = next(row for row in rows if row.now)
    told = []
    best = min(rows, key=lambda row: row.sooner.cost.value)
    currency = case.cost.currency
    if best.now:
        told.append(
            f"With life as it is, the interval now, {formats.usage(now.every, case.machine.unit)}, "
            f"costs least of those tried: {_a_year(now.sooner, currency)}."
        )
    else:
        told.append(
            f"With life as it is, an oil change every {every(case, best)} costs least of those "
            f"tried: {_a_year(best.sooner, currency)}, {_against(best.sooner, currency)}."
        )
    told += _effect(study, rows)
    if study.gamma > 0:
        told.append(_longer(study))
    else:
        told.append(
            "Nothing is claimed here for fresher oil: life is the same at every interval. State "
            "how much it lengthens life (on the page in the box for it, in a case file as "
            "oil.life_gamma) to see what a claim would be worth."
        )
    told.append(MAKER)
    return told


def note(study: IntervalStudy) -> str:
    """What the columns mean."""
    years = formats.exact(round(study.years, 2))
    alarms = (
        " Urgent jobs: replacements after an alarm. Other alarms: nothing was found, or it came "
        "too late. Both count new parts; more than one may fall to an engine."
        if study.case.sampled
        else ""
    )
    return (
        f"All within {years} {'year' if years == '1' else 'years'}, with the best plan at that "
        "interval. In brackets: nine times in ten the true figure lies there. The ranges of two "
        "intervals go up and down together: “Against now” is the difference itself. The next oil "
        "change stays where it is unless it is farther off than the interval." + alarms
    )


def longer_note(study: IntervalStudy) -> str:
    """How the longer life is worked in."""
    return (
        f"Claimed, not known: life grows as (interval now / interval) to the power "
        f"{formats.exact(study.gamma)}. It is worked in as wear that goes slower from today on: "
        "what is left to the part in it, the life of new parts and the warning time all grow by "
        "the factor in brackets."
    )


def warning_sentences(study: IntervalStudy) -> list[str]:
    """The net P-F interval and the rule for samples in it."""
    if study.needed is None:
        return []
    unit, (short, middle, long) = study.case.machine.unit, study.net
    lead = (
        "From the first sign that a sample could show to the failure, less the time to the result "
        f"(the net P-F interval): about {_whole(middle)} {unit}, nine times in ten between "
        f"{_whole(short)} and {_whole(long)} {unit}."
    )
    miss = formats.count(ACCEPTED)
    if not math.isfinite(study.needed) or middle <= 0:
        return [lead, "No sample drawn in that time would lead to a replacement."]
    wanted = math.ceil(study.needed - 1e-9)
    rule = (
        f"The rule of thumb for inspections wants so many samples in it that at most {miss} of "
        f"100 are missed: with a sample as it is now {wanted}, so one every "
        f"about {_whole(middle / wanted)} {unit}. It takes the warning time as known and every "
        "sample as equally telling. The model does not: early samples show less than late ones, "
        "the warning differs from part to part, and some failures give none at all (they count as "
        "missed in its column, and are left out of the rule's)."
    )
    return [lead, rule]


def _with_life(case: Case, row: IntervalRow) -> str:
    if row.now:
        return every(case, row)
    return f"{every(case, row)} (\u00d7\u00a0{row.life_factor:.2f})"


def per_100(counted: Interval) -> str:
    """How many to 100 engines, with its interval; may be above 100."""
    low, high = math.floor(100 * counted.low + 1e-9), math.ceil(100 * counted.high - 1e-9)
    if counted.high == 0:
        return "0"
    value = 100 * counted.value
    told = "under 1" if value < formats.NEARLY_ONE else f"{math.floor(value + 0.5):,}"
    return f"{told} ({low:,} to {high:,})".replace(" ", formats.NBSP)


def _effect(study: IntervalStudy, rows: tuple[IntervalRow, ...]) -> list[str]:
    """What sampling most often does to failures and alarms, against now."""
    case, often, now = study.case, rows[0], next(row for row in rows if row.now)
    if often.now or not case.sampled:
        return []
    return [
        f"Seen sooner: at {formats.usage(often.every, case.machine.unit)} "
        f"{formats.of_100(often.sooner.failure.value)} would see a failure against "
        f"{formats.count(now.sooner.failure.value)} as now, each with its own best plan. Alarms "
        f"per 100 engines: {_plain(often.sooner.urgent)} that lead to a replacement (now "
        f"{_plain(now.sooner.urgent)}) and {_plain(often.sooner.other_alarms)} others (now "
        f"{_plain(now.sooner.other_alarms)})."
    ]


def _longer(study: IntervalStudy) -> str:
    case, currency = study.case, study.case.cost.currency
    told = [row for row in study.rows if row.longer is not None]
    best = min(told, key=lambda row: row.longer.cost.value if row.longer else math.inf)
    assert best.longer is not None
    start = (
        f"If life grows as (interval now / interval) to the power {formats.exact(study.gamma)}, as "
        "claimed here, "
    )
    if best.now:
        return start + "the interval now costs least of those tried."
    return (
        f"{start}an oil change every {every(case, best)} costs least of those tried: "
        f"{_a_year(best.longer, currency)}, {_against(best.longer, currency)}."
    )


def _a_year(found: Outcome, currency: str) -> str:
    ends = formats.money_range(found.cost.low, found.cost.high, "")
    return f"about {formats.money(found.cost.value, currency)} a year ({ends})"


def _against(found: Outcome, currency: str) -> str:
    gap, step = found.dearer, formats.money_step(found.cost.value)
    size = formats.money(abs(gap.value), currency, step)
    what = "less" if gap.value < 0 else "more"
    low, high = sorted((abs(gap.low), abs(gap.high)))
    if gap.low < 0 < gap.high:
        return f"{size} {what} than now, though what is not known could turn it round"
    return f"{size} {what} than now ({formats.money_range(low, high, '')})"


def _money(cost: Interval, currency: str) -> str:
    return f"{formats.money(cost.value, currency)} ({formats.money_range(cost.low, cost.high, '')})"


def _more(gap: Interval, currency: str) -> str:
    """A difference with its sign: "+199 (160 to 240)"."""
    step = max(1.0, formats.money_step(max(abs(gap.low), abs(gap.high))))
    sign = "+" if gap.value > 0 else ""
    ends = formats.money_range(gap.low, gap.high, "")
    return f"{sign}{formats.money(gap.value, currency, step)} ({ends})"


def _samples(count: float) -> str:
    return f"{count:.1f}"


def _whole(value: float) -> str:
    return formats.significant(value, 2) if value else "0"


def _plain(counted: Interval) -> str:
    value = 100 * counted.value
    return "fewer than 1" if value < formats.NEARLY_ONE else f"{math.floor(value + 0.5):,}"
