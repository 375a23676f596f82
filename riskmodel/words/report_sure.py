"""Why the plan of the owner's report, how sure it is, and what waiting a year costs."""

from __future__ import annotations

from riskmodel.decision.results import Interval, Sampled, Weighing
from riskmodel.words import first_step, formats, information, oil, spent
from riskmodel.words.near_ties import OVER_LIMIT, close_to, over_limit
from riskmodel.words.plan_names import (
    INSPECTION_NAME,
    cheapest,
    first_step_failure,
    keep_phrase,
    lower_first,
    plan_short,
    saving,
)
from riskmodel.words.report_plans import compared
from riskmodel.words.sheet_dates import by_then

SURE, LIKELY = 0.9, 0.6
"""From these shares of ways on, the verdict is called clear, and likelier right than not
(judgement)."""
WORTH_NAMING = 0.1
"""From this share of ways on, another plan is named beside the verdict (judgement)."""
NEWER = "not so many more, since a part fitted later is newer at the end"
NO_LOOK = (
    "What it would be worth to look at the part first was not worked out: no price for it was "
    "entered."
)


def beside(w: Weighing) -> str:
    """How sure the verdict is, in the box beside it; what else could be the cheapest, too."""
    i = w.chosen
    if i is None:
        return ""
    lead, without, these = _lead(w.all_plans[i].chance_cheapest), "", ""
    if w.first_step:
        without = "a second sample" if w.first_step == "retest" else "a look"
        without, these = f"Without {without}: ", " of the others"
        lead = lead[:1].lower() + lead[1:]
    tie = ""
    if w.recommended is not None and close_to(w, w.recommended):
        tie = " Let other things decide, such as a date that suits you."
    share = formats.of_100(w.all_plans[i].chance_cheapest)
    return (
        f"{without}{lead}. In {share} ways that prices and lives could turn out, "
        f"“{plan_short(w, i)}” is the cheapest plan{these}{_others(w, i)}. "
        f"Luck is left out of that.{tie}"
    )


def _lead(share: float) -> str:
    return "Quite" if share >= SURE else "Likely right" if share >= LIKELY else "Not very"


def _others(w: Weighing, best: int) -> str:
    """Which plans are the cheapest in the ways in which that of the verdict is not."""
    had = (k for k in range(w.open_plans[0], len(w.all_plans)) if k != best)
    most = sorted(had, key=lambda k: -w.all_plans[k].chance_cheapest)[:2]
    told = [
        f"“{plan_short(w, k)}”{_above(w, k)} in {formats.count(w.all_plans[k].chance_cheapest)}"
        for k in most
        if w.all_plans[k].chance_cheapest >= WORTH_NAMING
    ]
    return f", {formats.listed(told)}" if told else ""


def _above(w: Weighing, i: int) -> str:
    return f" ({OVER_LIMIT})" if over_limit(w, w.all_plans[i].failure) else ""


def sure(w: Weighing) -> list[str]:
    """Why the verdict, and how sure it is beyond what stands beside it, a sentence or two in each
    text."""
    i = w.recommended
    if i is None:
        return []
    against = " ".join(text for text in (_against(w, i), _whence(w, i)) if text)
    found = [against, *_samples(w)[:1], *_finding_out(w)]
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
    i = year_plan(w)
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
        f"on average{_beside_best(w, i)}."
    ]
    year = next((chance for chance in w.risk if chance.what == "one_year"), None)
    if year is not None:
        found.append(
            f"But in that year {formats.chance(year.chance)} would see the part fail. Over "
            f"{keep_phrase(w.case)}, {formats.chance(late.failure)} of those who wait would see a "
            f"failure, {formats.chance(soon.failure)} of those who do not"
            + (f": {NEWER}." if _fewer_more(soon.failure, late.failure, year.chance) else ".")
        )
    return found


def _fewer_more(soon: Interval, late: Interval, year: Interval) -> bool:
    """Whether those who wait see more failures as told, but fewer more than fail in the year."""
    counts = [formats.count_of_100(each.value) for each in (soon, late, year)]
    return 0 < counts[1] - counts[0] < counts[2]


