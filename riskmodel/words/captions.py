"""What each chart says, in a sentence under it and for those who cannot see it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.results import Interval, Weighing
from riskmodel.oil.limits import OwnLimit
from riskmodel.oil.mass_balance import SampleRates
from riskmodel.records.case import Case
from riskmodel.risk.learned import Learned
from riskmodel.words import formats
from riskmodel.words.chances import chance_headline, chance_to_wait
from riskmodel.words.oil_names import element
from riskmodel.words.oil_times import times_as_likely
from riskmodel.words.plan_names import (
    cheapest,
    keep_phrase,
    plan_name,
    plan_short,
    without_first_step,
)


def trade_off(w: Weighing) -> str:
    """Where this engine stands between waiting and replacing now."""
    trade = w.trade_off
    if trade is None:
        return ""
    here = chance_to_wait(w, trade)
    if trade.break_even_chance is None:
        less = "waiting" if trade.wait.value < trade.now.value else "replacing now"
        return (
            f"The lines do not cross: {less} costs less whatever the chance. This engine's chance "
            f"of failure before the next oil change is {here}."
        )
    cross = formats.of_100(trade.break_even_chance)
    low, high = trade.chance.low, trade.chance.high
    if high < trade.break_even_chance:
        side = "The whole of its interval lies where waiting costs less."
    elif low > trade.break_even_chance:
        side = "The whole of its interval lies where replacing now costs less."
    else:
        side = "The crossing lies within its interval: what is known does not settle the choice."
    return (
        f"The costs cross at {cross}. This engine's chance, the diamond, is {here}; the band is "
        f"where it lies nine times in ten. {side}"
    )


def trade_off_wait_label(w: Weighing) -> str:
    """The plan that waiting stands for in the trade-off."""
    assert w.trade_off is not None
    later = w.plans[w.trade_off.later]
    service = later.service
    if later.occasion is not None:
        short = plan_short(w, w.trade_off.later)
        return f"wait, replace {short[0].lower() + short[1:]}"
    if service is None:
        return "wait for an alarm" if w.case.sampled else "wait, and never replace"
    if service == 1:
        return "wait to the next oil change"
    return f"wait, replace at the {formats.ordinal(service)} oil change"


def plans(w: Weighing) -> str:
    """What the plans side by side say."""
    least = cheapest(w)
    everything = w.all_plans
    had = range(w.open_plans[0], len(everything))
    calm = min(had, key=lambda i: everything[i].failure.value)
    limit = w.case.plan.most_risk
    text = (
        f"Lowest average cost{without_first_step(w)}: “{plan_short(w, least)}”, with a failure in "
        f"{formats.chance(everything[least].failure, limit)} within {keep_phrase(w.case)}."
    )
    if calm == least:
        of_these = " of those that can be had" if len(had) < len(everything) else ""
        return f"{text} Lowest chance of a failure{of_these}: the same plan."
    return (
        f"{text} Lowest chance of a failure: “{plan_short(w, calm)}”, "
        f"{formats.chance(everything[calm].failure, limit)}."
    )


def ahead(w: Weighing) -> str:
    """How the chance grows if the part is left in."""
    keep = next(c for c in w.risk if c.what == "keep_until")
    far = formats.usage(keep.ahead, w.case.machine.unit)
    return (
        "With the part left in, the chance that it has failed grows to "
        f"{formats.chance(keep.chance)} by {far} from now. The band is where the true curve lies "
        "nine times in ten, if the assumptions hold."
    )


def engines(chance: Interval, when: str) -> str:
    """A hundred engines as icons, in words."""
    text = f"Filled crosses: {formats.of_100(chance.value)} engines would fail {when}."
    most = formats.outward(chance)[1]
    if most > max(formats.count_of_100(chance.value), 0):
        text += f" Open crosses: it may be as many as {most}."
    return text


def soon(w: Weighing) -> str:
    return chance_headline(w)


def engines_of_plan(w: Weighing, i: int) -> str:
    """What a hundred icons of one plan show."""
    return f"{plan_name(w, i)}: a failure within {keep_phrase(w.case)}"


def life_curve(case: Case, learnt: Learned) -> str:
    """What the curves of the share failed by each age are, and how to read them."""
    text = (
        "How many of 100 parts have failed by each age. Thick line: an average engine, by all that "
        "is known; the band is where its true curve lies nine times in ten, if the assumptions "
        "hold."
    )
    seen = learnt.observed
    if seen is not None and seen.reason is None:
        text += " Thin line: as observed, with no curve assumed"
        text += "; where it slopes, the records do not tell when." if _open(learnt) else "."
        text += " Small dots: where that lies nine times in ten." if seen.low is not None else ""
        text += "".join(f" {note}" for note in seen.notes)
    elif seen is not None:
        text += f" {seen.reason}"
    if learnt.by_records.curve is not None:
        text += " Dashed: by the records alone."
    if learnt.by_belief.curve is not None and case.records is not None:
        text += " Dotted: by the belief alone."
    age = formats.usage(learnt.age, case.machine.unit)
    return f"{text} The upright line is your part's age, {age}."


def probability_plot(case: Case, learnt: Learned) -> str:
    """How to read Weibull paper."""
    text = (
        "The same observations on axes stretched so that a Weibull curve is a straight line. "
        "Points along the line speak for a Weibull; points that bend away from it all in one "
        "direction speak against. A few that scatter, mostly at either end, are to be expected."
    )
    return f"{text} The line is the best fit to the records alone."


def effects(case: Case, learnt: Learned) -> str:
    """How to read the factors on life."""
    return (
        "Each mark says how many times as long such parts last as those they are compared with. A "
        "bar across 1 means that the records cannot tell the two apart; an arrow, that the bar "
        "goes on beyond the chart or has no end."
    )


def _open(learnt: Learned) -> bool:
    """Whether some failures are known only to lie between two ages."""
    seen = learnt.observed
    return seen is not None and bool((seen.since < seen.age).any())


def oil_rates(case: Case) -> str:
    """How to read the rates of wear."""
    unit = f"{formats.NBSP}{case.machine.unit}"
    return (
        f"What wear added to the oil, in ppm per 1,000{unit}. Dot: one sample; the level line "
        "before it is the life of the oil that it speaks of, the upright bar what rounding leaves "
        "open. Hollow: a sample that does not count. Dashed: the limit that the engine's other "
        "samples set for it; after the last, that for the next."
    )


def oil_rates_of(
    case: Case, symbol: str, rows: Sequence[SampleRates], limit: OwnLimit | None
) -> str:
    """What the chart of one metal shows."""
    values = [max(row.rates[symbol].point, 0.0) for row in rows]
    ends = f"{formats.significant(min(values), 2)} to {formats.significant(max(values), 2)}"
    text = (
        f"{formats.sentence(element(symbol))} in {formats.plural(len(rows), 'sample')} by the "
        f"part's age: {ends} ppm per 1,000{formats.NBSP}{case.machine.unit}, the last "
        f"{formats.significant(values[-1], 2)}."
    )
    if limit is None:
        return text
    return f"{text} The engine's own limit for the next: {formats.significant(limit.limit, 2)}."


def oil_factor(w: Weighing, factor: NDArray[np.float64]) -> str:
    """How to read the oil factor."""
    first, last = (times_as_likely(float(value)) for value in (factor[0], factor[-1]))
    return (
        "How many times as likely a failure at each age has become because of the samples: one "
        f"today {first}, one at the end of the time you keep it {last}. "
        "Above 1 the samples speak for a failure at that age, below 1 against it. The line is at "
        "the middle of what is judged of warnings and of silent failures, the band over the ranges "
        "stated for them; how far wear rises and how many samples mislead are taken as "
        "stated, judgements too."
    )
