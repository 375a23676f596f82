"""A belief about the life of the part, asked for as two plain questions."""

from __future__ import annotations

from riskmodel.life.answers import LOOSE, WIDER, Answers
from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Quantity
from riskmodel.records.units import NAMES
from riskmodel.words import formats

ABOUT = (
    "What do you, or a mechanic whom you trust, believe of such parts? Answer both questions and "
    "tick the box; else the belief in the boxes below holds."
)
QUESTIONS = {
    0.1: "By what age in {} would 1 in 10 of such parts have failed?",
    0.5: "By what age in {} would half have failed?",
}
HELP = (
    "Give a range that holds the true age nine times in ten, or one age alone. Think of all such "
    "parts, driven as most are, and not of yours alone."
)
USE = "Use these as my belief"
USE_HELP = (
    "Takes the place of the two beliefs (Weibull shape; life by which half fail). The records "
    "still count beside it. Untick the box to take it back."
)
IN_FORCE = "In force in the place of what the case says; untick the box to take it back."
NOT_COMPLETE = "Answer both questions to see what they say."
NOT_USED = "These answers are not used."
NOT_RISING = "Half must have failed at a greater age than 1 in 10."
LOW_FIRST = "In a range the smaller age comes first."
ABOVE_ZERO = "An age is greater than 0."
TOO_CLOSE = (
    "The two answers lie too close together for how uncertain they are: they do not settle how "
    "sharply failures cluster with age. Move them apart or make the ranges narrower."
)


def question(share: float, unit: Unit) -> str:
    """One of the two questions: "By what age in hours would half have failed?"."""
    return QUESTIONS[share].format(NAMES[unit])


def result(found: Answers, unit: Unit) -> list[str]:
    """What the answers come to, how they were widened, and a third figure to hold them against."""
    half, shape = found.b50_prior, found.shape_prior
    by = _rounded(found.age_by(0.9), unit)
    return [
        f"So half of such parts fail by an age between {_age(half.low)} and "
        f"{_rounded(half.high, unit)}, and the Weibull shape (how sharply failures cluster with "
        f"age) lies between {formats.significant(shape.low, 2)} and "
        f"{formats.significant(shape.high, 2)}, each nine times in ten.",
        f"Then 9 in 10 would have failed by about {by}. Does that seem right? If not, change an "
        "answer.",
    ]


def plainly(found: Answers, unit: Unit) -> list[str]:
    """The same for a first visit, in no statistician's terms."""
    half = found.b50_prior
    return [
        f"Taken so: half of such parts fail by an age between {_age(half.low)} and "
        f"{_rounded(half.high, unit)}, and 9 in 10 by about {_rounded(found.age_by(0.9), unit)}. "
        "Does that seem right? If not, change an answer.",
    ]


WIDENED_PLAINLY = (
    "Your ages are taken less exactly than you gave them: ranges that people name hold the truth "
    "less often than they think."
)


def widened(one_age: bool) -> str:
    """Why the belief is wider than what was answered."""
    text = (
        f"Your ranges are taken {WIDER:g} times as wide as you gave them (on a scale of ratios): "
        "experts who named ranges to hold the truth 8 times in 10 caught it 68 times in 100 "
        "(Speirs-Bridge and others, 2010, Risk Analysis)."
    )
    if one_age:
        text += (
            f" One age alone is taken as a range first, from the age divided by {LOOSE:g} to the "
            f"age times {LOOSE:g} (judgement)."
        )
    return text


def as_stated(quantity: Quantity) -> list[float]:
    """A range as the case file states it, to three figures."""
    return [float(f"{end:.3g}") for end in (quantity.low, quantity.high)]


def _age(value: float) -> str:
    return formats.significant(value, 2)


def _rounded(value: float, unit: Unit) -> str:
    return f"{_age(value)}{formats.NBSP}{unit}"
