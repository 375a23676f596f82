"""The plans in words: their names, the verdict, why it wins and what would change it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from riskmodel.decision.occasions import Occasion
from riskmodel.decision.results import Interval, PlanResult, Weighing
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.formats import NBSP

CLOSE = 0.03
"""Plans within this share of the lowest expected cost are called nearly a tie (judgement)."""


def plan_name(w: Weighing, i: int) -> str:
    """A plan in full: "Replace at the 3rd oil change (in 21,200 km, about 17 months)"."""
    plan = w.plans[i]
    if plan.at is None:
        if w.case.sampled:
            return "Replace only if a sample alarms"
        return "Never replace while you keep it"
    return f"Replace {_place(w, plan)}"


def plan_short(w: Weighing, i: int) -> str:
    """A plan in two or three words: "Now", "3rd oil change", "In a year", "On alarm only"."""
    plan = w.plans[i]
    service = plan.service
    if plan.occasion is not None:
        return _occasion_short(w.case, plan.occasion)
    if service is None:
        return "On alarm only" if w.case.sampled else "Never"
    return formats.sentence(_service(service)) if service else "Now"


def retest_name(case: Case) -> str:
    """The plan to draw a second sample soon, in full."""
    ahead = formats.usage(case.oil.retest_in, case.machine.unit)
    return f"Sample again in {ahead}, then decide"


def first_step_failure(w: Weighing) -> Interval | None:
    """The chance of a failure under the plan to find out more first, where that costs least."""
    if w.first_step == "retest" and w.retest is not None:
        return w.retest.failure
    if w.first_step == "inspection" and w.information is not None:
        look = w.information.inspection
        return None if look is None else look.failure
    return None


INSPECTION_NAME = "Look at the part first, then decide"
"""The plan to inspect before anything else."""


def first_step_name(w: Weighing) -> str:
    """The plan to find out more first, where that costs least; else ""."""
    if w.first_step == "retest":
        return retest_name(w.case)
    return INSPECTION_NAME if w.first_step == "inspection" else ""


def first_step_cost(w: Weighing) -> Interval | None:
    """What that plan costs."""
    if w.first_step == "retest" and w.retest is not None:
        return w.retest.cost
    if w.first_step == "inspection" and w.information is not None:
        look = w.information.inspection
        return None if look is None else look.cost
    return None


def keep_phrase(case: Case) -> str:
    """How long the machine is kept: "the 3 years you keep it"."""
    if case.plan.keep_usage is None and case.plan.keep_years is not None:
        years = formats.exact(case.plan.keep_years)
        noun = "year" if years == "1" else "years"
        return f"the {years}{NBSP}{noun} you keep it"
    return f"the {formats.usage(case.keep, case.machine.unit)} you keep it"


def cheapest(w: Weighing) -> int:
    """The plan with the lowest expected cost, of those that can be had."""
    return min(w.open_plans, key=lambda i: w.plans[i].cost.value)


def headline(w: Weighing) -> str:
    """The verdict in a few words, for the top of a page."""
    i = w.recommended
    if i is None:
        return "Stop: no plan while there are symptoms"
    start = "Cheapest" if i == cheapest(w) else "Cheapest within your limit"
    if w.first_step:
        return f"{start}: {_lower(first_step_name(w))}"
    plan = w.plans[i]
    if plan.at is None:
        if w.case.sampled:
            return f"{start}: replace it only if a sample alarms"
        return f"{start}: do not replace it while you keep it"
    return f"{start}: replace {_place(w, plan, brackets=False)}"


def verdict(w: Weighing) -> str:
    """The verdict in one plain sentence; the stop sentence where there are symptoms."""
    i = w.recommended
    if i is None:
        return "Stop: do not start the engine, have it towed. Symptoms replace every verdict."
    first = first_step_cost(w)
    if first is not None:
        cost = formats.money(first.value, w.case.cost.currency)
        return (
            f"On these figures it costs least to {_lower(first_step_name(w))}: about {cost} in "
            f"all over {keep_phrase(w.case)}. Without that it costs least {_to_do(w, i)}."
        )
    cost = formats.money(w.plans[i].cost.value, w.case.cost.currency)
    limit = "" if i == cheapest(w) else f", within your limit of {_ceiling(w)} failures of 100,"
    return (
        f"On these figures{limit} it costs least {_to_do(w, i)}: about {cost} in all over "
        f"{keep_phrase(w.case)}."
    )


def cost_sentence(w: Weighing) -> str:
    """What the plan of the verdict costs, to stand under the headline."""
    i = w.recommended
    if i is None:
        return ""
    currency, first = w.case.cost.currency, first_step_cost(w)
    spent = w.plans[i].cost if first is None else first
    ends = formats.money_range(spent.low, spent.high, "")
    return (
        f"About {formats.money(spent.value, currency)} in all over {keep_phrase(w.case)} "
        f"({ends}, nine times in ten): the job, the oil changes and what failures would cost, on "
        "average over good and bad luck."
    )


def ceiling_sentences(w: Weighing) -> list[str]:
    """What the owner's ceiling on the chance of a failure does to the verdict."""
    i, least = w.recommended, cheapest(w)
    if w.case.plan.most_risk is None or i is None:
        return []
    if all(plan.failure.value > w.case.plan.most_risk for plan in w.plans):
        calmest = min(range(len(w.plans)), key=lambda k: w.plans[k].failure.value)
        return [
            f"You asked for at most {_ceiling(w)} failures of 100. No plan keeps to that. The "
            f"lowest chance comes with “{plan_name(w, calmest)}”: "
            f"{formats.chance(w.plans[calmest].failure)}, for {saving(w, calmest, least)} more."
        ]
    if i == least:
        failure = first_step_failure(w) or w.plans[i].failure
        return [
            f"It keeps to your limit of {_ceiling(w)} failures of 100: "
            f"{formats.chance(failure)} would see one."
        ]
    return [
        f"That is {saving(w, i, least)} more than the cheapest plan of all, {_to_do(w, least)}. "
        f"Of 100 engines {formats.count(w.plans[i].failure.value)} would see a failure "
        f"({formats.between(w.plans[i].failure)}) instead of "
        f"{formats.count(w.plans[least].failure.value)} "
        f"({formats.between(w.plans[least].failure)})."
    ]


