"""Why the plan of the owner's report, how sure it is, and what waiting a year costs."""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.words import formats, oil
from riskmodel.words.near_ties import close_to, named
from riskmodel.words.plan_names import (
    cheapest,
    first_step_failure,
    keep_phrase,
    lower_first,
    plan_short,
    saving,
)

SURE, LIKELY = 0.9, 0.6
"""From these shares of ways on, the verdict is called clear, and likelier right than not
(judgement)."""
SAMPLES_COUNTED = "The oil samples are counted in the chances."


def sure(w: Weighing) -> list[str]:
    """How sure the verdict is and why, a sentence or two in each text."""
    i = w.recommended
    if i is None:
        return []
    found = [_certain(w), _against(w, i), _tie(w, i), _wager(w), *_samples(w)[:1]]
    return [text for text in found if text]


def year_plan(w: Weighing) -> int | None:
    """The plan to replace in a year, be it at an oil change; None where none lies there."""
    year, near = w.case.machine.usage_per_year, 0.02 * w.case.interval
    for i, plan in enumerate(w.plans):
        if plan.at is not None and abs(plan.at - year) <= near:
            return i
    return None


def waiting_a_year(w: Weighing) -> list[str]:
    """What it costs, and risks, to wait a year instead of replacing at the first chance."""
    i, currency = year_plan(w), w.case.cost.currency
    if i is None and w.keep > w.case.machine.usage_per_year:
        return []
    if i is None:
        return [
            f"You keep it for no more than a year or so ({keep_phrase(w.case)}): the last plans of "
            "the table are those that wait."
        ]
    first = w.open_plans[0]
    soon, late = w.plans[first], w.plans[i]
    if late.cost.value >= soon.cost.value:
        gap = f"costs {saving(w, i, first)} more"
    else:
        gap = f"saves {saving(w, first, i)}"
    name = plan_short(w, i)
    named = "" if name == "In a year" else f" (“{name}”)"
    found = [
        f"Waiting a year{named} instead of replacing “{lower_first(plan_short(w, first))}” {gap} "
        f"on average: {formats.money(late.cost.value, currency)} in all instead of "
        f"{formats.money(soon.cost.value, currency)}."
    ]
    year = next((chance for chance in w.risk if chance.what == "one_year"), None)
    if year is not None:
        found.append(
            f"But in that year {formats.chance(year.chance)} would see the part fail. Over "
            f"{keep_phrase(w.case)}, {formats.chance(late.failure)} of those who wait would see a "
            f"failure, {formats.chance(soon.failure)} of those who do not."
        )
    return found


def _certain(w: Weighing) -> str:
    """In how many ways that what is not known could turn out the verdict's plan is the cheapest."""
    i = w.chosen
    if i is None:
        return ""
    share, name = w.all_plans[i].chance_cheapest, plan_short(w, i)
    lead = "Quite" if share >= SURE else "Likely right" if share >= LIKELY else "Not very"
    without, these = "", ""
    if w.first_step:
        without = "a second sample" if w.first_step == "retest" else "a look"
        without, these = f"Without {without}: ", " of the others"
        lead = lead[:1].lower() + lead[1:]
    return (
        f"{without}{lead}. In {formats.of_100(share)} ways that prices and lives could turn out, "
        f"“{name}” is the cheapest plan{these} on average, good and bad "
        "luck left aside."
    )


def _against(w: Weighing, best: int) -> str:
    """What it saves, or costs more, against the soonest plan and against leaving it in."""
    less, more, most = [], [], w.case.plan.most_risk
    for i in dict.fromkeys((w.open_plans[0], len(w.plans) - 1)):
        if i == best:
            continue
        above = most is not None and w.plans[i].failure.value > most
        name = f"“{plan_short(w, i)}”{', which is above your limit' if above else ''}"
        if w.plans[i].cost.value >= w.plans[best].cost.value:
            less.append(f"{saving(w, i, best)} less than {name}")
        else:
            more.append(f"{saving(w, best, i)} more than {name}")
    told = ", but ".join(formats.listed(part) for part in (less, more) if part)
    return f"“{plan_short(w, best)}” costs {told}." if told else ""


def _tie(w: Weighing, best: int) -> str:
    close = close_to(w, best)
    if not close:
        return ""
    return (
        f"It is nearly a tie with {named(w, close)}: let other things decide, such as a date that "
        "suits you."
    )


def _wager(w: Weighing) -> str:
    """What waiting one more service buys and what it puts at stake."""
    trade, currency = w.trade_off, w.case.cost.currency
    if trade is None:
        return ""
    lasts, fails, now = (
        formats.money(x, currency) for x in (trade.if_lasts, trade.if_fails, trade.now.value)
    )
    return (
        f"Waiting to the next oil change is a wager: on average about {lasts} in all if the part "
        f"lasts until then, about {fails} if it fails before. Replacing now: about {now} on "
        "average, whether or not the old part would have lasted. Each includes what follows: later "
        "jobs, failures and oil changes."
    )


def assumed_of_samples(w: Weighing) -> str:
    """What the samples are taken to tell; "" where none counts."""
    return " ".join(_samples(w)[1:])


def _samples(w: Weighing) -> list[str]:
    """What the samples cannot see, and what is assumed of them."""
    told = oil.factor_sentences(w)
    if w.oil is None or len(told) < 5:
        return told
    return [f"{SAMPLES_COUNTED} {told[-4]}", told[-1].replace("Main assumption", "Of the samples")]


def limit(w: Weighing) -> str:
    """How the verdict stands to the owner's ceiling, in a few words; "" where none is stated."""
    most = w.case.plan.most_risk
    if most is None or w.best is None or w.chosen is None:
        return ""
    asked = f"your limit of {formats.exact(round(100 * most, 6))} failures of 100"
    failure = first_step_failure(w) or w.all_plans[w.chosen].failure
    if failure.value > most:
        calmest = min(w.open_plans, key=lambda k: w.plans[k].failure.value)
        return (
            f"No plan keeps to {asked}. The lowest chance comes with “{plan_short(w, calmest)}”: "
            f"{formats.chance(w.plans[calmest].failure)}."
        )
    least = cheapest(w)
    kept = f"It keeps to {asked}"
    if w.first_step or w.chosen == least:
        return f"{kept}."
    return (
        f"{kept}, and costs {saving(w, w.chosen, least)} more than the cheapest plan of all, "
        f"“{plan_short(w, least)}”, with {formats.chance(w.all_plans[least].failure)}."
    )
