"""Sampling again soon, then deciding: its cost, what either result would mean, what it rests on."""

from __future__ import annotations

from riskmodel.decision.results import Retest, RetestBranch, Weighing
from riskmodel.words import formats
from riskmodel.words.oil_names import element
from riskmodel.words.plans import keep_phrase, plan_name, retest_name

HEADING = "A second sample soon"
_ASSUMPTION = (
    "Main assumption: distress shows in oil that has run so little as the course of wear says, "
    "which is a judgement; a laboratory's rounding is counted. A clear result does not rule it out."
)


def retest_sentences(w: Weighing) -> list[str]:
    """Empty where no second sample was weighed."""
    found, best = w.retest, w.recommended
    if found is None or best is None:
        return []
    return [
        _cost(w, found, best),
        f"{_result(w, 'a surge', found.if_surge)} {_limits(found)}",
        _result(w, "no surge", found.if_clear),
        f"Until the result is in ({formats.usage(found.acts_at, w.case.machine.unit)} from now), "
        f"{formats.chance(found.first)} would fail; by the end of {keep_phrase(w.case)} "
        f"{formats.chance(found.failure)} would see a failure, new parts and fitting faults "
        "included.",
        _ASSUMPTION,
    ]


def _cost(w: Weighing, found: Retest, best: int) -> str:
    currency, saves = w.case.cost.currency, found.saves
    step = formats.money_step(found.cost.value)
    gap = formats.rounded_money(abs(saves.value), step)
    other = f"the best plan without it (“{plan_name(w, best)}”)"
    against = (
        f"{formats.money(gap, currency, step)} {'less' if saves.value > 0 else 'more'} than {other}"
        if gap > 0
        else f"as much as {other}"
    )
    ends = formats.money_range(found.cost.low, found.cost.high, "")
    low, high = (formats.money(x, currency, step) for x in (saves.low, saves.high))
    return (
        f"{retest_name(w.case)}: about {formats.money(found.cost.value, currency)} in all ({ends}, "
        f"nine times in ten), {against}. Nine times in ten what it saves lies between {low} and "
        f"{high}; below 0 it costs more."
    )


def _result(w: Weighing, what: str, branch: RetestBranch) -> str:
    then = _then(w, branch)
    return (
        f"{formats.sentence(formats.chance(branch.chance))} would show {what}. Then "
        f"{formats.chance(branch.soon)} like it would fail before the next oil change with the "
        f"part left in, and it costs least {then}."
    )


def _then(w: Weighing, branch: RetestBranch) -> str:
    if branch.at is None:
        alone = "to replace it only if a later sample alarms"
        return alone if w.case.sampled else "to leave the part in"
    if branch.at_once:
        return "to replace it at once"
    return f"to replace it in {formats.usage(branch.at, w.case.machine.unit)} from now"


def _limits(found: Retest) -> str:
    """What counts as a surge, in ppm of each element alone."""
    told = [
        f"{element(symbol)} above {formats.exact(float(f'{limit:.2g}'))} ppm"
        for symbol, limit in found.limits.items()
        if limit < 1e4
    ]
    if not told:
        return ""
    return (
        f"A surge means {formats.listed(told, 'or')}, each on its own; less is enough where "
        f"several rise together. Without distress {formats.of_100(found.false_alarm)} would pass "
        "that."
    )
