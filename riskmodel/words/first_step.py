"""What finding out more before deciding would cost and bring: sentences that a second sample and an
inspection have in common."""

from __future__ import annotations

from riskmodel.decision.results import Interval, Weighing
from riskmodel.words import formats
from riskmodel.words.plan_names import keep_phrase, plan_name


def cost_sentence(w: Weighing, name: str, cost: Interval, saves: Interval) -> str:
    """What the step and all that follows cost, against the best plan without it."""
    assert w.recommended is not None
    currency, step = w.case.cost.currency, formats.money_step(cost.value)
    gap = formats.rounded_money(abs(saves.value), step)
    other = f"the best plan without it (“{plan_name(w, w.recommended)}”)"
    against = f"as much as {other}"
    if gap > 0:
        side = "less" if saves.value > 0 else "more"
        against = f"{formats.money(gap, currency, step)} {side} than {other}"
    ends = formats.money_range(cost.low, cost.high, "")
    low, high = (formats.money(x, currency, step) for x in (saves.low, saves.high))
    return (
        f"{name}: about {formats.money(cost.value, currency)} in all ({ends}, nine times in ten), "
        f"{against}. Nine times in ten what it saves lies between {low} and {high}; below 0 it "
        "costs more."
    )


def outcome(
    w: Weighing,
    shows: str,
    chance: Interval,
    soon: Interval,
    at: float | None,
    *,
    at_once: bool,
    hurried: bool = False,
) -> str:
    """One outcome, the chance of failing soon given it, and the plan then best."""
    return (
        f"{formats.sentence(formats.chance(chance))} would {shows}. Then {formats.chance(soon)} "
        "like it would fail before the next oil change with the part left in, and it costs least "
        f"{_then(w, at, at_once=at_once, hurried=hurried)}."
    )


def failures(w: Weighing, failure: Interval) -> str:
    return (
        f"by the end of {keep_phrase(w.case)} {formats.chance(failure)} would see a failure, new "
        "parts and fitting faults included."
    )


def _then(w: Weighing, at: float | None, *, at_once: bool, hurried: bool) -> str:
    if at is None:
        alone = "to replace it only if a later sample alarms"
        return alone if w.case.sampled else "to leave the part in"
    if at_once:
        return f"to replace it at once{', at short notice' if hurried else ''}"
    first = w.plans[w.open_plans[0]]
    if first.at is not None and at <= first.at * (1 + 1e-9):
        return "to replace it as soon as the workshop can take it"
    return f"to replace it in {formats.usage(float(f'{at:.3g}'), w.case.machine.unit)} from now"
