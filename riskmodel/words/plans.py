"""The plans in words: the verdict, why it wins and what would change it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from riskmodel.decision.results import PlanResult, Weighing
from riskmodel.words import formats, spent
from riskmodel.words.chances import chance_to_wait
from riskmodel.words.formats import NBSP
from riskmodel.words.near_ties import close_to, named
from riskmodel.words.plan_names import (
    cheapest,
    first_step_cost,
    first_step_failure,
    first_step_name,
    in_all,
    keep_phrase,
    lower_first,
    place,
    plan_name,
    plan_short,
    saving,
    service_name,
    to_do,
)
from riskmodel.words.sale import sale_to_change, selling


def headline(w: Weighing) -> str:
    """The verdict in a few words, for the top of a page."""
    i = w.chosen
    if i is None:
        return "Stop: no plan while there are symptoms"
    start = "Cheapest" if i == cheapest(w) else "Cheapest within your limit"
    if w.sells:
        return f"{start}: sell it today, the buyer told of the part"
    if w.first_step:
        return f"{start}: {lower_first(first_step_name(w))}"
    plan = w.all_plans[i]
    if plan.at is None:
        if w.case.sampled:
            return f"{start}: replace it only if a sample alarms"
        return f"{start}: do not replace it while you keep it"
    return f"{start}: replace {place(w, plan, brackets=False)}"


def verdict(w: Weighing) -> str:
    """The verdict in one plain sentence; the stop sentence where there are symptoms."""
    i = w.chosen
    if i is None:
        return "Stop: do not start the engine, have it towed. Symptoms replace every verdict."
    first = first_step_cost(w)
    if first is not None:
        cost = formats.money(first.value, w.case.cost.currency)
        return (
            f"On these figures it costs least to {lower_first(first_step_name(w))}: about {cost} "
            f"in all over {keep_phrase(w.case)}. Without that it costs least {to_do(w, i)}."
        )
    spent = w.all_plans[i].cost.value
    limit = "" if i == cheapest(w) else f", within your limit of {_ceiling(w)} failures of 100,"
    if w.sells and w.best is not None and w.recommended is not None:
        kept = formats.money(w.best.cost.value, w.case.cost.currency)
        return (
            f"On these figures{limit} it costs least {to_do(w, i)}: {in_all(w, spent)} over "
            f"{keep_phrase(w.case)}, life without it included. Of the plans that keep it the "
            f"best is {to_do(w, w.recommended)}: about {kept}."
        )
    return (
        f"On these figures{limit} it costs least {to_do(w, i)}: about "
        f"{formats.money(spent, w.case.cost.currency)} in all over {keep_phrase(w.case)}."
    )


def cost_sentence(w: Weighing) -> str:
    """What the plan of the verdict costs, to stand under the headline."""
    i = w.chosen
    if i is None:
        return ""
    currency, first = w.case.cost.currency, first_step_cost(w)
    spent = w.all_plans[i].cost if first is None else first
    ends = formats.money_range(spent.low, spent.high, "")
    if w.sells and w.best is not None:
        return (
            f"{formats.sentence(in_all(w, spent.value))} over {keep_phrase(w.case)} "
            f"({ends}, nine times in ten): life without it, less the upkeep saved and what it "
            "fetches today beyond what it would fetch later. Keeping it would cost about "
            f"{formats.money(w.best.cost.value, currency)} at best."
        )
    return (
        f"About {formats.money(spent.value, currency)} in all over {keep_phrase(w.case)} "
        f"({ends}, nine times in ten): the job, the oil changes and what failures would cost, on "
        "average over good and bad luck."
    )


def ceiling_sentences(w: Weighing) -> list[str]:
    """What the owner's ceiling on the chance of a failure does to the verdict."""
    i, least = w.chosen, cheapest(w)
    if w.case.plan.most_risk is None or i is None:
        return []
    if w.sells:
        dearer = "" if i == least else f", for {saving(w, i, least)} more than the cheapest of all"
        return [
            f"Your limit of {_ceiling(w)} failures of 100 is kept: once it is sold, none is yours"
            f"{dearer}."
        ]
    failure = first_step_failure(w) or w.plans[i].failure
    if failure.value > w.case.plan.most_risk:
        calmest = min(w.open_plans, key=lambda k: w.plans[k].failure.value)
        dearer = "" if calmest == least else f", for {saving(w, calmest, least)} more"
        return [
            f"You asked for at most {_ceiling(w)} failures of 100. No plan keeps to that. The "
            f"lowest chance comes with “{plan_name(w, calmest)}”: "
            f"{formats.chance(w.plans[calmest].failure, w.case.plan.most_risk)}{dearer}."
        ]
    if i == least:
        asked = f"your limit of {_ceiling(w)} failures of 100"
        kept = f"It keeps to {asked}"
        if failure.high > w.case.plan.most_risk:
            kept = f"By its middle figure it keeps to {asked}, and may be over"
        told = formats.chance(failure, w.case.plan.most_risk)
        return [f"{kept}: {told} would see one."]
    instead = w.plans[least].failure
    count, dearer = (
        formats.count(each.value, w.case.plan.most_risk) for each in (w.plans[i].failure, instead)
    )
    return [
        f"That is {saving(w, i, least)} more than the cheapest plan of all, {to_do(w, least)}. "
        f"Of 100 engines {count} would see a failure "
        f"({formats.between(w.plans[i].failure)}) instead of {dearer} "
        f"({formats.between(instead)})."
    ]


