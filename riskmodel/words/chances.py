"""The chances of failure in words, with their interval, whom they speak of and what they assume."""

from __future__ import annotations

from collections.abc import Mapping

from riskmodel.decision.results import Chance, TradeOff, Weighing
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.risk.driven import counted_traits
from riskmodel.words import formats
from riskmodel.words.oil_times import about_one, times_as_likely
from riskmodel.words.plan_names import keep_phrase

INTERVAL_MEANING = (
    "Nine times in ten the true figure lies between the two numbers given, if the assumptions hold."
)


def chance_sentences(w: Weighing) -> list[str]:
    """The chances of failure with the part left in: one sentence each for the next oil
    change, a year and keep-until, then whom they speak of and what they assume."""
    found = [_next_change(w, chance) for chance in w.risk if chance.what == "next_oil_change"]
    found += [_with_oil(w)]
    found += [_further(w, [c for c in w.risk if c.what != "next_oil_change"]), _other_causes(w)]
    return [*(text for text in found if text), reference_class(w), main_assumption(w)]


def chance_headline(w: Weighing) -> str:
    """The chance before the next oil change, alone."""
    return chance_sentences(w)[0]


def reference_class(w: Weighing) -> str:
    """Whom "engines like this one" means, and on what the chance rests."""
    case, unit = w.case, w.case.machine.unit
    like = (
        f"“Like this one” means: the same part ({case.part.name}), still running at "
        f"{formats.usage(w.age, unit)}{_with_traits(case)}"
    )
    if not w.records_used:
        return f"{like}. No records of other parts are used: the chance rests on beliefs alone."
    invented = "invented " if case.machine.invented else ""
    many = formats.plural(w.records_used, f"{invented}record")
    failures = formats.plural(w.failures_used, "failure") if w.failures_used else "no failure"
    return f"{like}; judged from {many} with {failures} among them."


def _with_traits(case: Case) -> str:
    """This engine's traits, where they enter its chances."""
    counted = counted_traits(case)
    if not counted or case.records is None:
        return ""
    return f", {traits(counted)}"


def traits(held: Mapping[str, float | str]) -> str:
    """ "use mixed and oil interval short"."""
    return formats.listed(
        [
            f"{name.replace('_', ' ')} {value if isinstance(value, str) else formats.exact(value)}"
            for name, value in held.items()
        ]
    )


def main_assumption(w: Weighing) -> str:
    """What the chances of the present part rest on most."""
    case, unit = w.case, w.case.machine.unit
    belief = case.life.b50_prior
    half = (
        ""
        if belief is None
        else f"half of such parts fail between {formats.usage(belief.low, unit)} and "
        f"{formats.usage(belief.high, unit)}"
    )
    if not w.records_used:
        return f"Main assumption: the belief that {half}{_later(case)}."
    text = "Main assumption: this engine wears as those in the records did"
    if case.life.reporting_ratio > 1:
        ratio = formats.exact(case.life.reporting_ratio)
        text += (
            f", failures being reported {ratio} times as readily as survivors (the range allows "
            "for how few survivors that rests on, not for a wrong ratio)"
        )
    else:
        text += (
            ", and broken engines were reported no more readily than those still running; if they "
            "were, the true chance is lower"
        )
    if not w.failures_used:
        text += f". With no failure in the records, the belief that {half} weighs heavily"
    return f"{text}{_later(case)}. {INTERVAL_MEANING}"


def _later(case: Case) -> str:
    """How long a part that is itself a later one is taken to last."""
    life = case.plan.new_part_life
    if case.part.fitted_at == 0 or life == exactly(1.0):
        return ""
    fitted = formats.usage(case.part.fitted_at, case.machine.unit)
    return (
        f". This is a later part, fitted at {fitted}: it is taken to last {_times(life)} times as "
        "long as the first"
    )


def plans_assumption(w: Weighing) -> str:
    """What the chances within keep-until rest on most, new parts included."""
    case = w.case
    share, faulty = _times(case.plan.new_part_life), formats.count(case.cost.install_fault.mean)
    return (
        f"Main assumption about parts to come: a new one lasts {share} times as long as the first, "
        f"and {faulty} of 100 newly fitted parts fail at once."
    )


def _times(life: Quantity) -> str:
    share = formats.exact(round(life.low, 4))
    return share if life.exact else f"{share} to {formats.exact(round(life.high, 4))}"


def _next_change(w: Weighing, found: Chance) -> str:
    ahead = formats.usage(found.ahead, w.case.machine.unit)
    return (
        f"Of 100 engines like this one {_driven(w.case)} on to the next oil change "
        f"({ahead} from now), {_fail(found)}."
    )


def _with_oil(w: Weighing) -> str:
    """That the samples are in it, and what they did to it."""
    soon = next((chance for chance in w.risk if chance.what == "next_oil_change"), None)
    if soon is None or soon.without_oil is None or soon.oil_factor is None:
        return ""
    if about_one(soon.oil_factor):
        return "Its oil samples are counted in that, and hardly change it."
    return (
        f"Its oil samples are counted in that: they make it {times_as_likely(soon.oil_factor)} as "
        f"without, {formats.chance(soon.without_oil)}."
    )


def _fail(found: Chance) -> str:
    value = formats.count(found.chance.value)
    value = value if " " in value else f"about {value}"
    return f"{value} would fail; {formats.between(found.chance)}"


def _further(w: Weighing, chances: list[Chance]) -> str:
    parts = []
    for found in chances:
        ahead = formats.usage(found.ahead, w.case.machine.unit)
        span = "one year" if found.what == "one_year" else keep_phrase(w.case)
        span = span if ahead in span else f"{span} ({ahead})"
        parts.append(f"within {span} {formats.chance(found.chance)}")
    return f"If the part is left in: {'; '.join(parts)}." if parts else ""


def _other_causes(w: Weighing) -> str:
    """Failures that no replacement of the part prevents."""
    other = w.other_causes
    if other is None:
        return ""
    return (
        f"Failures of other causes come on top: {formats.chance(other.chance)} within "
        f"{keep_phrase(w.case)}, as often at any age. No replacement prevents them; every plan "
        "counts them."
    )


def _driven(case: Case) -> str:
    return "run" if case.machine.unit == "h" else "driven"


def chance_to_wait(w: Weighing, trade: TradeOff) -> str:
    """The chance that waiting is weighed with; that it counts failures of other causes is said
    where it therefore reads otherwise than the one told of wear."""
    told = next((each.chance for each in w.risk if each.what == "next_oil_change"), None)
    here = formats.chance(trade.chance)
    if w.other_causes is None or told is None or formats.chance(told) == here:
        return here
    return f"{here}, failures of other causes counted"
