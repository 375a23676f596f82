"""What the records and the beliefs each say, in words.

Intervals of maximum likelihood are 95 %: "19 times in 20". Those of belief, and of belief and
records together, are 90 %: "nine times in ten".
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence

from riskmodel.decision.results import Interval
from riskmodel.life.check_distribution import DistributionFit
from riskmodel.life.check_remark import MOST_NAMED, Remark
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.risk.learned import Known, Learned, Share
from riskmodel.words import formats
from riskmodel.words.learned_effects import (
    NEARLY_ALWAYS,
    column_in_words,
    effect_sentences,
    ended,
    until,
)

__all__ = [
    "NO_RECORDS",
    "NO_REMARKS",
    "OFTEN",
    "REMARKS_LEAD",
    "choice_sentence",
    "effect_sentences",
    "remark_items",
    "source_items",
    "source_lead",
    "source_sentences",
]

Fits = Sequence[DistributionFit]

OFTEN = "nine times in ten"
"""What a 90 % interval means."""

NO_RECORDS = (
    "This case has no records of other parts. What is said of its chances rests on what was "
    "believed beforehand and on this engine's survival so far."
)
NO_REMARKS = "Nothing in the records struck the checks made here."
REMARKS_LEAD = (
    "The records were looked over as a careful reader would: entries made twice, mixed units, "
    "rounded ages, single lines that carry too much, and the like. A remark changes nothing by "
    "itself, neither the records nor any figure. That nothing is remarked is no proof that the "
    "records are right."
)
_LINES = re.compile(r"\b(?:lines?|rows?) \d", re.IGNORECASE)
_COLUMNS = {
    "life.reporting_ratio": "the reporting ratio",
    "entered_at": "the age at which the watch began",
    "age_from": "the age after which it failed",
}
"""Names that only a file uses, as they read in a sentence."""


# --- records and belief ----------------------------------------------------------------------


def source_sentences(case: Case, learnt: Learned) -> list[str]:
    """How much of the answer is belief and how much comes from the records."""
    return [*source_lead(case, learnt), *source_items(case, learnt)]


def source_lead(case: Case, learnt: Learned) -> list[str]:
    """What comes before the figures: whether records and belief disagree, what is asked."""
    found = [_conflict(case, learnt), NO_RECORDS if case.records is None else ""]
    return [*(text for text in found if text), _question(case, learnt)]


def source_items(case: Case, learnt: Learned) -> list[str]:
    """The chance by records, by belief and by both, then shape and life and where from."""
    found = [
        _by_records(case, learnt),
        *learnt.by_records.cautions,
        _by_belief(case, learnt),
        _by_both(case, learnt),
        _shape(case, learnt),
        _half(case, learnt),
    ]
    return [text for text in found if text]


def _question(case: Case, learnt: Learned) -> str:
    """What the three chances that follow are chances of."""
    reached = formats.usage(learnt.age, case.machine.unit)
    return f"Of 100 parts that got to {reached}, how many would fail {until(case, learnt)}?"


def _conflict(case: Case, learnt: Learned) -> str:
    believed = learnt.half.believed
    if not learnt.conflict or believed is None:
        return ""
    return (
        "The belief and the records disagree. The life by which half fail, judged by the records "
        f"alone, lies further from what was believed ({_believed_usage(case, believed)}) than the "
        "two ranges explain. Look at both before trusting either: whether the records are of the "
        "same part in the same use, and what the belief rests on."
    )


def _by_records(case: Case, learnt: Learned) -> str:
    """The chance by maximum likelihood."""
    known = learnt.by_records
    if case.records is None:
        return ""
    if known.chance is None:
        return f"By the records alone there is no figure. {ended(known.why_not)}"
    return (
        f"By the records alone, with nothing believed beforehand: {_chance(known, NEARLY_ALWAYS)}, "
        "if such parts wear as those on record did."
    )


def _by_belief(case: Case, learnt: Learned) -> str:
    known = learnt.by_belief
    if known.chance is not None:
        said = _chance(known, OFTEN)
        return f"By the belief alone, with no record read: {said}, if the belief holds."
    if case.records is None:
        return ""
    return f"By the belief alone there is no figure. {ended(known.why_not)}"


def _by_both(case: Case, learnt: Learned) -> str:
    if case.records is None:
        return ""  # there is nothing but the belief
    text = (
        f"By both together, which the answer rests on: {_chance(learnt.both, OFTEN)}, if both hold."
    )
    later = []
    if learnt.effects is not None and learnt.effects.used:
        later.append("what sets yours apart")
    if case.samples is not None and len(case.samples):
        later.append("the oil samples")
    if later:
        verb = "are" if len(later) > 1 or later[0].endswith("samples") else "is"
        text += f" This speaks of an average engine, before {formats.listed(later)} {verb} counted."
    return text


def _chance(known: Known, often: str) -> str:
    """ "about 6 of 100, nine times in ten between 4 and 8"."""
    assert known.chance is not None
    if known.low is None and known.high is None:
        around = "without an interval"
    else:
        low = 0.0 if known.low is None else known.low
        high = 1.0 if known.high is None else known.high
        around = f"{often} {formats.between(Interval(known.chance, low, high))}"
    return f"{formats.of_100(known.chance)}, {around}"


def _shape(case: Case, learnt: Learned) -> str:
    share = learnt.shape
    believed = share.believed
    if believed is not None and believed.exact:
        return (
            "How sharply failures gather at one age (the Weibull shape) was taken as known, "
            f"{formats.exact(believed.low)}: the records were not asked."
        )
    text = (
        "How sharply failures gather at one age (the Weibull shape; at 1 age does not matter): "
        f"{formats.significant(share.median, 2)}, {OFTEN} "
        f"{_range(share.low, share.high, 2)}."
    )
    if believed is None:
        return f"{text} Nothing was believed of it beforehand."
    default = "" if "life.shape_prior" in case.stated else " (the default, a judgement)"
    held = f"{formats.exact(believed.low)} to {formats.exact(believed.high)}"
    return f"{text} Believed beforehand{default}: {held}. {_part(case, share)}"


def _half(case: Case, learnt: Learned) -> str:
    share, unit = learnt.half, f"{formats.NBSP}{case.machine.unit}"
    believed = share.believed
    if believed is not None and believed.exact:
        return (
            f"The life by which half fail was taken as known, {formats.exact(believed.low)}{unit}: "
            "the records were not asked."
        )
    text = (
        f"The life by which half fail: {formats.significant(share.median)}{unit}, {OFTEN} "
        f"{_range(share.low, share.high)}{unit}."
    )
    if believed is None:
        return f"{text} All of this comes from {_whence(case)}: nothing was believed beforehand."
    return f"{text} Believed beforehand: {_believed_usage(case, believed)}. {_part(case, share)}"


def _part(case: Case, share: Share) -> str:
    """How much of what is known is more than belief."""
    parts = formats.count_of_100(share.records)
    if parts < 1:
        return f"{formats.sentence(_whence(case))} made it no surer."
    if parts > 99:
        return f"Nearly all that is known of it comes from {_whence(case)}."
    come = "comes" if parts == 1 else "come"
    return (
        f"Of 100 parts of what is known of it, about {parts} {come} from {_whence(case)}, the rest "
        "from the belief."
    )


def _whence(case: Case) -> str:
    """What was learned from."""
    counted = not case.part.in_records and case.age > case.part.entered_at
    if case.records is None:
        return "this engine's survival so far" if counted else "anything but belief"
    return "the records" + (" and this engine's survival so far" if counted else "")


# --- the check of the records ----------------------------------------------------------------


def remark_items(learnt: Learned, line: str = "line") -> list[str]:
    """What struck the check of the records, one sentence each with the lines concerned, or
    whatever a `line` is called where the records stand in no file."""
    return [_with_lines(_in_words(remark), remark.lines, line) for remark in learnt.remarks]


def _with_lines(text: str, lines: tuple[int, ...], line: str) -> str:
    """The sentence, and its lines where it does not name them itself."""
    if not lines or _LINES.search(text):
        return text
    shown = [str(line) for line in lines[:MOST_NAMED]]
    if len(lines) > MOST_NAMED:
        shown.append(f"{len(lines) - MOST_NAMED} more")
    named = formats.sentence(line) + ("s" if len(lines) > 1 else "")
    return f"{text} ({named} {formats.listed(shown)}.)"


def _in_words(remark: Remark) -> str:
    text = remark.sentence
    if remark.kind == "covariate":
        column, mark, rest = text.partition(": too few")
        text = f"{column_in_words(column)}{mark}{rest}"
    for name, said in _COLUMNS.items():
        text = text.replace(name, said)
    return formats.sentence(text)


# --- which distribution ----------------------------------------------------------------------


def choice_sentence(case: Case, learnt: Learned) -> str:
    """Whether the chance hangs on which kind of curve is fitted."""
    choice = learnt.choice
    if choice is None:
        return NO_RECORDS
    if not choice.fits:
        return f"No curves could be compared. {ended(choice.reason or '')}".strip()
    plausible = [fit for fit in choice.fits if fit.plausible]
    told = choice.warning or _little(until(case, learnt), choice.fits, plausible)
    return f"{told}{_without_weibull(choice.fits, plausible)}"


def _little(when: str, fits: Fits, plausible: Fits) -> str:
    """That the choice matters little, with the chance under all that the records allow."""
    chances = [fit.probability for fit in plausible]
    low, high = (formats.count_of_100(end) for end in (min(chances), max(chances)))
    told = f"{max(low, 1)} to {high} of 100"
    if low == high:
        told = formats.of_100(chances[0])
    elif low < 1:
        told = f"fewer than 1, or as many as {high}, of 100"
    known = [(fit.low, fit.high) for fit in plausible]
    ends = [(a, b) for a, b in known if a is not None and b is not None]
    around = "no interval can be given"
    if ends:
        widest = Interval(chances[0], min(a for a, _ in ends), max(b for _, b in ends))
        around = f"{OFTEN} {formats.between(widest)}"
        around += ", all their intervals taken together" if len(ends) > 1 else ""
    if len(plausible) > 1:
        lead = (
            "Which kind of curve is taken matters little here: the records do not tell the "
            f"{formats.listed([fit.name for fit in plausible])} apart. By them, and by the records "
            "alone,"
        )
    elif len(fits) > 1:
        others = formats.listed([fit.name for fit in fits if not fit.plausible])
        lead = (
            f"The {plausible[0].name} explains the records clearly better than the {others}. By "
            "it, and by the records alone,"
        )
    else:
        lead = f"Only the {plausible[0].name} could be fitted. By it, and by the records alone,"
    return (
        f"{lead} the chance of a failure {when} is {told} ({around}), if the part wears as those "
        "on record did."
    )


def _without_weibull(fits: Fits, plausible: Fits) -> str:
    """What to say where the curve that the answer rests on is not among the plausible ones."""
    ours = [fit for fit in fits if fit.name == "Weibull"]
    if not ours:
        return " The Weibull, which the answer rests on, could not be fitted to the records alone."
    if ours[0].plausible:
        return ""
    better = formats.listed([fit.name for fit in plausible], "or")
    return (
        " The Weibull, which the answer rests on, explains the records clearly worse than the "
        f"{better}: look at its curve beside what was observed before trusting its chances."
    )


# --- small words -----------------------------------------------------------------------------


def _range(low: float, high: float, digits: int = 3) -> str:
    """Two ends to so many figures, rounded outwards: "between 151,000 and 187,000"."""

    def end(value: float, towards: Callable[[float], int]) -> str:
        unit = 10.0 ** (math.floor(math.log10(value)) + 1 - digits)
        return formats.significant(towards(round(value / unit, 6)) * unit, digits)

    return f"between {end(low, math.floor)} and {end(high, math.ceil)}"


def _believed_usage(case: Case, believed: Quantity) -> str:
    """A belief as it was entered, with its unit."""
    ends = f"{formats.exact(believed.low)} to {formats.exact(believed.high)}"
    return f"{ends}{formats.NBSP}{case.machine.unit}"
