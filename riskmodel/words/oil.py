"""What used-oil samples say and cannot say, in words.

Every chance stands with its interval. The interval of a share that the case states as a range
is the range as stated.
"""

from __future__ import annotations

from riskmodel.decision.results import Chance, Interval, OilTold, Weighing
from riskmodel.oil.alarm import shed
from riskmodel.oil.mass_balance import wear_rates
from riskmodel.oil.seen import Foresight, Share, less_warning_than
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.oil_limits import limit_sentences
from riskmodel.words.oil_names import sample
from riskmodel.words.oil_rates import rate_sentences
from riskmodel.words.oil_sampling import SAMPLING_LEAD, sampling_well
from riskmodel.words.oil_times import about_one, times_as_likely
from riskmodel.words.plan_names import keep_phrase

__all__ = [
    "NO_ALL_CLEAR",
    "SAMPLING_LEAD",
    "factor_sentences",
    "foresight_sentences",
    "limit_sentences",
    "plan_alarm_sentence",
    "rate_sentences",
    "sampling_well",
]

NO_ALL_CLEAR = (
    "Samples with nothing unusual in them are no all-clear: they speak of the oil up to the day "
    "they were drawn, and not of a part that nobody has looked at."
)
_SHARED = (
    "What disturbs all metals of a sample at once (a dirty bottle, a wrong oil age) misleads most: "
    "in simulated histories of that kind, worse than assumed here, the tenth of engines with the "
    "highest chances was told 47 of 100, and 28 came true. Draw a second sample before you believe "
    "a surprising one."
)
_ASSUMPTION = (
    "Main assumption: how long distress lasts before failure, how many failures stay silent, how "
    "far wear rises before one, and how many samples mislead. All four are judgements: nobody has "
    "measured them for engines at large."
)


def factor_sentences(w: Weighing) -> list[str]:
    """What the samples do to the chance before the next oil change, and what they cannot do.

    Empty without samples and where symptoms replace every verdict.
    """
    if w.stop or w.case.samples is None or not len(w.case.samples):
        return []
    soon = next((chance for chance in w.risk if chance.what == "next_oil_change"), None)
    if w.oil is None or soon is None or soon.without_oil is None or soon.oil_factor is None:
        return [_none_counts(w.case), NO_ALL_CLEAR]
    return [
        _factor(soon, soon.without_oil, soon.oil_factor, w.oil.used),
        *_another_laboratory(w.case),
        *_further(w),
        _blind(w.case, w.oil),
        NO_ALL_CLEAR,
        _SHARED,
        _ASSUMPTION,
    ]


def foresight_sentences(case: Case, foresight: Foresight) -> list[str]:
    """The share of failures that sampling would catch in time, at this interval and at half."""
    unit = case.machine.unit
    every = formats.usage(foresight.interval, unit)
    half = formats.usage(foresight.interval / 2, unit)
    drawn = "With" if case.sampled else "No samples are planned in this case; with"
    return [
        f"{drawn} a sample at every oil change ({every}), "
        f"{_share(foresight.caught)} would be caught in time: seen, and the part replaced before "
        f"it fails. With one every {half}, {_share(foresight.caught_at_half)}.",
        f"{formats.sentence(_share(foresight.short_warning))} give less warning in the oil than "
        "one oil interval, or none at all. Sampling makes a failure less likely to come unseen; it "
        "does not stand in for replacing the part.",
        "The ranges are over how long warnings are on the whole and how many failures stay silent. "
        "How far wear rises before a failure, and that an investigation sees distress which is "
        f"there {formats.of_100(case.oil.investigation_sees).removeprefix('about ')} times, are "
        "taken as stated: judgements.",
    ]


def plan_alarm_sentence(w: Weighing, i: int) -> str:
    """How many of 100 would be replaced at short notice after an alarm under a plan; "" where no
    sample comes before its replacement."""
    plan, case = w.plans[i], w.case
    if not case.sampled or not shed(case.oil.element) or plan.service in (0, 1):
        return ""
    if plan.at is not None and len(w.services) and plan.at <= w.services[0]:
        return ""
    until = "while you keep it" if plan.at is None else "before then"
    return (
        f"With a sample at every oil change, {formats.chance(plan.alarm)} would have the part "
        f"replaced at short notice {until}, after an alarm, at the urgent price, if warnings in "
        "the oil are as long and as strong as judged."
    )


def _none_counts(case: Case) -> str:
    reason = "the laboratory measured nothing that is marked as shed by the part"
    assert case.samples is not None
    rows = case.samples.rows
    if any(e.symbol in row.elements for e in shed(case.oil.element) for row in rows):
        reason = "what it measured of the part's metals was drawn while the part was new"
    many = formats.plural(len(rows), "sample")
    return (
        f"The {many} in this case say nothing about the part: {reason}. The chances are those "
        "without them."
    )


def _factor(soon: Chance, without: Interval, factor: float, used: int) -> str:
    these = "These samples" if used > 1 else "The one sample that counts"
    held, make = ("hardly change", "make") if used > 1 else ("hardly changes", "makes")
    chances = f"with {'them' if used > 1 else 'it'} {formats.chance(soon.chance)}, without "
    chances += formats.chance(without)
    if about_one(factor):
        return f"{these} {held} the chance of failure before the next oil change: {chances}."
    return (
        f"{these} {make} failure before the next oil change {times_as_likely(factor)} as "
        f"without: {chances}."
    )


def _another_laboratory(case: Case) -> list[str]:
    """That the last sample is the first one in a row that another laboratory read."""
    last = wear_rates(case)[-1]
    if not (last.new_lab and last.used):
        return []
    return [
        f"The last sample, at {sample(case, last)}, was read by another laboratory than the one "
        "before it: a step in it may be that laboratory's and not the engine's. That is allowed "
        "for, but only roughly; a second sample that it reads would tell more."
    ]


def _further(w: Weighing) -> list[str]:
    """The same for as long as the machine is kept."""
    return [
        f"For {keep_phrase(w.case)}, with the part left in: with the samples "
        f"{formats.chance(found.chance)}, without {formats.chance(found.without_oil)}. A sample "
        "speaks of the near future; the further ahead, the less it says."
        for found in w.risk
        if found.what == "keep_until" and found.without_oil is not None
    ]


def _blind(case: Case, told: OilTold) -> str:
    warning = case.warning
    factors = (warning.lead_factor.low, warning.lead_factor.high)
    few, many = sorted(less_warning_than(case.interval, warning.lead, f) for f in factors)
    silent = Interval(told.silent, warning.silent.low, warning.silent.high)
    short = Interval(told.short, few, many)
    return (
        f"They cannot rule it out: {_of(silent, 'failures')} give no sign in the oil, and "
        f"{_of(short, 'of the others')} give less warning than one oil interval, "
        f"{formats.usage(case.interval, case.machine.unit)}."
    )


def _share(share: Share) -> str:
    return _of(Interval(share.mean, share.low, share.high), "failures")


def _of(chance: Interval, whom: str) -> str:
    """ "about 6 of 100 failures (between 4 and 8)"."""
    return f"{formats.of_100(chance.value)} {whom} ({formats.between(chance)})"
