"""How it was driven, in words: the effective age, stretch by stretch, and what it rests on."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from riskmodel.decision.results import Weighing
from riskmodel.records.case import Case, KindOfUse
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.quantity import exactly
from riskmodel.use.effective_age import Range
from riskmodel.use.learned import Learned, column_of_use
from riskmodel.use.mix import Mix
from riskmodel.use.told import StretchTold, UseTold
from riskmodel.words import formats

HEADING = "How it was driven"
STRETCHES = "Stretch by stretch, and what it rests on"
AGES_TITLE = "What its usage counts like"
AGES_KEY = ["line: most likely; band: nine times in ten", "dashed: were all of it average use"]
AVERAGE, THIS = "average use", "this engine"
NOT_KNOWN = "not known"
ORDINARY = "ordinary use"
TINY = 1e-9
"""What rounding in a computer may leave of a whole step."""


def per(case: Case) -> float:
    """Usage that a pace of ageing is told for."""
    return 100.0 if case.machine.unit == "h" else 1000.0


def lead(w: Weighing) -> list[str]:
    """The effective age against the plain one, and the pace from now on."""
    told = w.use
    if told is None:
        return []
    return [_age(w.case, told), *not_covered(w.case), ahead_sentence(w.case, told)]


def ahead_sentence(case: Case, told: UseTold) -> str:
    """How fast it ages from now on."""
    unit = case.machine.unit
    found = f"From now on {formats.usage(per(case), unit)} age it like {_like(case, told)}"
    if told.mix_ahead.unknown and not told.mix_ahead.shares:
        return f"{found}; how it will be driven is {NOT_KNOWN}."
    return f"{found}: {mix_phrase(told.mix_ahead)}."


def untold_since(case: Case) -> float | None:
    """The meter reading at which the last stretch told ends, where that is short of today's."""
    if not case.use.stretches or case.use.stretches[-1].until >= case.machine.reading:
        return None
    return case.use.stretches[-1].until


def not_covered(case: Case) -> list[str]:
    """That the use of the part since the last stretch told counts as not known."""
    since, unit = untold_since(case), case.machine.unit
    if since is None:
        return []
    rest = formats.usage(case.machine.reading - since, unit)
    return [
        f"What is told of its use ends at {formats.usage(since, unit)} on the meter: the {rest} "
        "since then count as not known, which widens the interval until they are told."
    ]


def details(w: Weighing) -> list[str]:
    """What the effective age rests on."""
    told, case = w.use, w.case
    if told is None:
        return []
    return [
        *_not_told(told),
        harshness_sentence(case, told),
        records_sentence(case),
        "The chances and the plans count with the effective age, and with the pace from now on. "
        "The same harshness drives the past and the future: if the past was harder on it than it "
        "seems, easier habits from now on are worth more.",
    ]


def stretches(w: Weighing) -> list[str]:
    """What each stretch contributes, oldest first."""
    if w.use is None:
        return []
    return [
        f"{_stretch(w.case, each)}: {mix_phrase(each.mix)}. {_counts(w.case, each)}"
        for each in w.use.stretches
    ]


def table(w: Weighing) -> pd.DataFrame:
    """Plain against effective age at the end of each stretch and a while from now."""
    told, unit = w.use, w.case.machine.unit
    if told is None:
        return pd.DataFrame()
    return pd.DataFrame(
        [
            {
                "Age of the part": f"{formats.significant(at)}{formats.NBSP}{unit}",
                "Counts like": f"{formats.significant(age.median)}{formats.NBSP}{unit}",
                "Nine times in ten between": _ends(age),
            }
            for at, age in zip(told.at[1:], told.ages[1:], strict=True)
        ]
    )


def caption(w: Weighing) -> str:
    """What the picture of the ages says."""
    return "" if w.use is None else _age(w.case, w.use)


def harshness_sentence(case: Case, told: UseTold) -> str:
    """That harshness is a judgement, and whose."""
    unit = formats.usage(1, case.machine.unit)
    what = f"Harshness is how much ordinary use {unit} of a hard use is worth"
    judged, stated = _by_source(told.kinds)
    if told.kinds and not case.use.kinds:
        return (
            f"{what}. It is taken as 0.8 to 2 for every kind: a judgement, as no measured figure "
            "was found. None of it is claimed as fact."
        )
    if not judged and not stated:
        return f"{what}. No use in this case is taken as harder than ordinary use."
    found = [what + "."]
    if judged:
        verb = "is" if len(judged) == 1 else "are each"
        found.append(
            f"{formats.sentence(formats.listed(judged))} {verb} taken as 0.8 to 2: a judgement, as "
            "no measured figure was found. None of it is claimed as fact."
        )
    if stated:
        found.append(f"As this case states it: {formats.listed(stated)}.")
    return " ".join(found)


def records_sentence(case: Case) -> str:
    """Whether the records have use in them already."""
    if case.records is None or not len(case.records):
        return (
            "There are no life records: what is believed of the life of such parts is taken to "
            "speak of average use."
        )
    column = column_of_use(case.records, case.use.kinds)
    if column is None:
        return (
            "The life records do not tell how each part was used, so mixed use is in their curve "
            "already: it is that of average use. To widen it by harshness as well is cautious."
        )
    if case.use.stretches and column in case.part.traits:
        return (
            f"The life records tell how parts were used (“{column}”). As this engine's own use is "
            "told stretch by stretch, what they say of that column is left out of its curve: with "
            "both, its use would count twice."
        )
    return (
        f"The life records tell how parts were used (“{column}”); the curve is that of average use "
        "on record."
    )