def _beside_best(w: Weighing, year: int) -> str:
    """What waiting a year costs more than the best plan, where that is not the soonest."""
    best = w.recommended
    if best is None or best in (year, w.open_plans[0]):
        return ""
    return f" ({saving(w, year, best)} more than “{plan_short(w, best)}”)"


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


def _whence(w: Weighing, best: int) -> str:
    """Where the difference to the soonest plan comes from, by what money is spent on."""
    first = w.open_plans[0]
    if first == best:
        return ""
    told = spent.against(w, best, first, compared(w))
    return f"The difference to “{plan_short(w, first)}”: {told}." if told else ""


def _finding_out(w: Weighing) -> list[str]:
    """What a look and the samples to come are worth, where they are weighed and are not the
    verdict; that a look has no price, where it has none."""
    known = w.information
    if known is None or known.inspection is None:
        look = NO_LOOK
    elif w.first_step == "inspection":
        look = ""
    else:
        found = known.inspection
        look = first_step.cost_sentence(w, INSPECTION_NAME, found.cost, found.saves)
    samples = "" if known is None or known.samples is None else _sampling(w, known.samples)
    return [look, samples]


def _sampling(w: Weighing, found: Sampled) -> str:
    return information.samples_sentence(w, found).partition(": without samples")[0] + "."


def wager(w: Weighing) -> str:
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
        "average, whether or not the old part would have lasted. Later jobs, failures and oil "
        "changes are in it."
    )


def assumed_of_samples(w: Weighing) -> str:
    """What the samples are taken to tell; "" where none counts."""
    return " ".join(_samples(w)[1:])


def _samples(w: Weighing) -> list[str]:
    """What the samples cannot see, and what is assumed of them."""
    told = oil.factor_sentences(w)
    if w.oil is None or len(told) < 5:
        return told
    return [
        told[-4].replace("They cannot rule it out", "The oil samples cannot rule a failure out"),
        told[-1].replace("Main assumption", "Of the samples"),
    ]


def limit(w: Weighing) -> str:
    """How the verdict stands to the owner's ceiling, in a few words; "" where none is stated."""
    most = w.case.plan.most_risk
    if most is None or w.best is None or w.chosen is None:
        return ""
    asked = f"the limit you entered, {formats.share_of_100(most)} failures of 100"
    failure = first_step_failure(w) or w.all_plans[w.chosen].failure
    if failure.value > most:
        calmest = min(w.open_plans, key=lambda k: w.plans[k].failure.value)
        return (
            f"No plan keeps to {asked}. The lowest chance comes with “{plan_short(w, calmest)}”: "
            f"{formats.chance(w.plans[calmest].failure, most)}."
        )
    least = cheapest(w)
    kept = f"It keeps to {asked}"
    if failure.high > most:
        kept = f"By its middle figure it keeps to {asked}; it may be over"
    if w.first_step or w.chosen == least:
        return f"{kept}."
    return (
        f"{kept}, and costs {saving(w, w.chosen, least)} more than the cheapest plan of all, "
        f"“{plan_short(w, least)}”, with {formats.chance(w.all_plans[least].failure, most)}."
    )


def latest_plan(w: Weighing) -> int | None:
    """The last of the plans on a set date that keep to the owner's ceiling; None where none is
    stated, none keeps to it, or leaving the part in keeps to it as well."""
    if w.case.plan.most_risk is None or not over_limit(w, w.plans[-1].failure):
        return None
    kept = [i for i in w.open_plans if not over_limit(w, w.plans[i].failure)]
    return kept[-1] if kept else None


def latest_kept(w: Weighing) -> str:
    """The latest date within the owner's limit."""
    i = latest_plan(w)
    if i is None or w.chosen is None or w.sells:
        return ""
    if i == w.chosen and not w.first_step:
        return "No later plan keeps to it."
    return f"The latest plan that keeps to it: “{plan_short(w, i)}”, {by_then(w, w.plans[i])}."
