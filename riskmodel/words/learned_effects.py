"""What the columns of the records that set engines apart say of life, in words."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from riskmodel.decision.results import Interval
from riskmodel.life.covariate_curves import EFFECT_PRIOR
from riskmodel.life.covariates import ColumnTest, CovariateFit, Term
from riskmodel.life.profile import Estimate
from riskmodel.records.case import Case
from riskmodel.risk.driven import counted_traits
from riskmodel.risk.learned import Effects, Learned
from riskmodel.words import formats

NEARLY_ALWAYS = "19 times in 20"
"""What a 95 % interval means."""

ONE_FACTOR = (
    "Main assumption: what sets engines apart makes life longer or shorter by one factor at every "
    "age, and the records differ in nothing else that matters."
)
CHANCE_LEVEL = 0.05
"""Differences that turn up less often than this without any effect count as one (convention)."""


def effect_sentences(case: Case, learnt: Learned) -> list[str]:
    """Column by column how much longer or shorter parts last, then what it means for this
    engine; empty where the records have no such columns."""
    effects = learnt.effects
    if effects is None:
        return []
    found = []
    if effects.fit is not None:
        found += column_sentences(effects.fit)
        found += effects.fit.warnings
    if effects.why_not:
        found.append(f"What the columns do to life could not be told: {effects.why_not}")
    found += _traits(case, learnt, effects)
    if effects.fit is not None and effects.fit.columns:
        found.append(ONE_FACTOR)
    names = [] if case.records is None else list(case.records.covariates)
    return [ended(_columns_in_words(text, names)) for text in found]


def column_sentences(fit: CovariateFit) -> list[str]:
    """What each column does to life, one sentence each."""
    return [ended(_column(fit, test)) for test in fit.columns]


def column_in_words(name: str) -> str:
    """The name of a column as it reads in a sentence: "oil interval"."""
    return name.replace("_", " ").strip() or name


def step_of(term: Term) -> float:
    """The round difference of a numeric column over which its effect is told."""
    assert term.step is not None
    return float(f"{term.step:.2g}")


def told_factor(term: Term) -> Estimate:
    """The factor on life as it is told: for a number, over `step_of` it."""
    return term.factor if term.step is None else term.over(step_of(term))


def is_told(term: Term) -> bool:
    """Whether the records say anything of the factor."""
    factor = told_factor(term)
    return any(x is not None for x in (factor.estimate, factor.low, factor.high))


def factor_text(value: float, rounded: Callable[[float], int] = round) -> str:
    """A factor on life to two or three figures: "0.94", "1.07", "12.5"."""
    magnitude = math.floor(math.log10(value))
    places = 2 - magnitude if magnitude >= 0 else max(2, 1 - magnitude)
    unit = 10.0**-places
    return f"{rounded(round(value / unit, 6)) * unit:,.{max(places, 0)}f}"


def factor_range(factor: Estimate) -> str:
    """The interval of a factor, rounded outwards: "between 0.73 and 1.25", "at least 0.8"."""
    low = None if factor.low is None else factor_text(factor.low, math.floor)
    high = None if factor.high is None else factor_text(factor.high, math.ceil)
    if low is None and high is None:
        return "with no range"
    if high is None:
        return f"at least {low}"
    return f"at most {high}" if low is None else f"between {low} and {high}"


def ended(text: str) -> str:
    """A text as a sentence of its own."""
    text = formats.sentence(text.strip())
    return text if not text or text.endswith((".", "!", "?", ")")) else f"{text}."


def until(case: Case, learnt: Learned) -> str:
    """By when the chances count."""
    end = "you give it up" if learnt.ahead < case.next_change_in else "the next oil change"
    return f"before {end} ({formats.usage(learnt.ahead, case.machine.unit)} from now)"


def _column(fit: CovariateFit, test: ColumnTest) -> str:
    """The factor on life of each level, and whether chance alone may explain it."""
    terms = [term for term in fit.terms if term.column == test.column]
    told = [term for term in terms if is_told(term)]
    name = formats.sentence(column_in_words(test.column))
    if not told:
        return f"{name}: the records give no factor on life"
    against = ""
    if test.base is not None:
        against = f", compared with “{test.base}” ({_counts(test.records, test.failures)})"
    factors = "; ".join(_factor(term, first=term is told[0]) for term in told)
    return f"{name}{against}: {factors}.{_by_chance(test)}"


def _factor(term: Term, first: bool) -> str:
    if term.step is None:
        who = f"“{term.level}” ({_counts(term.records, term.failures)})"
    else:
        who = f"where it is {formats.exact(step_of(term))} higher, a part"
    return f"{who} {_lasts(told_factor(term), first)}"


def _lasts(factor: Estimate, first: bool) -> str:
    """ "lasts 0.94 times as long (19 times in 20 between 0.73 and 1.25)"."""
    bounded = factor.low is not None or factor.high is not None
    often = f"{NEARLY_ALWAYS} " if first and bounded else ""
    if factor.estimate is None:
        return f"has no best guess; {often}it lasts {factor_range(factor)} times as long"
    side = ""
    if factor.high is not None and factor.high < 1:
        side = ", so shorter"
    elif factor.low is not None and factor.low > 1:
        side = ", so longer"
    return (
        f"lasts {factor_text(factor.estimate)} times as long ({often}{factor_range(factor)}){side}"
    )


def _by_chance(test: ColumnTest) -> str:
    if test.p is None:
        return ""
    what = "a difference like this" if test.terms == 1 else "differences like these"
    often = formats.count(test.p)
    many = often if " " in often else f"about {often}"
    verdict = (
        "The records cannot tell this from no effect"
        if test.p > CHANCE_LEVEL
        else "The records speak for an effect"
    )
    return (
        f" {verdict}: if “{column_in_words(test.column)}” did nothing, {what} would still turn up "
        f"in {many} of 100 such sets of records"
    )


def _counts(records: float, failures: float) -> str:
    failed = formats.plural(round(failures), "failure") if failures else "none failed"
    return f"{formats.plural(round(records), 'part')}, {failed}"


def _traits(case: Case, learnt: Learned, effects: Effects) -> list[str]:
    """This engine's traits, whether they count, and the chance of an engine without them."""
    value, low, high = effects.average
    if not effects.traits:
        # its notes would say of each column that it is averaged over
        return [
            "What this engine is in these columns has not been stated: its chances are those of an "
            "average engine among those on record."
        ]
    stated = formats.listed(
        [f"{column_in_words(name)} {_trait(trait)}" for name, trait in effects.traits.items()]
    )
    if not effects.used:
        return [f"This engine: {stated}. This does not enter its chances.", *effects.notes]
    told = [column_in_words(name) for name in effects.traits if name not in counted_traits(case)]
    if len(told) == len(effects.traits):
        return [
            f"This engine: {stated}. How it was used is told by its stretches instead: with both "
            "it would count twice.",
            *effects.notes,
        ]
    apart = (
        f"this, but for {formats.listed(told)}, which its stretches of use tell" if told else "this"
    )
    weak = f"{formats.exact(EFFECT_PRIOR.low)} and {formats.exact(EFFECT_PRIOR.high)}"
    return [
        f"This engine: {stated}. Its chances count {apart}, with the belief beforehand that one "
        f"such difference makes life between {weak} times as long (a judgement). Of engines of "
        f"which none of this is known, {formats.chance(Interval(value, low, high))} would fail "
        f"{until(case, learnt)}.",
        *effects.notes,
    ]


def _trait(value: float | str) -> str:
    return f"“{value}”" if isinstance(value, str) else formats.exact(value)


def _columns_in_words(text: str, names: list[str]) -> str:
    """The text with every name of a column as words."""
    for name in sorted((name for name in names if "_" in name), key=len, reverse=True):
        said = column_in_words(name).replace("\\", r"\\")
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", said, text)
    return text