def reasons(w: Weighing) -> list[str]:
    """Why the plan of the verdict wins, and by how little or how much."""
    i = w.recommended
    if i is None:
        return []
    found = [_without_first_step(w, i), _against_rivals(w, i), _nearly_a_tie(w, i), _how_sure(w, i)]
    found += [_waiting(w), _failure_side(w, i)]
    return [text for text in found if text]


def what_would_change(w: Weighing) -> list[str]:
    """At which figures the choice between now and later would tip over."""
    trade = w.trade_off
    if w.recommended is None or trade is None:
        return []
    currency, found = w.case.cost.currency, _limit_to_change(w)
    until = formats.usage(trade.until, w.case.machine.unit)
    if trade.break_even_chance is None:
        side = "waiting" if trade.wait.value < trade.now.value else "replacing now"
        found.append(
            f"No chance of failure over the next {until} would tip the choice: {side} costs less "
            "whatever it is."
        )
    else:
        found.append(
            f"The chance of failure over the next {until}: now it is "
            f"{formats.chance(trade.chance)}. Waiting costs less while it is below "
            f"{_level(trade.break_even_chance)}; above that, replacing now does."
        )
    engine = formats.money(w.case.cost.failure.mean, currency)
    if trade.break_even_failure_price is None:
        found.append("The price of a failure: no price within reason would tip the choice.")
    else:
        price = formats.money(trade.break_even_failure_price, currency)
        found.append(
            f"The price of a failure: {engine} on average in your figures, consequences not "
            f"counted. Replacing now costs less from about {price} upwards."
        )
    found.append(
        "How long you keep it, the price of the job, and what the next oil change brings to "
        "light. Change a figure to see the verdict follow."
    )
    return found


def _limit_to_change(w: Weighing) -> list[str]:
    """Up to where the owner's ceiling would have to go for the cheapest plan of all."""
    i, least = w.recommended, cheapest(w)
    if i in (None, least):
        return []
    enough = math.ceil(100 * w.plans[least].failure.value)
    return [
        f"Your limit of {_ceiling(w)} failures of 100: from about {enough} upwards the cheapest "
        f"plan of all, {_to_do(w, least)}, comes within it."
    ]