def learned_sentences(found: Learned | None) -> list[str]:
    """What the records themselves say of harshness, beside what the case takes it to be."""
    if found is None or not found.harshness:
        return []
    named = [
        f"{name} {_times(value.median)} ({_times(value.low)} to {_times(value.high)})"
        for name, value in found.harshness.items()
        if value != exactly(1.0)
    ]
    if not named:
        return []
    return [
        f"By the column “{found.column}” of the life records, against {found.base}: "
        f"{formats.listed(named)}. The figures above use what the case states instead."
    ]


def mix_phrase(mix: Mix) -> str:
    """ "town 40 of 100, track 5 of 100, the rest ordinary use"."""
    told = [
        f"{name} {formats.exact(round(100 * share))} of 100"
        for name, share in mix.shares.items()
        if share >= 0.005
    ]
    if mix.unknown:
        return f"{formats.listed(told)}, the rest {NOT_KNOWN}" if told else NOT_KNOWN
    if mix.left >= 0.005:
        told.append(f"the rest {ORDINARY}" if told else f"nothing but {ORDINARY}")
    return formats.listed(told)


def _age(case: Case, told: UseTold) -> str:
    unit, age = case.machine.unit, told.age
    plain = formats.usage(told.plain_age, unit)
    if told.plain_age == 0:
        return "The part is new: it has no past use to count."
    if told.nothing:
        return (
            f"Nothing is told of how it was driven. So its {plain} count like about "
            f"{_figure(age.median)}{formats.NBSP}{unit} of average use, but they may count like "
            f"anything {_between(age, unit)}: nine times in ten it lies there. The answer is that "
            "much less sure."
        )
    if age.low == age.high:
        return f"The part has done {plain}. {_exactly(case, age)}"
    return (
        f"The part has done {plain}. By how it was driven these count like about "
        f"{_figure(age.median)}{formats.NBSP}{unit} of average use; nine times in ten "
        f"{_between(age, unit)}."
    )


def _exactly(case: Case, age: Range) -> str:
    like = formats.usage(age.median, case.machine.unit)
    return f"By how it was driven these count like {like} of average use."


def _not_told(told: UseTold) -> list[str]:
    if not any(each.mix.unknown for each in told.stretches) and not told.mix_ahead.unknown:
        return []
    return [
        "What is not known of its use is taken as in such engines at large, with as much more "
        "spread as engines differ. Not to know widens the interval; it never narrows it."
    ]


def _like(case: Case, told: UseTold) -> str:
    pace, unit, usage = told.ahead, case.machine.unit, per(case)
    scaled = Range(pace.median * usage, pace.low * usage, pace.high * usage)
    step = usage / 100
    middle = formats.usage(step * round(scaled.median / step), unit)
    if pace.low == pace.high:
        return f"{middle} of average use"
    return f"about {middle} of average use ({_between(scaled, unit, step)})"


def _stretch(case: Case, each: StretchTold) -> str:
    """ "From 61,000 to 98,000 km on the meter"."""
    fitted, unit = case.part.fitted_at, case.machine.unit
    start = formats.number(fitted + each.start) if each.start else "new"
    end = formats.usage(fitted + each.end, unit)
    who = ", before it was yours" if each.earlier else ""
    return f"From {start} to {end} on the meter{who}"


def _counts(case: Case, each: StretchTold) -> str:
    unit = case.machine.unit
    plain = formats.usage(each.end - each.start, unit)
    middle = f"{_figure(each.counts.median)}{formats.NBSP}{unit}"
    if each.counts.low == each.counts.high:
        return f"These {plain} count like {middle}."
    return f"These {plain} count like about {middle} ({_between(each.counts, unit)})."


def _by_source(kinds: Sequence[KindOfUse]) -> tuple[list[str], list[str]]:
    """Kinds whose harshness is the tool's judgement, and those with one of their own, as told."""
    default = BY_KEY["use.kinds.harshness"].default
    judged, stated = [], []
    for kind in kinds:
        ends = (kind.harshness.low, kind.harshness.high)
        if ends == default:
            judged.append(kind.name)
        elif kind.harshness != exactly(1.0):
            stated.append(_stated(kind))
    return judged, stated


def _stated(kind: KindOfUse) -> str:
    low, high = formats.exact(kind.harshness.low), formats.exact(kind.harshness.high)
    return f"{kind.name} {low}" if kind.harshness.exact else f"{kind.name} {low} to {high}"


def _times(value: float) -> str:
    return formats.significant(value, 2)


def _figure(value: float) -> str:
    return formats.significant(value)


def _between(found: Range, unit: str, step: float | None = None) -> str:
    return f"between {_ends(found, step)}{formats.NBSP}{unit}".replace(" to ", " and ")


def _ends(found: Range, step: float | None = None) -> str:
    """Both ends rounded outwards, to three figures of the higher or to `step`."""
    if step is None:
        step = 10.0 ** (math.floor(math.log10(found.high)) - 2) if found.high > 0 else 1.0
    low, high = math.floor(found.low / step + TINY), math.ceil(found.high / step - TINY)
    return f"{formats.number(low * step)} to {formats.number(high * step)}"