def reasons(w: Weighing) -> list[str]:
    """Why the plan of the verdict wins, and by how little or how much."""
    i = w.recommended
    if i is None:
        return []
    found = [
        selling(w, i),
        _without_first_step(w, i),
        _against_rivals(w, i),
        _nearly_a_tie(w, i),
        _how_sure(w, i),
    ]
    found += [_money(w, i), _waiting(w), _failure_side(w, i)]
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
            f"{chance_to_wait(w, trade)}. Waiting costs less while it is below "
            f"{_level(trade.break_even_chance)}; above that, replacing now does."
        )
    engine = formats.money(w.entered.cost.failure.mean, currency)
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
    return [*found, *sale_to_change(w)]


def _limit_to_change(w: Weighing) -> list[str]:
    """Up to where the owner's ceiling would have to go for the cheapest plan of all."""
    i, least = w.chosen, cheapest(w)
    if i in (None, least):
        return []
    enough = math.ceil(100 * w.all_plans[least].failure.value)
    return [
        f"Your limit of {_ceiling(w)} failures of 100: from about {enough} upwards the cheapest "
        f"plan of all, {to_do(w, least)}, comes within it."
    ]


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
        kinds.insert(1, _Rival(i, f"replacing at the {service_name(w.plans[i].service or 0)}"))
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
    close = close_to(w, best)
    if not close:
        return ""
    if len(close) > 1 and all(w.plans[i].service for i in (*close, best)):
        at = sorted(w.plans[i].service or 0 for i in (*close, best))
        return (
            f"The oil changes from the {formats.ordinal(at[0])} to the {formats.ordinal(at[-1])} "
            "are nearly a tie: which of them you choose matters little."
        )
    return (
        f"It is nearly a tie with {named(w, close)}: let other things decide, such as a date that "
        "suits you or what you would rather live with."
    )


def _how_sure(w: Weighing, best: int) -> str:
    share = formats.of_100(w.plans[best].chance_cheapest)
    return (
        f"Prices and lives are not known exactly. In {share} ways that they could turn out, this "
        "plan is the cheapest on average. That counts what is not known, not good or bad luck."
    )


def _money(w: Weighing, best: int) -> str:
    made_of = spent.sentence(w, best)
    cost = formats.money(w.plans[best].cost.value, w.case.cost.currency)
    return f"It costs about {cost} in all. {made_of}" if made_of else ""


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


def _ceiling(w: Weighing) -> str:
    assert w.case.plan.most_risk is not None
    return formats.share_of_100(w.case.plan.most_risk)


def _level(chance: float) -> str:
    """A chance that is a threshold, not an estimate."""
    return formats.of_100(chance)


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