def saving(w: Weighing, dear: int, cheap: int) -> str:
    """What one plan costs more than another, as the reader can check it in the table."""
    step = formats.money_step(w.plans[cheap].cost.value)
    gap = formats.rounded_money(w.plans[dear].cost.value, step) - formats.rounded_money(
        w.plans[cheap].cost.value, step
    )
    if gap <= 0:
        return f"less than {formats.money(step, w.case.cost.currency, step)}"
    return f"about {formats.money(gap, w.case.cost.currency, step)}"


@dataclass(frozen=True, slots=True)
class _Rival:
    index: int
    name: str


def _rivals(w: Weighing, best: int) -> list[_Rival]:
    """The plans of another kind that an owner would think of first: now, the best of the
    later ones, never; without the kind of `best` itself."""
    later = [i for i, plan in enumerate(w.plans) if plan.service]
    kinds = [_Rival(0, "replacing now"), _Rival(len(w.plans) - 1, _never(w))]
    if later:
        i = min(later, key=lambda k: w.plans[k].cost.value)
        kinds.insert(1, _Rival(i, f"replacing at the {_service(w.plans[i].service or 0)}"))
    kinds = [rival for rival in kinds if rival.index in w.open_plans]
    return [r for r in kinds if r.index != best and not (r.index in later and best in later)]


def _without_first_step(w: Weighing, best: int) -> str:
    if not w.first_step:
        return ""
    without = "a second sample" if w.first_step == "retest" else "a look first"
    return (
        f"Of the plans without {without} the cheapest is “{plan_name(w, best)}”; what follows "
        "speaks of it."
    )


def _against_rivals(w: Weighing, best: int) -> str:
    """What it saves against the plans that an owner would think of first, or costs more."""
    less, more = [], []
    for rival in _rivals(w, best):
        if w.plans[rival.index].cost.value >= w.plans[best].cost.value:
            less.append(f"{saving(w, rival.index, best)} less than {rival.name}")
        else:
            more.append(f"{saving(w, best, rival.index)} more than {rival.name}")
    parts = [formats.listed(part) for part in (less, more) if part]
    return f"It costs {', but '.join(parts)}." if parts else ""


def _nearly_a_tie(w: Weighing, best: int) -> str:
    close = [i for i in _close(w, best) if i != best]
    if not close:
        return ""
    if len(close) > 1 and all(w.plans[i].service for i in (*close, best)):
        at = sorted(w.plans[i].service or 0 for i in (*close, best))
        return (
            f"The oil changes from the {formats.ordinal(at[0])} to the {formats.ordinal(at[-1])} "
            "are nearly a tie: which of them you choose matters little."
        )
    names = formats.listed([f"“{plan_short(w, i)}”" for i in close])
    return (
        f"It is nearly a tie with {names}: let other things decide, such as a date that suits you "
        "or what you would rather live with."
    )


def _close(w: Weighing, best: int) -> list[int]:
    """The plans whose cost is within `CLOSE` of the best plan's, itself included."""
    cost = w.plans[best].cost.value
    return [i for i, plan in enumerate(w.plans) if abs(plan.cost.value - cost) <= CLOSE * abs(cost)]


def _how_sure(w: Weighing, best: int) -> str:
    share = formats.of_100(w.plans[best].chance_cheapest)
    return (
        f"Prices and lives are not known exactly. In {share} ways that they could turn out, this "
        "plan is the cheapest on average. That counts what is not known, not good or bad luck."
    )


def _waiting(w: Weighing) -> str:
    """What waiting one more service buys and what it puts at stake."""
    trade, currency = w.trade_off, w.case.cost.currency
    if trade is None:
        return ""
    lasts, fails = (formats.money(x, currency) for x in (trade.if_lasts, trade.if_fails))
    return (
        "Waiting to the next oil change is a wager: if the part lasts until then, all that "
        f"follows costs about {lasts}; if it fails before, about {fails}. Replacing now costs "
        f"about {formats.money(trade.now.value, currency)} either way."
    )


