"""The choices side by side in the owner's report, and how to read their table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from riskmodel.decision.results import Interval, PlanResult, Weighing
from riskmodel.words import formats
from riskmodel.words.near_ties import CLOSE, OVER_LIMIT, over_limit
from riskmodel.words.plan_names import is_sale, plan_short

COLUMNS = ("Replace", "From now", "Average cost", "A failure, of 100", "Bad case")
_MONEY = ("Average cost", "Bad case")
LOOK, SAMPLE = "Look first, then decide", "Sample again, then decide"
LOOK_SHORT, SAMPLE_SHORT = "Look first", "Sample again"
NONE = "–"
ICONS_LEAD = (
    "Of 100 engines like this one: filled cross a failure, open cross one more within the range, "
    "dot none."
)


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice: `short` is its name where there is little room, `when` how far from now;
    `bad_case` is None where it is not worked out, `over` tells that its chance is above the
    owner's limit."""

    name: str
    short: str
    when: str
    cost: Interval
    failure: Interval
    bad_case: float | None
    verdict: bool
    over: bool


def finding_out(w: Weighing) -> list[Choice]:
    """To find out more before deciding, where that is weighed."""
    found = []
    look = None if w.information is None else w.information.inspection
    if look is not None:
        verdict = w.first_step == "inspection"
        over = over_limit(w, look.failure)
        found.append(Choice(LOOK, LOOK_SHORT, NONE, look.cost, look.failure, None, verdict, over))
    if w.retest is not None:
        when, verdict = formats.usage(w.retest.at, w.case.machine.unit), w.first_step == "retest"
        cost, failure = w.retest.cost, w.retest.failure
        over = over_limit(w, failure)
        found.append(Choice(SAMPLE, SAMPLE_SHORT, when, cost, failure, None, verdict, over))
    return found


def choice(w: Weighing, i: int) -> Choice:
    """One of all plans."""
    plan, name = w.all_plans[i], plan_short(w, i)
    verdict, over = i == w.chosen and not w.first_step, over_limit(w, plan.failure)
    return Choice(name, name, _when(w, plan), plan.cost, plan.failure, plan.bad_case, verdict, over)


def cells(row: Choice, limit: float | None = None) -> tuple[str, ...]:
    """A choice as a row under `columns`; `limit` is the owner's, where one is stated."""
    return (
        f"{row.name} ({OVER_LIMIT})" if row.over else row.name,
        row.when,
        f"{formats.money(row.cost.value, '')} "
        f"({formats.money_range(row.cost.low, row.cost.high, '')})".replace(" ", formats.NBSP),
        formats.chance_short(row.failure, limit),
        NONE if row.bad_case is None else formats.money(row.bad_case, ""),
    )


def counted(row: Choice, limit: float | None = None) -> str:
    """Under the picture of a choice, both ways round, in two lines: "16 of 100 fail" and "(9 to
    26), 84 do not"; `limit` as for `cells`."""
    low, high = formats.outward(row.failure)
    none = 100 - formats.count_of_100(row.failure.value)
    lines = (
        f"{formats.count_short(row.failure.value, limit)} of 100 fail",
        f"({low} to {high}), {none} do not",
    )
    # May be broken after the range alone.
    return "\n".join(
        line.replace(" ", formats.NBSP).replace(f",{formats.NBSP}", ", ") for line in lines
    )


def compared(w: Weighing) -> list[int]:
    """The soonest plan, that of the verdict and never, to tell what each costs is made of; empty
    where that is not known."""
    if w.recommended is None:
        return []
    found = sorted({w.open_plans[0], w.recommended, len(w.plans) - 1})
    return [] if any(w.plans[i].spent is None for i in found) else found


def spent_columns(w: Weighing, shown: Sequence[int]) -> tuple[str, ...]:
    """Above what each of the plans `shown` costs is made of."""
    money = f"On average, in {w.case.cost.currency}" if w.case.cost.currency else "On average"
    return (money, *(plan_short(w, i) for i in shown))


def columns(w: Weighing) -> tuple[str, ...]:
    """`COLUMNS` with the currency where money stands."""
    money = f", {w.case.cost.currency}" if w.case.cost.currency else ""
    return tuple(f"{name}{money if name in _MONEY else ''}" for name in COLUMNS)


def note(w: Weighing, rows: Sequence[Choice], shown: int) -> str:
    """How to read the table, what is left out of it (`shown` plans are in it), what it assumes."""
    reads = (
        "Bold: the verdict. In brackets: nine times in ten the true figure lies there, if the "
        "assumptions hold. Bad case: one in twenty pays more"
    )
    if _alike(rows):
        reads += ", about as much with each, since one failed engine makes it"
    reads += f" ({NONE}: not worked out)." if any(row.bad_case is None for row in rows) else "."
    if any(row.bad_case is not None and row.bad_case < row.cost.value for row in rows):
        reads += " It lies below the average where fewer than that see a failure."
    if any(row.cost.low < 0 for row in rows):
        reads += " Below 0, money is left over."
    return " ".join(text for text in (reads, _left_out(w, shown), new_parts(w)) if text)


def new_parts(w: Weighing) -> str:
    """What the chances and costs of the choices assume of the parts to come."""
    life, faulty = w.case.plan.new_part_life, formats.count(w.case.cost.install_fault.mean)
    share = formats.exact(round(life.low, 4))
    if not life.exact:
        share = f"{share} to {formats.exact(round(life.high, 4))}"
    return (
        f"Main assumption: a new part lasts {share} times as long as the first, and {faulty} of "
        "100 newly fitted parts fail at once."
    )


def _alike(rows: Sequence[Choice]) -> bool:
    """Whether the bad cases are nearly the same."""
    found = [row.bad_case for row in rows if row.bad_case is not None]
    return max(found) - min(found) <= CLOSE * max(found) and min(found) > 0


def _left_out(w: Weighing, shown: int) -> str:
    more = len(w.all_plans) - w.open_plans[0] - shown
    if more <= 0:
        return ""
    return "One more plan costs no less." if more == 1 else f"{more} more plans cost no less."


def _when(w: Weighing, plan: PlanResult) -> str:
    """ "8,000 km, 8 months"; the date of a lay-up."""
    if plan.at is None:
        return NONE
    if plan.at == 0 or is_sale(plan):
        return NONE
    machine, occasion = w.case.machine, plan.occasion
    ahead = formats.usage(float(f"{plan.at:.3g}"), machine.unit)
    if occasion is not None and occasion.kind == "year":
        return f"{ahead}, a year".replace(" ", formats.NBSP)
    if occasion is not None and occasion.date is not None:
        return formats.day(occasion.date).replace(" ", formats.NBSP)
    duration = formats.duration(plan.at / machine.usage_per_year).removeprefix("about ")
    return f"{ahead}, {duration}".replace(" ", formats.NBSP)
