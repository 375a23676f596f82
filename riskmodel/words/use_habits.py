"""Changed habits side by side, and where the interval of the chance comes from, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from riskmodel.decision.habits import Habit
from riskmodel.decision.results import Interval
from riskmodel.records.case import Case
from riskmodel.use.ahead import AS_NOW, HALF_USAGE, NO_COMPETITION, WARM_UP
from riskmodel.use.kinds import machine_of
from riskmodel.use.parts_of_spread import HARSHNESS, HISTORY, LEAD, OIL, RECORDS, SpreadParts
from riskmodel.words import formats
from riskmodel.words.plan_names import keep_phrase

HEADING = "Other habits from now on"
ABOUT = (
    "What would other habits change? Each is weighed like the case itself, with the same past; it "
    "takes some seconds."
)
ASK = "Compare habits"
WEIGHING = "Weighing other habits…"
NOTHING_ELSE = (
    "No other habit can be compared: none of the kinds of use ahead is one to give up, and the "
    "machine is kept for a given usage."
)
PARTS_HEADING = "What makes the chance unsure"
PARTS_TITLE = "What its range is owed to"
TOGETHER = "several of them acting together"
NONE = 1e-6
"""A share below this is no more than rounding."""
SMALL = 0.005
"""A share below this is left out of the sentence."""

_NAMES = {
    HARSHNESS: "how harsh hard use is",
    HISTORY: "how it was driven, where not told",
    LEAD: "how long warnings are",
    OIL: "how much the oil shows at all",
}
_LESS = {
    RECORDS: "more life records",
    HARSHNESS: "records that tell how parts were used",
    HISTORY: "more about how it was driven",
    LEAD: "knowing how long such parts give warning",
    OIL: "knowing how many failures the oil never shows",
}


def name(case: Case, key: str) -> str:
    """A habit in a few words."""
    car = machine_of(case.machine.unit) == "car"
    return {
        AS_NOW: "as now",
        WARM_UP: "warmed up properly",
        NO_COMPETITION: "no more competition days" if car else "no more long full power",
        HALF_USAGE: "half the yearly usage",
    }[key]


def sentences(case: Case, found: Sequence[Habit]) -> list[str]:
    """What each change does to the chance, the plan and the money."""
    if not found:
        return []
    now, *others = found
    if not others:
        return [NOTHING_ELSE]
    return [*(_sentence(case, now, each) for each in others), note(found)]


def note(found: Sequence[Habit]) -> str:
    """What the comparison does not count."""
    half = any(each.key == HALF_USAGE for each in found)
    less = (
        " Half the usage is compared over the same years; what the machine then does not do is not "
        "priced."
        if half
        else ""
    )
    return (
        "Compared on the same engine, whatever its past was like, so that the difference is known "
        f"better than either chance; prices at their middle, no habit priced itself.{less}"
    )


def table(case: Case, found: Sequence[Habit]) -> pd.DataFrame:
    """The habits side by side."""
    currency = case.cost.currency
    return pd.DataFrame(
        [
            {
                "From now on": formats.sentence(name(case, each.key)),
                "Failures of 100 within a year": formats.chance_short(each.chance),
                "Fewer of 1,000 than as now": "" if each.key == AS_NOW else fewer(each.less),
                "Plan that then costs least": formats.sentence(plan(case, each)),
                f"Cost over {keep_phrase(case)}": _money(each.cost, currency),
                "Saves": "" if each.key == AS_NOW else _money(each.gained, currency),
            }
            for each in found
        ]
    )


def plan(case: Case, habit: Habit) -> str:
    """The plan that then costs least: "replace it now", "replace it in 23,000 km"."""
    if habit.at is None:
        return "replace it on an alarm only" if case.sampled else "leave it in"
    if habit.at == 0 or habit.years is None:
        return "replace it now"
    change = f", at the {formats.ordinal(habit.service)} oil change" if habit.service else ""
    ahead = formats.usage(float(f"{habit.at:.3g}"), case.machine.unit)
    return f"replace it in {ahead}{change}"


def fewer(less: Interval) -> str:
    """ "12 (−1 to 30)": failures fewer of 1,000, the ends rounded outwards."""
    low, high = math.floor(1000 * less.low), math.ceil(1000 * less.high)
    ends = f"{formats.number(low)} to {formats.number(high)}"
    return f"{formats.number(round(1000 * less.value))} ({ends})".replace(" ", formats.NBSP)


def part_names(case: Case) -> dict[str, str]:
    """Each part of the interval in a few words."""
    records = "life records" if case.records is not None else "what is believed of its life"
    return {RECORDS: records, **_NAMES}


def parts_sentence(case: Case, found: SpreadParts) -> str:
    """What the range of the chance is owed to, and what would narrow it most."""
    if found.deviation == 0:
        return "Nothing about the chance before the next oil change is left open in this case."
    names = part_names(case)
    ranked = sorted(zip(found.shares, found.names, strict=True), reverse=True)
    told = [f"{names[key]} ({_of_100(share)})" for share, key in ranked if share >= SMALL]
    if found.together >= SMALL:
        told.append(f"{TOGETHER} ({_of_100(found.together)})")
    most = _LESS[ranked[0][1]]
    if ranked[0][1] == RECORDS and case.records is None:
        most = "life records"
    return (
        "Of 100 parts of what makes the chance before the next oil change unsure, so many are "
        f"owed to {formats.listed(told)}. Most would be gained by {most}."
    )


def parts_table(case: Case, found: SpreadParts) -> pd.DataFrame:
    """The shares behind the bar."""
    return pd.DataFrame(
        [{"From": each, "Share of 100": _of_100(share)} for each, share in part_rows(case, found)]
    )


def part_rows(case: Case, found: SpreadParts) -> list[tuple[str, float]]:
    """Every part with its share, in the order in which they are told."""
    names = part_names(case)
    rows = [
        (formats.sentence(names[key]), share)
        for key, share in zip(found.names, found.shares, strict=True)
    ]
    return [*rows, (formats.sentence(TOGETHER), found.together)]


def share_label(share: float) -> str:
    """A share beside its bar."""
    return _of_100(share)


def _of_100(share: float) -> str:
    return formats.count_short(share) if share > NONE else "0"


def _sentence(case: Case, now: Habit, habit: Habit) -> str:
    currency = case.cost.currency
    least, most = math.floor(1000 * habit.less.low), math.ceil(1000 * habit.less.high)
    count = round(1000 * habit.less.value)
    change = f"about {formats.number(count)} fewer" if count else "hardly any fewer"
    if least < 0 < most:
        ends = f"between {formats.number(-least)} more and {formats.number(most)} fewer"
    else:
        ends = f"between {formats.number(least)} and {formats.number(most)}"
    then = plan(case, habit)
    still = "still " if plan(case, now) == then else "then "
    what = f"the cheapest plan is {still}to {then}"
    gained = formats.money(habit.gained.value, currency)
    low, high = habit.gained.low, habit.gained.high
    saves = f"it saves about {gained} ({formats.money_range(low, high, '')})"
    if habit.gained.value < 0:
        lost = Interval(-habit.gained.value, -high, -low)
        saves = (
            f"it costs about {formats.money(lost.value, currency)} more "
            f"({formats.money_range(lost.low, lost.high, '')})"
        )
    return (
        f"{formats.sentence(name(case, habit.key))}: {formats.chance(habit.chance)} would fail "
        f"within a year if left in, {change} of 1,000 than as now ({ends}); {what}; {saves} over "
        f"{keep_phrase(case)}."
    )


def _money(cost: Interval, currency: str) -> str:
    return f"{formats.money(cost.value, currency)} ({formats.money_range(cost.low, cost.high, '')})"