def _failure_side(w: Weighing, best: int) -> str:
    plan, never = w.plans[best], w.plans[-1]
    if best == len(w.plans) - 1:
        return (
            f"Its price is risk: with the part left in, {formats.chance(plan.failure)} would see a "
            f"failure within {keep_phrase(w.case)}. The bad case, which one in twenty exceeds, "
            f"is {_bad(w, plan)}."
        )
    return (
        f"With this plan {formats.chance(plan.failure)} would see a failure within "
        f"{keep_phrase(w.case)}, fitting faults and new parts included; {_never_done(w)}, "
        f"{formats.chance(never.failure)}. The bad case, which one in twenty exceeds, is "
        f"{_bad(w, plan)} against {_bad(w, never)}."
    )


def _never(w: Weighing) -> str:
    return "waiting for an alarm" if w.case.sampled else "never replacing it"


def _never_done(w: Weighing) -> str:
    if w.case.sampled:
        return "with the part replaced only if a sample alarms"
    return "with the part never replaced"


def _bad(w: Weighing, plan: PlanResult) -> str:
    return formats.money(plan.bad_case, w.case.cost.currency)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _ceiling(w: Weighing) -> str:
    assert w.case.plan.most_risk is not None
    return formats.exact(round(100 * w.case.plan.most_risk, 6))


def _level(chance: float) -> str:
    """A chance that is a threshold, not an estimate."""
    return formats.of_100(chance)


def _service(service: int) -> str:
    return "next oil change" if service == 1 else f"{formats.ordinal(service)} oil change"


def _when(case: Case, at: float) -> str:
    years = formats.duration(at / case.machine.usage_per_year)
    return f"{formats.usage(at, case.machine.unit)}, {years}"


def _to_do(w: Weighing, i: int) -> str:
    plan = w.plans[i]
    if plan.at is None:
        return "to replace it only if a sample alarms" if w.case.sampled else "never to replace it"
    return f"to replace {_place(w, plan)}"


def _place(w: Weighing, plan: PlanResult, *, brackets: bool = True) -> str:
    """When a plan replaces: "now", "at the 3rd oil change (in 21,200 km, about 17 months)"."""
    if plan.at is None or plan.service == 0:
        return "now"
    case, occasion = w.case, plan.occasion
    name = f"at the {_service(plan.service or 0)}"
    when = _when(case, plan.at)
    if occasion is not None:
        name, when = _occasion(case, occasion), _when(case, float(f"{plan.at:.3g}"))
        if occasion.kind == "year":
            when = formats.usage(plan.at, case.machine.unit)
    return f"{name} (in {when})" if brackets else f"{name}, in {when}"


def _closed_plans(w: Weighing) -> str:
    names = [f"“{plan_short(w, i)}”" for i in range(w.open_plans[0])]
    return f"{formats.listed(names)} {'stands' if len(names) == 1 else 'stand'}"


def booking_note(w: Weighing) -> str:
    """That "now" can't be had; "" where it can."""
    weeks = w.case.plan.booking_weeks
    if not weeks:
        return ""
    many = f"{formats.exact(weeks)}{NBSP}week{'' if weeks == 1 else 's'}"
    return (
        f"{_closed_plans(w)} there to compare with and cannot be had: the workshop is booked "
        f"{many} ahead."
    )


def _occasion(case: Case, occasion: Occasion) -> str:
    """ "as soon as the workshop can take it", "in a year", "at the lay-up on 14 November 2026"."""
    if occasion.kind == "booking":
        return "as soon as the workshop can take it"
    if occasion.kind == "job":
        return f"together with {case.plan.other_job or 'the other job'}"
    if occasion.kind == "lay_up" and occasion.date is not None:
        return f"at the lay-up on {formats.day(occasion.date)}"
    if occasion.reading is not None:
        return f"at {formats.usage(occasion.reading, case.machine.unit)} on the meter"
    return "in a year"


def _occasion_short(case: Case, occasion: Occasion) -> str:
    if occasion.kind == "booking":
        weeks = case.plan.booking_weeks
        return f"In {formats.exact(weeks)} week{'' if weeks == 1 else 's'}"
    if occasion.kind == "job":
        return "With other job"
    if occasion.kind == "lay_up" and occasion.date is not None:
        return f"Lay-up {occasion.date[:4]}"
    if occasion.reading is not None:
        return f"At {formats.usage(occasion.reading, case.machine.unit)}"
    return "In a year"
